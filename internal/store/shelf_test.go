package store_test

import (
	"context"
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
			t.Errorf("%d entries after what was refused, want 2", len(got))
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
		// The newest version has it no more, and the formula is put away: still in use.
		if _, err := s.Formulas.Keep(ctx, v.ID, 1, studio.Formula{Formula: lantern("Gorse bar, without"), Kept: worked()}, ""); err != nil {
			t.Fatal(err)
		}
		if err := s.Formulas.Archive(ctx, v.ID); err != nil {
			t.Fatal(err)
		}
		refused(t, s.WithdrawIngredient(ctx, "gorse-seed-butter"), fault.Conflict, "roles", "“Gorse bar, without”")
		uses := must(t, func() ([]studio.Use, error) { return s.UsedIn(ctx, "gorse-seed-butter") })
		if diff := cmp.Diff([]studio.Use{{FormulaID: v.ID, Name: "Gorse bar, without", N: 1, PutAway: true, AsFat: true}}, uses); diff != "" {
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

func (w betweenWriter) AddVersion(ctx context.Context, v studio.VersionRow, uses []studio.UseRow) error {
	err := w.Writer.AddVersion(ctx, v, uses)
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
				_, keeping := studio.New(hooked, base(t), ticking(), studio.NewID).NewFormula(ctx, f, worked(), "")
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
		if uses := must(t, func() ([]studio.Use, error) { return s.UsedIn(ctx, "kaolin") }); len(uses) != 1 || !uses[0].AsExtra || uses[0].AsFat {
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

func TestMouldsComeBackAsTheyWerePut(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		moulds := func() []studio.Mould {
			return must(t, func() ([]studio.Record[mould.Mould], error) { return s.Moulds.All(ctx) })
		}
		put := func(m mould.Mould) studio.Mould {
			return must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(ctx, m) })
		}
		if got := moulds(); len(got) != 0 {
			t.Errorf("a fresh studio has moulds: %v", got)
		}
		slab := put(loaf("slab"))
		water := put(mould.Mould{Name: "Ärmel", Shape: mould.Measured, Cavities: 6, Sets: 1, WaterG: []float64{118.2, 118.6, 118.30000000000001}, WaterC: quantity.Some(21)})
		long := put(loaf("  Long   loaf "))
		if long.ID == "" || long.Name != "Long loaf" {
			t.Errorf("put as %+v", long)
		}
		if diff := cmp.Diff([]studio.Mould{long, slab, water}, moulds()); diff != "" {
			t.Error(diff)
		}
		_, err := s.PutMould(ctx, loaf("LONG loaf"))
		refused(t, err, fault.Conflict, "name", "Long loaf")
		m := long.Mould
		m.Name, m.Sets = "Short loaf", 3
		changed := put(m)
		if diff := cmp.Diff(changed, must(t, func() (studio.Record[mould.Mould], error) { return s.Moulds.Get(ctx, long.ID) })); diff != "" || changed.Sets != 3 {
			t.Errorf("changed to %+v:\n%s", changed, diff)
		}
		// Refused by every field at once.
		bad := loaf("")
		bad.Sets, bad.DepthMM = 0, quantity.Some(0)
		_, err = s.PutMould(ctx, bad)
		refused(t, err, fault.Invalid, "name")
		refused(t, err, fault.Invalid, "sets")
		refused(t, err, fault.Invalid, "depth_mm")
		stranger := loaf("Stranger")
		stranger.ID = "not-given-here"
		_, err = s.PutMould(ctx, stranger)
		refused(t, err, fault.NotFound, "mould")

		if err := s.Moulds.Archive(ctx, slab.ID); err != nil {
			t.Fatal(err)
		}
		if got := moulds(); len(got) != 2 {
			t.Errorf("%d moulds on the shelf, want 2", len(got))
		}
		away := must(t, func() ([]studio.Record[mould.Mould], error) { return s.MouldsPutAway(ctx) })
		if len(away) != 1 || away[0].ID != slab.ID || !away[0].Archived() {
			t.Errorf("put away: %+v", away)
		}
		_, err = s.PutMould(ctx, slab.Mould)
		refused(t, err, fault.Conflict, "", "put away")
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
			CureWaterLossPct: quantity.Some(0), Limits: studio.DefaultSettings().Limits, TimeZone: "Europe/London", Emergency: "Ring the harbour office\nor the doctor",
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

func TestASheetIsTakenDownOnceAndKeepsItsCode(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		v := mustKeepNew(t, s, lantern("Storm lantern"))
		m := must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(ctx, loaf("Long loaf")) })
		set := studio.DefaultSettings()
		set.TimeZone = "Pacific/Kiritimati" // UTC+14: 2026-03-01 10:00 UTC is the second there
		if err := s.PutSettings(ctx, set); err != nil {
			t.Fatal(describe(err))
		}
		working := []byte(`{"naoh_g": 142.30000000000001, "note": "ø"}`)
		form := studio.Taking{ID: studio.NewID(), FormulaID: v.ID, N: 1, Working: working,
			Size: studio.Size{By: studio.ByMould, MouldID: m.ID, Pieces: 10, FillPct: 95, OveragePct: 3}}
		first := must(t, func() (studio.Sheet, error) { return s.TakeDown(ctx, form) })
		zone := set.Location()
		if first.Code != "0001" || first.N != 1 || first.FormulaName != "Storm lantern" || first.Date != first.TakenAt.In(zone).Format(time.DateOnly) {
			t.Errorf("taken down as %+v", first)
		}
		// The form sent twice is one sheet, byte for byte.
		if diff := cmp.Diff(first, must(t, func() (studio.Sheet, error) { return s.TakeDown(ctx, form) })); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(first, must(t, func() (studio.Sheet, error) { return opened(t, where).Sheet(ctx, "0001") })); diff != "" || string(first.Working) != string(working) {
			t.Error(diff)
		}
		// Putting both away leaves the sheet, and more can be taken down.
		if err := s.Moulds.Archive(ctx, m.ID); err != nil {
			t.Fatal(err)
		}
		if err := s.Formulas.Archive(ctx, v.ID); err != nil {
			t.Fatal(err)
		}
		form.ID = ""
		second := must(t, func() (studio.Sheet, error) { return s.TakeDown(ctx, form) })
		fats := must(t, func() (studio.Sheet, error) {
			return s.TakeDown(ctx, studio.Taking{FormulaID: v.ID, N: 1, Working: []byte("{}"), Size: studio.Size{By: studio.ByFats, FatsG: 1 / 3.0, Pieces: 9}})
		})
		if diff := cmp.Diff(studio.Size{By: studio.ByFats, FatsG: 1 / 3.0}, fats.Size); diff != "" {
			t.Error(diff)
		}
		page := must(t, func() (studio.Page[studio.Sheet], error) { return s.Sheets(ctx, "", studio.Slice{Size: 2}) })
		if page.Total != 3 || len(page.Items) != 2 || page.Items[0].Code != "0003" || page.Items[1].ID != second.ID || page.Items[0].Working != nil {
			t.Errorf("page of sheets: %+v", page)
		}
		if page := must(t, func() (studio.Page[studio.Sheet], error) { return s.Sheets(ctx, v.ID, studio.Slice{}) }); page.Total != 3 || len(page.Items) != 3 {
			t.Errorf("sheets of the formula: %+v", page)
		}
		if page := must(t, func() (studio.Page[studio.Sheet], error) { return s.Sheets(ctx, "another", studio.Slice{}) }); page.Total != 0 {
			t.Errorf("sheets of another formula: %+v", page)
		}

		for field, z := range map[string]studio.Size{
			"fats_g":      {By: studio.ByFats, FatsG: math.NaN()},
			"batter_g":    {By: studio.ByBatter, BatterG: -1},
			"mould_id":    {By: studio.ByMould, Pieces: 1, FillPct: 100},
			"pieces":      {By: studio.ByMould, MouldID: m.ID, FillPct: 100},
			"fill_pct":    {By: studio.ByMould, MouldID: m.ID, Pieces: 1, FillPct: 101},
			"overage_pct": {By: studio.ByMould, MouldID: m.ID, Pieces: 1, FillPct: 100, OveragePct: math.Inf(1)},
			"by":          {By: 7},
		} {
			_, err := s.TakeDown(ctx, studio.Taking{FormulaID: v.ID, N: 1, Working: working, Size: z})
			refused(t, err, fault.Invalid, field)
		}
		ok := studio.Size{By: studio.ByBatter, BatterG: 1500}
		_, err := s.TakeDown(ctx, studio.Taking{FormulaID: "nothing", N: 1, Working: working, Size: ok})
		refused(t, err, fault.NotFound, "formula")
		_, err = s.TakeDown(ctx, studio.Taking{FormulaID: v.ID, N: 2, Working: working, Size: ok})
		refused(t, err, fault.NotFound, "version")
		_, err = s.TakeDown(ctx, studio.Taking{FormulaID: v.ID, N: 1, Working: working, Size: studio.Size{By: studio.ByMould, MouldID: "nothing", Pieces: 1, FillPct: 100}})
		refused(t, err, fault.NotFound, "mould")
		_, err = s.TakeDown(ctx, studio.Taking{FormulaID: v.ID, N: 1, Working: []byte("{"), Size: ok})
		refused(t, err, fault.Internal, "")
		_, err = s.Sheet(ctx, "0004")
		refused(t, err, fault.NotFound, "code", "0004")
	})
}

// Sheets taken down at once get codes that are all different and have no gap.
func TestCodesAreGivenOnce(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		v := mustKeepNew(t, s, lantern("Storm lantern"))
		const n = 12
		codes := make(chan string, n)
		for i := range n {
			mine := s
			if i%2 == 1 {
				mine = other
			}
			go func() {
				sheet, err := mine.TakeDown(t.Context(), studio.Taking{FormulaID: v.ID, N: 1, Working: []byte("{}"), Size: studio.Size{FatsG: 500}})
				if err != nil {
					t.Error(describe(err))
				}
				codes <- sheet.Code
			}()
		}
		seen := map[string]bool{}
		for range n {
			seen[<-codes] = true
		}
		if len(seen) != n || !seen["0001"] || !seen["0012"] {
			t.Errorf("codes: %v", seen)
		}
	})
}
