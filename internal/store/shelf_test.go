package store_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// seal is an invented fat of the studio's own.
func seal() catalogue.Entry {
	return catalogue.Entry{
		ID: "gorse-seed-butter", Own: true, Name: "Gorse seed butter", Roles: []string{"fat"}, Kind: "triglyceride",
		SAPMin: quantity.Some(186.1), SAPMax: quantity.Some(194.3), Source: "certificate of lot 7",
	}
}

func TestOwnIngredientsLieOverTheCatalogue(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s, other := opened(t, where), opened(t, where)
		cat := func(s *studio.Studio) *catalogue.Catalogue {
			return must(t, func() (*catalogue.Catalogue, error) { return s.Catalogue(ctx) })
		}
		if cat(s) != base(t) || cat(other) != base(t) {
			t.Error("a studio without ingredients of its own has another catalogue than the one beneath")
		}
		if err := s.PutIngredient(ctx, seal()); err != nil {
			t.Fatal(describe(err))
		}
		change := catalogue.Entry{ID: "olive-oil", SAP: quantity.Some(190.1), SAPHalfWidth: quantity.Some(0.7), Source: "certificate of lot 8"}
		if err := s.PutIngredient(ctx, change); err != nil {
			t.Fatal(describe(err))
		}
		// Both see it, also the one that did not write it.
		for _, s := range []*studio.Studio{s, other} {
			c := cat(s)
			own, err := c.Get("gorse-seed-butter")
			if err != nil || !own.Own || own.Fat.SAP != quantity.Both(186.1, 194.3) {
				t.Errorf("own ingredient: %+v, %v", own, err)
			}
			olive, err := c.Get("olive-oil")
			if err != nil || !olive.Changed || math.Abs(olive.Fat.SAP.Mid()-190.1) > 1e-9 {
				t.Errorf("changed ingredient: %+v, %v", olive, err)
			}
			if cat(s) != c {
				t.Error("the catalogue was made twice though nothing changed")
			}
		}
		got := must(t, func() ([]catalogue.Entry, error) { return other.Ingredients(ctx) })
		if diff := cmp.Diff([]catalogue.Entry{seal(), change}, got); diff != "" {
			t.Error(diff)
		}
		one := must(t, func() (catalogue.Entry, error) { return other.Ingredient(ctx, "olive-oil") })
		if diff := cmp.Diff(change, one); diff != "" {
			t.Error(diff)
		}
		_, err := other.Ingredient(ctx, "coconut-oil")
		refused(t, err, fault.NotFound, "id")
		// What the catalogue refuses is not kept.
		bad := seal()
		bad.ID, bad.Name, bad.SAPMin = "heather-oil", "Heather oil", quantity.Some(-3)
		refused(t, s.PutIngredient(ctx, bad), fault.Invalid, "sap_min_mg_koh_g")
		refused(t, s.PutIngredient(ctx, catalogue.Entry{ID: "no-such-oil", SAP: quantity.Some(190)}), fault.NotFound, "id")
		if got := must(t, func() ([]catalogue.Entry, error) { return other.Ingredients(ctx) }); len(got) != 2 {
			t.Errorf("%d ingredients after what was refused, want 2", len(got))
		}
	})
}

func TestAnIngredientInUseIsNotWithdrawn(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		if err := s.PutIngredient(ctx, seal()); err != nil {
			t.Fatal(describe(err))
		}
		f := lantern("Gorse bar")
		f.Fats[1].ID = "gorse-seed-butter"
		v := mustKeepNew(t, s, f)
		// The newest version has it no more, and the formula is archived: still in use.
		if _, err := s.Formulas.Keep(ctx, v.ID, 1, studio.Formula{Formula: lantern("Gorse bar, without"), Kept: worked()}, ""); err != nil {
			t.Fatal(err)
		}
		if err := s.Formulas.Archive(ctx, v.ID); err != nil {
			t.Fatal(err)
		}
		refused(t, s.WithdrawIngredient(ctx, "gorse-seed-butter"), fault.Conflict, "roles", "“Gorse bar, without”")
		want := []studio.Use{{Kind: studio.KindFormula, ID: v.ID, Name: "Gorse bar, without", N: 1, Archived: true, Roles: []string{studio.AsFat}}}
		if diff := cmp.Diff(want, uses(t, s, studio.KindIngredient, "gorse-seed-butter")); diff != "" {
			t.Error(diff)
		}
		noFat := catalogue.Entry{ID: "gorse-seed-butter", Own: true, Name: "Gorse seed butter", Roles: []string{"extra"}}
		refused(t, s.PutIngredient(ctx, noFat), fault.Conflict, "roles", "“Gorse bar, without”")
		// A change to the catalogue's own may be taken back: its values stand again.
		if err := s.PutIngredient(ctx, catalogue.Entry{ID: "olive-oil", SAP: quantity.Some(190.1)}); err != nil {
			t.Fatal(describe(err))
		}
		before := must(t, func() (studio.FormulaVersion, error) { return s.Formulas.Version(ctx, v.ID, 2) })
		if err := s.WithdrawIngredient(ctx, "olive-oil"); err != nil {
			t.Fatal(describe(err))
		}
		if after := must(t, func() (studio.FormulaVersion, error) { return s.Formulas.Version(ctx, v.ID, 2) }); !cmp.Equal(before, after) {
			t.Error("a version changed with its ingredient")
		}
		cat := must(t, func() (*catalogue.Catalogue, error) { return s.Catalogue(ctx) })
		if olive, err := cat.Get("olive-oil"); err != nil || olive.Changed {
			t.Errorf("olive oil after the change was taken back: %+v, %v", olive, err)
		}
		refused(t, s.WithdrawIngredient(ctx, "olive-oil"), fault.NotFound, "id")
		// What nobody uses goes, and nothing can be kept with it.
		unused := seal()
		unused.ID, unused.Name = "heather-oil", "Heather oil"
		if err := s.PutIngredient(ctx, unused); err != nil {
			t.Fatal(describe(err))
		}
		if err := s.WithdrawIngredient(ctx, "heather-oil"); err != nil {
			t.Fatal(describe(err))
		}
		f.Name, f.Fats[1].ID = "Heather bar", "heather-oil"
		_, err := s.Formulas.New(ctx, studio.Formula{Formula: f, Kept: worked()}, "")
		refused(t, err, fault.Invalid, "fat.2.id")
	})
}

// between is a store in which something else happens in the middle of the first
// write: before it begins, or when its version was added and is not yet kept.
type between struct {
	studio.Store
	before, within func()
}

func (b *between) Write(ctx context.Context, f func(studio.Writer) error) error {
	b.before()
	b.before = func() {}
	return b.Store.Write(ctx, func(w studio.Writer) error { return f(betweenWriter{w, b}) })
}

type betweenWriter struct {
	studio.Writer
	b *between
}

func (w betweenWriter) AddVersion(ctx context.Context, v studio.VersionRow, on []studio.Link) error {
	err := w.Writer.AddVersion(ctx, v, on)
	w.b.within()
	w.b.within = func() {}
	return err
}

// One maker keeps a formula with an ingredient while another withdraws it: one
// of the two is refused, whichever comes second.
func TestAnIngredientIsNotWithdrawnFromUnderAKeep(t *testing.T) {
	for _, moment := range []string{"before the write", "within the write"} {
		t.Run(moment, func(t *testing.T) {
			onEach(t, func(t *testing.T, where string) {
				ctx := t.Context()
				other := opened(t, where)
				if err := other.PutIngredient(ctx, seal()); err != nil {
					t.Fatal(describe(err))
				}
				st := must(t, func() (*store.Store, error) { return store.Open(ctx, where) })
				defer st.Close()
				withdrawing := make(chan error, 1)
				withdraw := func() {
					done := make(chan struct{})
					go func() {
						withdrawing <- other.WithdrawIngredient(ctx, seal().ID)
						close(done)
					}()
					// Where there is one writer only, it has to wait for us.
					select {
					case <-done:
					case <-time.After(300 * time.Millisecond):
					}
				}
				hooked := &between{Store: st, before: func() {}, within: func() {}}
				if moment == "before the write" {
					hooked.before = withdraw
				} else {
					hooked.within = withdraw
				}
				f := lantern("Gorse bar")
				f.Fats[1].ID = seal().ID
				_, keeping := studio.New(hooked, base(t), ticking(), studio.NewID).Formulas.New(ctx, studio.Formula{Formula: f, Kept: worked()}, "")
				withdrawn := <-withdrawing
				switch {
				case keeping == nil && withdrawn == nil:
					t.Fatal("an ingredient was withdrawn from under a formula")
				case keeping == nil:
					refused(t, withdrawn, fault.Conflict, "roles", "Gorse bar")
				case withdrawn == nil:
					refused(t, keeping, fault.Invalid, "fat.2.id")
				default:
					t.Fatalf("both were refused: %v; %v", describe(keeping), describe(withdrawn))
				}
			})
		})
	}
}

// A name that an ingredient has had before is one ingredient, in use under both.
func TestAnAliasCountsAsItsIngredient(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		f := lantern("White cliff")
		f.Extras = []formula.Extra{{ID: "kaolin-colour", Dose: 10}}
		mustKeepNew(t, s, f)
		if uses := uses(t, s, studio.KindIngredient, "kaolin"); len(uses) != 1 || !uses[0].As(studio.AsExtra) || uses[0].As(studio.AsFat) {
			t.Errorf("kaolin is used in %+v", uses)
		}
		if p := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return s.Formulas.List(ctx, "kaolin", studio.Slice{})
		}); p.Total != 1 {
			t.Errorf("a search for kaolin finds %d", p.Total)
		}
	})
}

func loaf(name string) mould.Mould {
	return mould.Mould{Name: name, Shape: mould.Cuboid, Cavities: 1, Sets: 2, Note: "birch, lined",
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(304.8), WidthMM: quantity.Some(88.9), DepthMM: quantity.Some(0.1 + 0.2 + 70)}}
}

func TestMouldsComeBackAsTheyWereKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		type record = studio.Record[mould.Mould]
		moulds := func() []record {
			return must(t, func() ([]studio.Record[mould.Mould], error) { return s.Moulds.All(ctx) })
		}
		put := func(m mould.Mould) record {
			v := mustKeepMould(t, s, m)
			return must(t, func() (record, error) { return s.Moulds.Get(ctx, v.ID) })
		}
		if got := moulds(); len(got) != 0 {
			t.Errorf("a fresh studio has moulds: %v", got)
		}
		slab := put(loaf("slab"))
		water := put(mould.Mould{Name: "Ärmel", Shape: mould.Measured, Cavities: 6, Sets: 1, WaterG: []float64{118.2, 118.6, 118.30000000000001},
			WaterC: quantity.Some(21)})
		long := put(loaf("  Long   loaf "))
		if long.ID == "" || long.Name != "Long loaf" || long.Newest.Doc.ID != long.ID || long.Newest.Doc.Name != "Long loaf" {
			t.Errorf("put as %+v", long)
		}
		if diff := cmp.Diff([]record{long, slab, water}, moulds()); diff != "" {
			t.Error(diff)
		}
		_, err := s.Moulds.New(ctx, loaf("LONG loaf"), "")
		refused(t, err, fault.Conflict, "name", "Long loaf")
		m := long.Newest.Doc
		m.Name, m.Sets = "Short loaf", 3
		changed := must(t, func() (studio.Version[mould.Mould], error) { return s.Moulds.Keep(ctx, long.ID, 1, m, "a third set") })
		if diff := cmp.Diff(record{ID: long.ID, Name: "Short loaf", Newest: changed}, must(t, func() (record, error) {
			return s.Moulds.Get(ctx,
				long.ID)
		})); diff != "" || changed.Doc.Sets != 3 || changed.N != 2 {
			t.Errorf("changed to %+v:\n%s", changed, diff)
		}
		// Refused by every field at once.
		bad := loaf("")
		bad.Sets, bad.DepthMM = 0, quantity.Some(0)
		_, err = s.Moulds.New(ctx, bad, "")
		refused(t, err, fault.Invalid, "name")
		refused(t, err, fault.Invalid, "sets")
		refused(t, err, fault.Invalid, "depth_mm")
		_, err = s.Moulds.Keep(ctx, long.ID, 2, bad, "")
		refused(t, err, fault.Invalid, "name")
		refused(t, err, fault.Invalid, "sets")
		refused(t, err, fault.Invalid, "depth_mm")
		_, err = s.Moulds.Keep(ctx, "not-given-here", 1, loaf("Stranger"), "")
		refused(t, err, fault.NotFound, "mould")

		if err := s.Moulds.Archive(ctx, slab.ID); err != nil {
			t.Fatal(err)
		}
		if got := moulds(); len(got) != 2 {
			t.Errorf("%d moulds on the shelf, want 2", len(got))
		}
		archived := must(t, func() (studio.Page[record], error) { return s.Moulds.ListArchived(ctx, "", studio.Slice{}) }).Items
		if len(archived) != 1 || archived[0].ID != slab.ID || !archived[0].Archived() {
			t.Errorf("archived: %+v", archived)
		}
		_, err = s.Moulds.Keep(ctx, slab.ID, 1, slab.Newest.Doc, "")
		refused(t, err, fault.Conflict, "", "archived")
		second := put(loaf("Slab")) // its name is free
		refused(t, s.Moulds.BringBack(ctx, slab.ID), fault.Conflict, "name")
		if err := s.Moulds.Archive(ctx, second.ID); err != nil {
			t.Fatal(err)
		}
		if err := s.Moulds.BringBack(ctx, slab.ID); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(slab, must(t, func() (studio.Record[mould.Mould], error) { return s.Moulds.Get(ctx, slab.ID) })); diff != "" {
			t.Error(diff)
		}
		refused(t, s.Moulds.Archive(ctx, "nothing"), fault.NotFound, "mould")
		_, err = s.Moulds.Get(ctx, "nothing")
		refused(t, err, fault.NotFound, "mould")
	})
}

func TestSettingsComeBackAsTheyWerePut(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		settings := func() studio.Settings {
			return must(t, func() (studio.Settings, error) { return s.Settings(ctx) })
		}
		if diff := cmp.Diff(studio.DefaultSettings(), settings()); diff != "" {
			t.Error(diff)
		}
		// What a batch is weighed by is unknown until it is set.
		if d := settings(); d.ScaleDivisionG.Known || d.NaOHPurityPct.Known || d.KOHPurityPct.Known || d.PurityHalfWidthPct.Known || d.CureWaterLossPct.Known {
			t.Errorf("a fresh studio claims to know %+v", d)
		}
		want := studio.Settings{
			StudioName: "Quillfen", Mass: quantity.PoundOunce, Volume: quantity.ImperialFluidOunce, Length: quantity.Inch, Temperature: quantity.Fahrenheit,
			Currency: "GBP", ScaleDivisionG: quantity.Some(0.1), NaOHPurityPct: quantity.Some(98.7), PurityHalfWidthPct: quantity.Some(0),
			CureWaterLossPct: quantity.Some(0), Limits: studio.DefaultSettings().Limits, TimeZone: "Europe/London",
			Emergency: "Ring the harbour office\nor the doctor",
		}
		for range 2 {
			if err := s.PutSettings(ctx, want); err != nil {
				t.Fatal(describe(err))
			}
			if diff := cmp.Diff(want, settings()); diff != "" {
				t.Error(diff)
			}
		}
		bad := want
		bad.Currency, bad.TimeZone = "SOAP", "Tidal/Island"
		err := s.PutSettings(ctx, bad)
		refused(t, err, fault.Invalid, "currency")
		refused(t, err, fault.Invalid, "time_zone")
		if diff := cmp.Diff(want, settings()); diff != "" {
			t.Errorf("refused settings were kept:\n%s", diff)
		}
	})
}

// Thousands of ingredients of the studio's own are found by as by one, however many
// words are typed.
func TestASearchAmongThousandsOfIngredients(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		own := seal()
		if err := s.PutIngredient(ctx, own); err != nil {
			t.Fatal(describe(err))
		}
		f := lantern("Storm lantern")
		f.Fats[0].ID = own.ID
		mustKeepNew(t, s, f)
		mustKeepNew(t, s, lantern("Dull"))
		db := raw(t, where)
		many, err := db.Begin()
		if err != nil {
			t.Fatal(err)
		}
		for i := range 6000 {
			e := own
			e.ID, e.Name = fmt.Sprintf("own-%d", i), fmt.Sprintf("Abcdefgh butter %d", i)
			doc, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := many.Exec(`INSERT INTO ingredient (id, format, document, changed_at) VALUES ($1, 1, $2, '2026-03-01T08:00:00.000000Z')`, e.ID,
				string(doc)); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := many.Exec(`UPDATE ingredient_revision SET revision = revision + 1`); err != nil {
			t.Fatal(err)
		}
		if err := many.Commit(); err != nil {
			t.Fatal(err)
		}
		for query, want := range map[string][]string{
			"a a a a a a a a": {"Dull", "Storm lantern"}, "a b e t": {"Storm lantern"}, "b u t t e r": {"Storm lantern"}, "a b c d e f g h": nil,
			"butter 5999": nil, "butter butter storm": {"Storm lantern"},
		} {
			got := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
				return s.Formulas.List(ctx, query, studio.Slice{})
			})
			if diff := cmp.Diff(want, names(got)); diff != "" {
				t.Errorf("%q: %s", query, diff)
			}
		}
	})
}
