package store_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// quarry is what designs stand on in these tests.
type quarry struct {
	mould, lamp string // moulds
	white, dark string // formulas; white has the portions sky and foam
	studio      *studio.Studio
	lighthouse  func(name string, embeds ...string) *design.Design
}

func quarried(t testing.TB, s *studio.Studio) quarry {
	t.Helper()
	q := quarry{studio: s}
	q.mould = mustKeepMould(t, s, loaf("Lantern house")).ID
	q.lamp = mustKeepMould(t, s, loaf("Lamp")).ID
	white := lantern("Sea white")
	white.Portions = []formula.Portion{{Name: "sky", By: formula.ByShare, Amount: 30, Colourants: []formula.Colour{{ID: "kaolin", GPerKg: 12.3}}},
		{Name: "foam", By: formula.ByRest}}
	q.white = mustKeepNew(t, s, white).ID
	q.dark = mustKeepNew(t, s, lantern("Wet rock")).ID
	q.lighthouse = func(name string, embeds ...string) *design.Design {
		d := &design.Design{Name: name, Mould: q.mould, Note: "tide is out", Parts: []design.Part{
			{Kind: design.Pour, Name: "sea", Formula: q.white, Portion: "sky", FillToPct: quantity.Some(70.1 + 0.2), Reminders: []string{"start the camera"}},
		}}
		for _, id := range embeds {
			d.Parts = append(d.Parts, design.Part{Kind: design.Embed, Design: id, Count: quantity.Some(1), SunkPct: 100.0 / 3,
				Wait: design.Wait{Minutes: quantity.Some(20), Until: "skinned over"}})
		}
		d.Parts = append(d.Parts,
			design.Part{Kind: design.Topping, Formula: q.dark, FillToPct: quantity.Some(100), Stage: formula.ThinTrace},
			design.Part{Kind: design.Sprinkle, Item: "Glass beads", MassG: quantity.Some(1.5)},
			design.Part{Kind: design.Wrap, Item: "paper band", Count: quantity.Some(1), Closed: true})
		return d
	}
	return q
}

func (q quarry) keep(t testing.TB, d *design.Design) studio.DesignVersion {
	t.Helper()
	return must(t, func() (studio.DesignVersion, error) { return q.studio.Designs.New(t.Context(), d, "") })
}

func TestADesignComesBackExactlyAsItWasKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp №1 “<&>” 灯"))
		typed := q.lighthouse("  Storm   light ", lamp.ID)
		typed.ID = "of the form"
		v1 := must(t, func() (studio.DesignVersion, error) { return s.Designs.New(ctx, typed, "first\nof all") })
		want := q.lighthouse("Storm light", lamp.ID)
		want.ID = v1.ID
		if diff := cmp.Diff(want, v1.Doc); diff != "" || v1.N != 1 || v1.Note != "first\nof all" || v1.ID == "" {
			t.Errorf("kept as %+v:\n%s", v1, diff)
		}
		if typed.ID != "of the form" || typed.Name != "  Storm   light " {
			t.Error("keeping changed the caller's design")
		}
		dimmed := q.lighthouse("Storm light, dimmed", lamp.ID)
		dimmed.Parts[0].FillToPct = quantity.Some(60)
		v2 := must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, v1.ID, 1, dimmed, "") })
		again := opened(t, where)
		got := must(t, func() (studio.Record[*design.Design], error) { return again.Designs.Get(ctx, v1.ID) })
		if diff := cmp.Diff(studio.Record[*design.Design]{ID: v1.ID, Name: "Storm light, dimmed", Newest: v2}, got); diff != "" {
			t.Error(diff)
		}
		all := must(t, func() ([]studio.DesignVersion, error) { return again.Designs.Versions(ctx, v1.ID) })
		if diff := cmp.Diff([]studio.DesignVersion{v2, v1}, all); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(v1, must(t, func() (studio.DesignVersion, error) { return again.Designs.Version(ctx, v1.ID, 1) })); diff != "" {
			t.Error(diff)
		}
		// Its old name is free again; its new one is not.
		q.keep(t, q.lighthouse("STORM light"))
		_, err := s.Designs.New(ctx, q.lighthouse("storm LIGHT,  Dimmed"), "")
		refused(t, err, fault.Conflict, "name", "Storm light, dimmed")
		_, err = s.Designs.Version(ctx, v1.ID, 3)
		refused(t, err, fault.NotFound, "version", "no version 3")
		_, err = s.Designs.Get(ctx, "nothing")
		refused(t, err, fault.NotFound, "design")
		_, err = s.Designs.Versions(ctx, "nothing")
		refused(t, err, fault.NotFound, "design")
	})
}

func TestWhatCannotBeMadeIsNotKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp")).ID
		v1 := q.keep(t, q.lighthouse("Storm light", lamp))
		oldFormula := mustKeepNew(t, s, lantern("Old batter")).ID
		oldMould := mustKeepMould(t, s, loaf("Old loaf")).ID
		oldDesign := q.keep(t, q.lighthouse("Old light")).ID
		if err := errors.Join(s.Formulas.Archive(ctx, oldFormula), s.Moulds.Archive(ctx, oldMould), s.Designs.Archive(ctx, oldDesign)); err != nil {
			t.Fatal(describe(err))
		}
		for _, c := range []struct {
			what, field, word string
			spoil             func(*design.Design)
		}{
			{"no name", "name", "empty", func(d *design.Design) { d.Name = " " }},
			{"a name that is no text", "name", "control", func(d *design.Design) { d.Name = "Storm\x00light" }},
			{"a name in another encoding", "name", "UTF-8", func(d *design.Design) { d.Name = "Caf\xe9" }},
			{"no mould", "mould", "", func(d *design.Design) { d.Mould = "" }},
			{"an unknown mould", "mould", "no such mould", func(d *design.Design) { d.Mould = "nothing" }},
			{"an archived mould", "mould", "“Old loaf” was archived", func(d *design.Design) { d.Mould = oldMould }},
			{"no parts", "part", "", func(d *design.Design) { d.Parts = nil }},
			{"a part without amount", "part.1.fill_to_pct", "", func(d *design.Design) { d.Parts[0].FillToPct = quantity.Maybe{} }},
			{"NaN", "part.1.fill_to_pct", "", func(d *design.Design) { d.Parts[0].FillToPct = quantity.Some(math.NaN()) }},
			{"an unknown formula", "part.1.formula", "no such formula", func(d *design.Design) { d.Parts[0].Formula, d.Parts[0].Portion = "nothing", "" }},
			{"an archived formula", "part.3.formula", "“Old batter” was archived", func(d *design.Design) { d.Parts[2].Formula = oldFormula }},
			{"an unknown portion", "part.1.portion", "no portion called “mud”", func(d *design.Design) { d.Parts[0].Portion = "mud" }},
			{"a portion of another", "part.3.portion", "no portion called “sky”", func(d *design.Design) { d.Parts[2].Portion = "sky" }},
			{"an unknown embed", "part.2.design", "no such design", func(d *design.Design) { d.Parts[1].Design = "nothing" }},
			{"an archived embed", "part.2.design", "“Old light” was archived", func(d *design.Design) { d.Parts[1].Design = oldDesign }},
		} {
			d := q.lighthouse("Storm light", lamp)
			c.spoil(d)
			t.Log(c.what)
			_, err := s.Designs.New(ctx, d, "")
			refused(t, err, fault.Invalid, c.field, c.word)
			_, err = s.Designs.Keep(ctx, v1.ID, 1, d, "")
			refused(t, err, fault.Invalid, c.field, c.word)
		}
		// All of it at once.
		d := q.lighthouse("Storm light", "nothing")
		d.Mould, d.Parts[0].Formula = "nothing", "nothing"
		_, err := s.Designs.New(ctx, d, "")
		for _, field := range []string{"mould", "part.1.formula", "part.2.design"} {
			refused(t, err, fault.Invalid, field)
		}
		_, err = s.Designs.New(ctx, q.lighthouse("Another", lamp), "a note with a \x00")
		refused(t, err, fault.Invalid, "version_note")
		if p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
			return s.Designs.List(ctx, "", studio.Slice{})
		}); p.Total != 2 {
			t.Errorf("kept after all: %v", names(p))
		}
		// A portion is found whatever its case, as where designs are worked out.
		d = q.lighthouse("Storm light", lamp)
		d.Parts[0].Portion = "SKY"
		must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, v1.ID, 1, d, "") })
	})
}

func TestNoDesignIsMadeOfItself(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp")).ID
		room := q.keep(t, q.lighthouse("Lamp room", lamp)).ID
		house := q.keep(t, q.lighthouse("Lighthouse", room)).ID
		_, err := s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp", lamp), "")
		refused(t, err, fault.Invalid, "part.2.design", "in itself")
		_, err = s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp", room), "")
		refused(t, err, fault.Invalid, "part.2.design", "“Lamp room” cannot", "made with “Lamp”", "of itself")
		_, err = s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp", house), "")
		refused(t, err, fault.Invalid, "part.2.design", "“Lighthouse” cannot", "made with “Lamp”, by way of “Lamp room”")
		// An older version that came back to it does not count: the newest does.
		must(t, func() (studio.DesignVersion, error) {
			return s.Designs.Keep(ctx, room, 1, q.lighthouse("Lamp room"), "")
		})
		house2 := must(t, func() (studio.DesignVersion, error) {
			return s.Designs.Keep(ctx, house, 1, q.lighthouse("Lighthouse", room), "looked at again")
		})
		must(t, func() (studio.DesignVersion, error) {
			return s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp", house), "")
		})
		if got := must(t, func() (studio.Record[*design.Design], error) { return s.Designs.Get(ctx, house) }); got.Newest.N != house2.N {
			t.Errorf("the lighthouse is %+v", got)
		}
	})
}

// Two makers each embed the other's design at the same moment: one is refused.
func TestNoRingIsClosedFromBothSides(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		for round := range 8 {
			a := q.keep(t, q.lighthouse(fmt.Sprintf("Left %d", round))).ID
			b := q.keep(t, q.lighthouse(fmt.Sprintf("Right %d", round))).ID
			errs := make(chan error, 2)
			go func() {
				_, err := s.Designs.Keep(context.Background(), a, 1, q.lighthouse(fmt.Sprintf("Left %d", round), b), "")
				errs <- err
			}()
			go func() {
				_, err := other.Designs.Keep(context.Background(), b, 1, q.lighthouse(fmt.Sprintf("Right %d", round), a), "")
				errs <- err
			}()
			first, second := <-errs, <-errs
			if (first == nil) == (second == nil) {
				t.Fatalf("round %d: %v and %v", round, first, second)
			}
			refused(t, errors.Join(first, second), fault.Invalid, "part.2.design", "of itself")
		}
	})
}

func TestWhatADesignStandsOnIsNotArchived(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp")).ID
		house := q.keep(t, q.lighthouse("Lighthouse", lamp)).ID
		uses := func(kind studio.Kind, id string) []studio.Use { return uses(t, s, kind, id) }
		want := []studio.Use{{Kind: studio.KindDesign, ID: lamp, Name: "Lamp", N: 1, Newest: true}, {Kind: studio.KindDesign, ID: house,
			Name: "Lighthouse", N: 1, Newest: true}}
		for _, on := range []struct {
			kind studio.Kind
			id   string
		}{{studio.KindFormula, q.white}, {studio.KindFormula, q.dark}, {studio.KindMould, q.mould}} {
			if diff := cmp.Diff(want, uses(on.kind, on.id)); diff != "" {
				t.Error(diff)
			}
		}
		if diff := cmp.Diff(want[1:], uses(studio.KindDesign, lamp)); diff != "" {
			t.Error(diff)
		}
		if got := uses(studio.KindMould, q.white); len(got) != 0 {
			t.Errorf("a formula's id is a mould's: %+v", got)
		}
		refused(t, s.Formulas.Archive(ctx, q.white), fault.Conflict, "", "“Sea white” cannot be archived", "“Lamp” and “Lighthouse”", "another formula")
		refused(t, s.Moulds.Archive(ctx, q.mould), fault.Conflict, "", "“Lantern house”", "“Lamp” and “Lighthouse”", "another mould")
		refused(t, s.Designs.Archive(ctx, lamp), fault.Conflict, "", "“Lamp” cannot", "used in “Lighthouse”", "another design")
		// What only an older version, or an archived design, stands on may go.
		must(t, func() (studio.DesignVersion, error) {
			return s.Designs.Keep(ctx, house, 1, q.lighthouse("Lighthouse"), "")
		})
		if diff := cmp.Diff([]studio.Use{{Kind: studio.KindDesign, ID: house, Name: "Lighthouse", N: 1}}, uses(studio.KindDesign, lamp)); diff != "" {
			t.Error(diff)
		}
		for _, id := range []string{lamp, house, lamp} { // twice is once
			if err := s.Designs.Archive(ctx, id); err != nil {
				t.Fatal(describe(err))
			}
		}
		away := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
			return s.Designs.ListArchived(ctx, "", studio.Slice{})
		})
		if away.Total != 2 || !away.Items[0].Archived() {
			t.Errorf("archived: %v", names(away))
		}
		_, err := s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp"), "again")
		refused(t, err, fault.Conflict, "", "archived")
		if err := errors.Join(s.Formulas.Archive(ctx, q.white), s.Moulds.Archive(ctx, q.mould)); err != nil {
			t.Fatal(describe(err))
		}
		refused(t, s.Designs.BringBack(ctx, lamp), fault.Conflict, "", "the formula “Sea white” and the mould “Lantern house”", "Bring that back")
		_, err = s.Designs.Duplicate(ctx, lamp, 0, "Lantern")
		refused(t, err, fault.Invalid, "mould", "archived")
		if err := errors.Join(s.Formulas.BringBack(ctx, q.white), s.Moulds.BringBack(ctx, q.mould)); err != nil {
			t.Fatal(describe(err))
		}
		taken := q.keep(t, q.lighthouse("lamp")) // the name is free
		refused(t, s.Designs.BringBack(ctx, lamp), fault.Conflict, "name", "“lamp”")
		if err := s.Designs.Archive(ctx, taken.ID); err != nil {
			t.Fatal(describe(err))
		}
		for range 2 {
			if err := s.Designs.BringBack(ctx, lamp); err != nil {
				t.Fatal(describe(err))
			}
		}
		refused(t, s.Designs.Archive(ctx, "nothing"), fault.NotFound, "design")
		refused(t, s.Designs.BringBack(ctx, "nothing"), fault.NotFound, "design")
	})
}

// One maker keeps a design on a formula while another archives the formula: one
// of the two is refused, whichever comes second.
func TestAFormulaIsNotArchivedFromUnderADesign(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		for round := range 8 {
			f := mustKeepNew(t, s, lantern(fmt.Sprintf("Batter %d", round))).ID
			d := q.lighthouse(fmt.Sprintf("Light %d", round))
			d.Parts[1].Formula = f
			kept, archived := make(chan error, 1), make(chan error, 1)
			go func() {
				_, err := s.Designs.New(context.Background(), d, "")
				kept <- err
			}()
			go func() { archived <- other.Formulas.Archive(context.Background(), f) }()
			keeping, putting := <-kept, <-archived
			switch {
			case keeping == nil && putting == nil:
				t.Fatal("a formula was archived from under a design")
			case keeping == nil:
				refused(t, putting, fault.Conflict, "", d.Name)
			case putting == nil:
				refused(t, keeping, fault.Invalid, "part.2.formula", "archived")
			default:
				t.Fatalf("both were refused: %v; %v", describe(keeping), describe(putting))
			}
		}
	})
}

func TestDuplicateDesignTakesOneVersionUnderAnotherName(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		v1 := q.keep(t, q.lighthouse("Storm light"))
		lower := q.lighthouse("Storm light")
		lower.Parts[0].FillToPct = quantity.Some(60)
		must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, v1.ID, 1, lower, "") })
		_, err := s.Designs.Duplicate(ctx, v1.ID, 1, "storm light")
		refused(t, err, fault.Conflict, "name")
		_, err = s.Designs.Duplicate(ctx, v1.ID, 1, "")
		refused(t, err, fault.Invalid, "name")
		_, err = s.Designs.Duplicate(ctx, v1.ID, 5, "Calm light")
		refused(t, err, fault.NotFound, "version", "no version 5")
		_, err = s.Designs.Duplicate(ctx, "nothing", 1, "Calm light")
		refused(t, err, fault.NotFound, "design")
		d := must(t, func() (studio.DesignVersion, error) { return s.Designs.Duplicate(ctx, v1.ID, 1, "Calm light") })
		want := q.lighthouse("Calm light")
		want.ID = d.ID
		if diff := cmp.Diff(want, d.Doc); diff != "" || d.N != 1 || d.ID == v1.ID || d.Note != "From “Storm light”, version 1." {
			t.Errorf("the duplicate is %+v:\n%s", d, diff)
		}
		got := must(t, func() (studio.Record[*design.Design], error) { return s.Designs.Get(ctx, d.ID) })
		if got.FromID != v1.ID || got.FromN != 1 {
			t.Errorf("the duplicate comes from %q version %d", got.FromID, got.FromN)
		}
		newest := must(t, func() (studio.DesignVersion, error) { return s.Designs.Duplicate(ctx, v1.ID, 0, "Low light") })
		if newest.Doc.Parts[0].FillToPct != quantity.Some(60) {
			t.Errorf("a duplicate of the newest is filled to %v", newest.Doc.Parts[0].FillToPct)
		}
		if uses := must(t, func() ([]studio.Use, error) { return s.Uses(ctx, studio.KindMould, q.mould) }); len(uses) != 3 {
			t.Errorf("the mould is used in %+v", uses)
		}
	})
}

func TestDesignsArePagedAndSearched(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		var first studio.DesignVersion
		for i := range 12 {
			v := q.keep(t, q.lighthouse(fmt.Sprintf("Pebble %02d", i)))
			if i == 0 {
				first = v
			}
		}
		d := q.lighthouse("Crème 100%_!")
		d.Parts[0].Name, d.Parts[2].Item = "Gorse hill", "Größe 3 beads"
		must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, first.ID, 1, d, "") })
		var got []string
		for n := 1; n <= 2; n++ {
			p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
				return s.Designs.List(ctx, "", studio.Slice{Number: n, Size: 10})
			})
			if p.Total != 12 || p.Pages() != 2 {
				t.Errorf("page %d: %d of %d pages", n, p.Total, p.Pages())
			}
			got = append(got, names(p)...)
		}
		want := []string{"Crème 100%_!"}
		for i := 11; i > 0; i-- {
			want = append(want, fmt.Sprintf("Pebble %02d", i))
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
		if p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
			return s.Designs.List(ctx, "", studio.Slice{Number: math.MaxInt})
		}); len(p.Items) != 0 || p.Total != 12 {
			t.Errorf("a page beyond the last: %v", names(p))
		}
		for query, want := range map[string]int{"": 12, "creme": 1, "PEBBLE 1": 3, "1 pebble": 3, "gorse": 1, "größe beads": 1, "sea": 11, "0%": 1,
			"_": 1, "!": 1,
			"'; DROP TABLE record; --": 0, "pebble creme": 0, "\x00\xff": 12, strings.Repeat("x ", 2000): 0} {
			if p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
				return s.Designs.List(ctx, query, studio.Slice{})
			}); p.Total != want {
				t.Errorf("%q finds %v, want %d", query, names(p), want)
			}
		}
	})
}

func TestGatherReachesAllThatAQuestionNeeds(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		set := studio.DefaultSettings()
		set.PotLossG = quantity.Some(15.5)
		if err := s.PutSettings(ctx, set); err != nil {
			t.Fatal(describe(err))
		}
		inLamp := q.lighthouse("Lamp")
		inLamp.Mould = q.lamp
		lamp := q.keep(t, inLamp)
		room := q.keep(t, q.lighthouse("Lamp room", lamp.ID))
		house := q.keep(t, q.lighthouse("Lighthouse", room.ID, lamp.ID))
		q.keep(t, q.lighthouse("Pebble"))
		unused := mustKeepNew(t, s, lantern("Unused")).ID
		shelved := mustKeepMould(t, s, loaf("Shelved")).ID
		gather := func(extra *design.Design, ids ...string) *studio.Gathered {
			return must(t, func() (*studio.Gathered, error) { return s.Gather(ctx, extra, ids...) })
		}
		keys := func(g *studio.Gathered) []string { return gatheredNames(t, g) }
		g := gather(nil, house.ID)
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lamp room", "Lantern house", "Lighthouse", "Sea white", "Wet rock"}, keys(g)); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(house, g.Designs[house.ID]); diff != "" {
			t.Error(diff)
		}
		cat := must(t, func() (*catalogue.Catalogue, error) { return s.Catalogue(ctx) })
		if g.Settings != set || g.Catalogue != cat || len(g.Faults) != 0 {
			t.Errorf("gathered with %+v, %v", g.Settings, g.Faults)
		}
		for _, b := range g.Set.Batters {
			res, err := soap.Work(g.Formulas[b.ID].Doc.Formula, cat)
			if err != nil {
				t.Fatal(err)
			}
			if b.DensityGML != res.Batter.DensityGML || b.PotLossG != 15.5 || g.Results[b.ID].Batter != res.Batter {
				t.Errorf("batter %+v of %+v", b, res.Batter)
			}
			if b.ID == q.white && (len(b.Portions) != 2 || b.Portions[0].Colourants[0].Name == "" || b.Portions[0].Colourants[0].Name == "kaolin") {
				t.Errorf("portions: %+v", b.Portions)
			}
		}
		aRunOfWhatWasGathered(t, s, g, house.ID)

		// What is being typed stands in for what is kept, or beside it.
		typed := q.lighthouse("Lighthouse, typed", lamp.ID)
		typed.ID = house.ID
		g = gather(typed, house.ID)
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lantern house", "Lighthouse, typed", "Sea white", "Wet rock"}, keys(g)); diff != "" {
			t.Error(diff)
		}
		if v := g.Designs[house.ID]; v.N != 1 || v.Doc.Name != "Lighthouse, typed" {
			t.Errorf("typed: %+v", v)
		}
		fresh := &design.Design{Name: "Fresh", Mould: "not chosen", Parts: []design.Part{{Kind: design.Pour}, {Kind: design.Embed, Design: "nothing"},
			{Kind: design.Piping, Formula: q.dark}}}
		g = gather(fresh)
		if diff := cmp.Diff([]string{"Fresh", "Wet rock"}, keys(g)); diff != "" {
			t.Error(diff)
		}
		if v := g.Designs[studio.Unkept]; v.N != 0 || v.Doc.ID != studio.Unkept || fresh.ID != "" {
			t.Errorf("fresh: %+v; the caller's has the id %q", v, fresh.ID)
		}
		// One that embeds what embeds it comes to an end.
		ring := q.lighthouse("Lamp", house.ID)
		ring.ID = lamp.ID
		if g = gather(ring, house.ID); len(g.Set.Designs) != 3 {
			t.Errorf("a ring of %d", len(g.Set.Designs))
		}
		_, err := s.Gather(ctx, nil, house.ID, "nothing")
		refused(t, err, fault.NotFound, "design")
		if g = gather(nil); len(g.Set.Designs)+len(g.Set.Batters)+len(g.Set.Moulds) != 0 {
			t.Errorf("nothing asked for gathers %v", keys(g))
		}
		// All of it: what nothing stands on too, but not what was archived.
		if err := s.Designs.Archive(ctx, house.ID); err != nil {
			t.Fatal(describe(err))
		}
		all := must(t, func() (*studio.Gathered, error) { return s.GatherAll(ctx) })
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lamp room", "Lantern house", "Pebble", "Sea white", "Shelved", "Unused", "Wet rock"},
			keys(all)); diff != "" {
			t.Error(diff)
		}
		if err := errors.Join(s.Formulas.Archive(ctx, unused), s.Moulds.Archive(ctx, shelved)); err != nil {
			t.Fatal(describe(err))
		}
		all = must(t, func() (*studio.Gathered, error) { return s.GatherAll(ctx) })
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lamp room", "Lantern house", "Pebble", "Sea white", "Wet rock"}, keys(all)); diff != "" {
			t.Error(diff)
		}
		// A design that was archived can still be asked about.
		if g = gather(nil, house.ID); len(g.Set.Designs) != 3 {
			t.Errorf("of what was archived: %v", keys(g))
		}
	})
}

// gatheredNames are the names of all that was gathered, in the order of the
// alphabet. The maps and the set hold as many.
func gatheredNames(t *testing.T, g *studio.Gathered) (out []string) {
	t.Helper()
	for _, m := range g.Set.Moulds {
		out = append(out, m.Name)
	}
	for _, b := range g.Set.Batters {
		out = append(out, b.Name)
	}
	for _, d := range g.Set.Designs {
		out = append(out, d.Name)
	}
	if len(g.Moulds)+len(g.Formulas)+len(g.Designs) != len(out) || len(g.Results) != len(g.Set.Batters) {
		t.Errorf("the maps and the set differ: %d %d %d %d", len(g.Moulds), len(g.Formulas), len(g.Designs), len(g.Results))
	}
	slices.Sort(out)
	return out
}

// aRunOfWhatWasGathered takes what was gathered apart as it is, for 36 pieces of a
// house of a lamp room and a lamp, and makes a run from it.
func aRunOfWhatWasGathered(t *testing.T, s *studio.Studio, g *studio.Gathered, house string) {
	t.Helper()
	opt := design.Options{OveragePct: 3}
	need, err := design.Explode(g.Set, []design.Want{{Design: house, Pieces: 36}}, opt)
	if err != nil {
		t.Fatal(describe(err))
	}
	sheet, err := bench.NewRun(bench.RunInput{Need: need, Set: g.Set, Results: g.Results, Catalogue: g.Catalogue})
	if err != nil {
		t.Fatal(describe(err))
	}
	take := g.Making(need, opt, sheet.Batches)
	take.Working = []byte("{}")
	run := must(t, func() (studio.Run, error) { return s.MakeRun(t.Context(), take) })
	if asked := run.Asked(); len(asked) != 1 || asked[0].DesignID != house || asked[0].Pieces != 36 || asked[0].Made != 36 {
		t.Errorf("asked: %+v", asked)
	}
	// Each house takes a lamp room and a lamp, each lamp room a lamp.
	made := map[string]int{}
	for _, d := range run.Designs {
		made[d.Name] = d.Made
	}
	if diff := cmp.Diff(map[string]int{"Lighthouse": 36, "Lamp room": 36, "Lamp": 72}, made); diff != "" {
		t.Error(diff)
	}
	// The record has the batches of the sheet: a formula of two days twice.
	if len(run.Batches) <= len(need.Batches) || len(run.Batches) != len(sheet.Batches) || run.Batches[1].Code != "0001-B" || len(run.MouldIDs) != 2 {
		t.Errorf("run: %+v", run)
	}
	for i, b := range sheet.Batches {
		if r := run.Batches[i]; r.Code != bench.BatchCode(run.Code,
			b.Letter) || r.N != i+1 || r.FormulaID != b.Formula || r.Mass != quantity.Milligrams(math.Round(b.MassG*1000)) || r.FormulaName != b.Name {
			t.Errorf("batch %d is %+v in the record, and %s, %s, %g g on the sheet", i, r, b.Letter, b.Formula, b.MassG)
		}
	}
}

// A formula that an ingredient's change has made unworkable hinders no question
// about others.
func TestAFormulaThatCannotBeWorkedOutIsNamed(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		mash := catalogue.Entry{ID: "kelp-mash", Own: true, Name: "Kelp mash", Roles: []string{"liquid"}, WaterPct: quantity.Some(80),
			FatPct: quantity.Some(1), FatSAP: quantity.Some(190)}
		if err := s.PutIngredient(ctx, mash); err != nil {
			t.Fatal(describe(err))
		}
		f := lantern("Wet rock")
		f.Extras = []formula.Extra{{ID: "kelp-mash", Dose: 20, FatPct: quantity.Some(2)}}
		must(t, func() (studio.FormulaVersion, error) {
			return s.Formulas.Keep(ctx, q.dark, 1, studio.Formula{Formula: f, Kept: worked()}, "")
		})
		house := q.keep(t, q.lighthouse("Lighthouse"))
		gather := func() *studio.Gathered {
			return must(t, func() (*studio.Gathered, error) { return s.Gather(ctx, nil, house.ID) })
		}
		if g := gather(); len(g.Faults) != 0 || g.Results[q.dark].Batter.MassG <= 0 {
			t.Errorf("before: %v", g.Faults)
		}
		mash.FatPct, mash.FatSAP = quantity.Maybe{}, quantity.Maybe{}
		if err := s.PutIngredient(ctx, mash); err != nil {
			t.Fatal(describe(err))
		}
		g := gather()
		refused(t, g.Faults[q.dark], fault.Invalid, "extra.1.sap_mg_koh_g")
		if g.Results[q.dark] != nil || len(g.Set.Batters) != 1 || g.Formulas[q.dark].N != 2 {
			t.Errorf("batters %+v, formulas %+v", g.Set.Batters, g.Formulas)
		}
	})
}

// A colourant of a portion is in use as an extra of the formula is.
func TestAColourantInUseIsNotWithdrawn(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		quarried(t, s)
		if uses := uses(t, s, studio.KindIngredient, "kaolin"); len(uses) != 1 || !uses[0].As(studio.AsExtra) || uses[0].Name != "Sea white" {
			t.Errorf("kaolin is used in %+v", uses)
		}
		if p := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return s.Formulas.List(ctx, "kaolin", studio.Slice{})
		}); p.Total != 1 {
			t.Errorf("a search for kaolin finds %v", names(p))
		}
	})
}
