package store_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/quantity"
	"barwright/studio"
)

func TestAFormulaComesBackExactlyAsItWasKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		rnd := rand.New(rand.NewPCG(7, 11))
		var kept []studio.FormulaVersion
		for i := range 50 {
			f := lantern(fmt.Sprintf("Sturm-Laterne №%d “<&>” 灯 🕯", i))
			// Any bit pattern of a float that the sums could take, not only round ones.
			f.FatsG = math.Ldexp(1+rnd.Float64(), rnd.IntN(18))
			f.SuperfatPct = math.Nextafter(rnd.Float64()*20, 30)
			f.Fats[0].Pct = 50 + rnd.Float64()
			f.Fats[1].Pct = 100 - f.Fats[0].Pct
			f.Fats[0].SAP = quantity.Some(185 + rnd.Float64()*10)
			f.Fats[0].SAPHalfWidth = quantity.Some(rnd.Float64())
			f.PourC = quantity.Some(rnd.Float64() * 60)
			f.ByWeight = i%2 == 0
			f.Notes = "first line\nsecond line\twith a tab"
			f.Extras = []formula.Extra{{ID: "kaolin", Dose: rnd.Float64() * 30, Per: formula.PerKgBatter, Into: formula.IntoFats, WaterPct: quantity.Some(0)}}
			f.Scents = []formula.Scent{{Name: "Fig & sea salt", DosePct: rnd.Float64() * 4, Of: formula.OfBar, LimitPct: quantity.Some(6.2), Category: "9",
				Dated: "2025-11-02"}}
			f.Liquid = formula.Liquid{IcePct: rnd.Float64() * 100}
			want := f.Clone()
			v, err := s.Formulas.New(ctx, studio.Formula{Formula: f, Kept: worked()}, "kept\nfor a test")
			if err != nil {
				t.Fatal(describe(err))
			}
			if diff := cmp.Diff(want, f); diff != "" {
				t.Fatalf("keeping changed the caller's formula:\n%s", diff)
			}
			if diff := cmp.Diff(want, v.Doc.Formula); diff != "" {
				t.Fatalf("what was kept is not what was given:\n%s", diff)
			}
			kept = append(kept, v)
		}
		// Another program opens the same studio afresh.
		again := opened(t, where)
		for _, v := range kept {
			got := must(t, func() (studio.FormulaVersion, error) { return again.Formulas.Version(ctx, v.ID, 1) })
			if diff := cmp.Diff(v, got); diff != "" {
				t.Fatalf("kept and read back differ:\n%s", diff)
			}
		}
		if got := kept[0].KeptAt; !got.Equal(got.Truncate(time.Microsecond)) || got.Location() != time.UTC {
			t.Errorf("kept at %v: want UTC, whole microseconds", got)
		}
	})
}

func TestWhatCannotBeWorkedOutIsNotKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		v1 := mustKeepNew(t, s, lantern("Storm lantern"))
		for _, c := range []struct {
			what  string
			field string
			spoil func(*formula.Formula)
		}{
			{"no name", "name", func(f *formula.Formula) { f.Name = " " }},
			{"a name that is no text", "name", func(f *formula.Formula) { f.Name = "Storm\x00lantern" }},
			{"a name in another encoding", "name", func(f *formula.Formula) { f.Name = "Caf\xe9" }},
			{"a name without end", "name", func(f *formula.Formula) { f.Name = strings.Repeat("x", 201) }},
			{"no fats", "fat", func(f *formula.Formula) { f.Fats = nil }},
			{"fats that sum to 90", "fat", func(f *formula.Formula) { f.Fats[0].Pct = 50 }},
			{"NaN", "superfat", func(f *formula.Formula) { f.SuperfatPct = math.NaN() }},
			{"infinity", "fats_g", func(f *formula.Formula) { f.FatsG = math.Inf(1) }},
			{"an unknown fat", "fat.1.id", func(f *formula.Formula) { f.Fats[0].ID = "olive-oyl" }},
		} {
			f := lantern("Storm lantern")
			c.spoil(f)
			_, err := s.Formulas.New(ctx, studio.Formula{Formula: f, Kept: worked()}, "")
			t.Log(c.what)
			refused(t, err, fault.Invalid, c.field)
			_, err = s.Formulas.Keep(ctx, v1.ID, 1, studio.Formula{Formula: f, Kept: worked()}, "")
			refused(t, err, fault.Invalid, c.field)
		}
		bad := worked()
		bad.Superfat.LowPct = math.NaN()
		_, err := s.Formulas.New(ctx, studio.Formula{Formula: lantern("Another"), Kept: bad}, "")
		refused(t, err, fault.Invalid, "", "not finite")
		_, err = s.Formulas.New(ctx, studio.Formula{Formula: lantern("Another"), Kept: worked()}, "a note with a \x00")
		refused(t, err, fault.Invalid, "version_note")
		if got := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return s.Formulas.List(ctx, "", studio.Slice{})
		}); got.Total != 1 {
			t.Errorf("%d formulas after what was refused, want 1", got.Total)
		}
	})
}

func TestADuplicateOfAFormulaKeepsItsFigures(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		v1 := mustKeepNew(t, s, lantern("Storm lantern"))
		f := lantern("Storm lantern")
		f.SuperfatPct = 9
		if _, err := s.Formulas.Keep(ctx, v1.ID, 1, studio.Formula{Formula: f, Kept: worked()}, ""); err != nil {
			t.Fatal(err)
		}
		_, err := s.Formulas.Duplicate(ctx, v1.ID, 1, "storm lantern")
		refused(t, err, fault.Conflict, "name")
		_, err = s.Formulas.Duplicate(ctx, v1.ID, 1, "")
		refused(t, err, fault.Invalid, "name")
		_, err = s.Formulas.Duplicate(ctx, v1.ID, 5, "Harbour light")
		refused(t, err, fault.NotFound, "version", "no version 5")
		_, err = s.Formulas.Duplicate(ctx, "nothing", 1, "Harbour light")
		refused(t, err, fault.NotFound, "formula")
		d, err := s.Formulas.Duplicate(ctx, v1.ID, 1, "Harbour light")
		if err != nil {
			t.Fatal(err)
		}
		if d.N != 1 || d.Doc.Formula.SuperfatPct != 5 || d.Doc.Formula.Name != "Harbour light" || d.ID == v1.ID || !strings.Contains(d.Note, "version 1") {
			t.Errorf("the duplicate is %+v of %+v", d, d.Doc.Formula)
		}
		if diff := cmp.Diff(v1.Doc.Kept, d.Doc.Kept); diff != "" {
			t.Error(diff)
		}
		got := must(t, func() (studio.Record[studio.Formula], error) { return s.Formulas.Get(ctx, d.ID) })
		if got.FromID != v1.ID || got.FromN != 1 {
			t.Errorf("the duplicate comes from %q version %d", got.FromID, got.FromN)
		}
		newest := must(t, func() (studio.FormulaVersion, error) { return s.Formulas.Duplicate(ctx, v1.ID, 0, "Lamp room") })
		if newest.Doc.Formula.SuperfatPct != 9 {
			t.Errorf("a duplicate of the newest has superfat %v, want 9", newest.Doc.Formula.SuperfatPct)
		}
		if got := uses(t, s, studio.KindIngredient, "olive-oil"); len(got) != 3 {
			t.Errorf("olive oil is used in %d formulas, want 3", len(got))
		}
	})
}

func TestSearchFindsNamesScentsAndIngredients(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		mustKeepNew(t, s, lantern("Crème de la mer"))
		scented := lantern("100% Lighthouse_keeper!")
		scented.Scents = []formula.Scent{{Name: "Fíg & sea salt", DosePct: 2}}
		mustKeepNew(t, s, scented)
		castor := lantern("Größe")
		castor.Fats = []formula.Fat{{ID: "castor-oil", Pct: 10}, {ID: "olive-oil", Pct: 90}}
		v := mustKeepNew(t, s, castor)
		shea := lantern("Tallow's rival")
		was := mustKeepNew(t, s, shea) // of oils once, but no more
		shea.Fats = []formula.Fat{{ID: "shea-butter", Pct: 100}}
		if _, err := s.Formulas.Keep(ctx, was.ID, 1, studio.Formula{Formula: shea, Kept: worked()}, ""); err != nil {
			t.Fatal(describe(err))
		}
		// A word of more ingredients than a few is looked for in another way.
		if oils := base(t).Search("oil"); len(oils) < 30 {
			t.Fatalf("only %d ingredients are oils", len(oils))
		}
		for _, c := range []struct {
			query string
			want  []string
		}{
			{"", []string{"Tallow's rival", "Größe", "100% Lighthouse_keeper!", "Crème de la mer"}},
			{"creme", []string{"Crème de la mer"}},
			{"CRÈME MER", []string{"Crème de la mer"}},
			{"mer creme", []string{"Crème de la mer"}},
			{"größe", []string{"Größe"}},
			{"GRÖ", []string{"Größe"}},
			{"fig", []string{"100% Lighthouse_keeper!"}},
			{"Castor", []string{"Größe"}},
			{"ricinus", []string{"Größe"}}, // its INCI name
			{"olive", []string{"Größe", "100% Lighthouse_keeper!", "Crème de la mer"}},
			{"olive castor", []string{"Größe"}},
			{"coconut creme", []string{"Crème de la mer"}},
			{"castor creme", nil},
			{"0%", []string{"100% Lighthouse_keeper!"}}, // wildcards of LIKE mean themselves
			{"%", []string{"100% Lighthouse_keeper!"}},
			{"_", []string{"100% Lighthouse_keeper!"}},
			{"!", []string{"100% Lighthouse_keeper!"}},
			{"'; DROP TABLE record; --", nil},
			{"oil", []string{"Größe", "100% Lighthouse_keeper!", "Crème de la mer"}},
			{"oil creme", []string{"Crème de la mer"}},
			{"shea", []string{"Tallow's rival"}},
			{"\x00\xff", []string{"Tallow's rival", "Größe", "100% Lighthouse_keeper!", "Crème de la mer"}},
			{strings.Repeat("x ", 2000), nil},
		} {
			p, err := s.Formulas.List(ctx, c.query, studio.Slice{})
			if err != nil {
				t.Fatalf("%q: %v", c.query, describe(err))
			}
			if diff := cmp.Diff(c.want, names(p)); diff != "" || p.Total != len(c.want) {
				t.Errorf("%q finds (total %d):\n%s", c.query, p.Total, diff)
			}
		}
		// Only the newest version is searched; every version counts as a use.
		if _, err := s.Formulas.Keep(ctx, v.ID, 1, studio.Formula{Formula: lantern("Größe"), Kept: worked()}, ""); err != nil {
			t.Fatal(err)
		}
		if p := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return s.Formulas.List(ctx, "castor", studio.Slice{})
		}); p.Total != 0 {
			t.Errorf("castor is still found: %v", names(p))
		}
		want := []studio.Use{{Kind: studio.KindFormula, ID: v.ID, Name: "Größe", N: 1, Roles: []string{studio.AsFat}}}
		if diff := cmp.Diff(want, uses(t, s, studio.KindIngredient, "castor-oil")); diff != "" {
			t.Error(diff)
		}
		if uses := uses(t, s, studio.KindIngredient, "olive-oil"); !slices.ContainsFunc(uses,
			func(u studio.Use) bool { return u.Name == "Größe" && u.N == 2 && u.Newest }) {
			t.Errorf("olive oil is used in %+v", uses)
		}
	})
}

// A write that breaks off half way, by an error or by a panic, leaves nothing,
// and lets the next one in.
func TestHalfAWriteIsNone(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		st := must(t, func() (*store.Store, error) { return store.Open(ctx, where) })
		t.Cleanup(func() { _ = st.Close() })
		row := studio.RecordRow{ID: "a", Kind: studio.KindFormula, Name: "A", NameKey: "a", SearchKey: "a", Newest: 1, KeptAt: time.Now()}
		err := st.Write(ctx, func(w studio.Writer) error {
			if err := w.AddRecord(ctx, row); err != nil {
				t.Fatal(err)
			}
			return fault.Invalidf("x", "enough")
		})
		refused(t, err, fault.Invalid, "x")
		func() {
			defer func() {
				if recover() == nil {
					t.Error("the panic was swallowed")
				}
			}()
			_ = st.Write(ctx, func(w studio.Writer) error {
				if err := w.AddRecord(ctx, row); err != nil {
					t.Error(err)
				}
				panic("a programmer's mistake")
			})
		}()
		if err := st.Write(ctx, func(w studio.Writer) error { return w.AddRecord(ctx, row) }); err != nil {
			t.Fatalf("the first write was there after all: %v", err)
		}
	})
}
