package store_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

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
	q.mould = must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(t.Context(), loaf("Lantern house")) }).ID
	q.lamp = must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(t.Context(), loaf("Lamp")) }).ID
	white := lantern("Sea white")
	white.Portions = []formula.Portion{{Name: "sky", By: formula.ByShare, Amount: 30, Colourants: []formula.Colour{{ID: "kaolin", GPerKg: 12.3}}}, {Name: "foam", By: formula.ByRest}}
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

func designNames(p studio.Page[studio.Record[*design.Design]]) []string {
	var out []string
	for _, d := range p.Items {
		out = append(out, d.Name)
	}
	return out
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
		if diff := cmp.Diff(want, v1.Design); diff != "" || v1.N != 1 || v1.Note != "first\nof all" || v1.ID == "" {
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
		if diff := cmp.Diff(studio.Design{ID: v1.ID, Name: "Storm light, dimmed", Newest: v2}, got); diff != "" {
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

func TestAnOlderBaseOfADesignIsAConflictAndLosesNothing(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		id := q.keep(t, q.lighthouse("Storm light")).ID
		lower := q.lighthouse("Storm light")
		lower.Parts[0].FillToPct = quantity.Some(60)
		v2 := must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, id, 1, lower, "lower") })
		higher := q.lighthouse("Storm light")
		higher.Parts[0].FillToPct = quantity.Some(90)
		_, err := s.Designs.Keep(ctx, id, 1, higher, "higher")
		refused(t, err, fault.Conflict, "", "Version 2", "version 1", "Nothing is lost")
		// The very same sent again, as by pressing twice, is the version that is there.
		if diff := cmp.Diff(v2, must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, id, 1, lower, "lower") })); diff != "" {
			t.Error(diff)
		}
		for _, base := range []int{0, -1, 3, math.MaxInt} {
			_, err = s.Designs.Keep(ctx, id, base, higher, "")
			refused(t, err, fault.NotFound, "base")
		}
		_, err = s.Designs.Keep(ctx, "nothing", 1, higher, "")
		refused(t, err, fault.NotFound, "design")
		if got := must(t, func() ([]studio.DesignVersion, error) { return s.Designs.Versions(ctx, id) }); len(got) != 2 {
			t.Errorf("%d versions after what was refused, want 2", len(got))
		}
	})
}

func TestWhatCannotBeMadeIsNotKept(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp")).ID
		v1 := q.keep(t, q.lighthouse("Storm light", lamp))
		awayFormula := mustKeepNew(t, s, lantern("Old batter")).ID
		awayMould := must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(ctx, loaf("Old loaf")) }).ID
		awayDesign := q.keep(t, q.lighthouse("Old light")).ID
		if err := errors.Join(s.Formulas.Archive(ctx, awayFormula), s.Moulds.Archive(ctx, awayMould), s.Designs.Archive(ctx, awayDesign)); err != nil {
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
			{"a mould put away", "mould", "“Old loaf” was put away", func(d *design.Design) { d.Mould = awayMould }},
			{"no parts", "part", "", func(d *design.Design) { d.Parts = nil }},
			{"a part without amount", "part.1.fill_to_pct", "", func(d *design.Design) { d.Parts[0].FillToPct = quantity.Maybe{} }},
			{"NaN", "part.1.fill_to_pct", "", func(d *design.Design) { d.Parts[0].FillToPct = quantity.Some(math.NaN()) }},
			{"an unknown formula", "part.1.formula", "no such formula", func(d *design.Design) { d.Parts[0].Formula, d.Parts[0].Portion = "nothing", "" }},
			{"a formula put away", "part.3.formula", "“Old batter” was put away", func(d *design.Design) { d.Parts[2].Formula = awayFormula }},
			{"an unknown portion", "part.1.portion", "no portion called “mud”", func(d *design.Design) { d.Parts[0].Portion = "mud" }},
			{"a portion of another", "part.3.portion", "no portion called “sky”", func(d *design.Design) { d.Parts[2].Portion = "sky" }},
			{"an unknown embed", "part.2.design", "no such design", func(d *design.Design) { d.Parts[1].Design = "nothing" }},
			{"an embed put away", "part.2.design", "“Old light” was put away", func(d *design.Design) { d.Parts[1].Design = awayDesign }},
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
		refused(t, err, fault.Invalid, "note")
		if p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
			return s.Designs.List(ctx, "", studio.Slice{})
		}); p.Total != 2 {
			t.Errorf("kept after all: %v", designNames(p))
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
			return s.Designs.Keep(ctx, house, 1, q.lighthouse("Lighthouse", room), "")
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

func TestWhatADesignStandsOnIsNotPutAway(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp")).ID
		house := q.keep(t, q.lighthouse("Lighthouse", lamp)).ID
		uses := func(kind studio.BuiltOn, id string) []studio.Use {
			return must(t, func() ([]studio.Use, error) { return s.Uses(ctx, kind, id) })
		}
		want := []studio.Use{{DesignID: lamp, Name: "Lamp", N: 1, Newest: true}, {DesignID: house, Name: "Lighthouse", N: 1, Newest: true}}
		for _, on := range []struct {
			kind studio.BuiltOn
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
		refused(t, s.Formulas.Archive(ctx, q.white), fault.Conflict, "", "“Sea white” cannot be put away", "“Lamp” and “Lighthouse”", "another formula")
		refused(t, s.Moulds.Archive(ctx, q.mould), fault.Conflict, "", "“Lantern house”", "“Lamp” and “Lighthouse”", "another mould")
		refused(t, s.Designs.Archive(ctx, lamp), fault.Conflict, "", "“Lamp” cannot", "used in “Lighthouse”", "another design")
		// What only an older version, or a design put away, stands on may go.
		must(t, func() (studio.DesignVersion, error) {
			return s.Designs.Keep(ctx, house, 1, q.lighthouse("Lighthouse"), "")
		})
		if diff := cmp.Diff([]studio.Use{{DesignID: house, Name: "Lighthouse", N: 1}}, uses(studio.KindDesign, lamp)); diff != "" {
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
			t.Errorf("put away: %v", designNames(away))
		}
		_, err := s.Designs.Keep(ctx, lamp, 1, q.lighthouse("Lamp"), "again")
		refused(t, err, fault.Conflict, "", "put away")
		if err := errors.Join(s.Formulas.Archive(ctx, q.white), s.Moulds.Archive(ctx, q.mould)); err != nil {
			t.Fatal(describe(err))
		}
		refused(t, s.Designs.BringBack(ctx, lamp), fault.Conflict, "", "the formula “Sea white” and the mould “Lantern house”", "Bring that back")
		_, err = s.Designs.Duplicate(ctx, lamp, 0, "Lantern")
		refused(t, err, fault.Invalid, "mould", "put away")
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

// One maker keeps a design on a formula while another puts the formula away: one
// of the two is refused, whichever comes second.
func TestAFormulaIsNotPutAwayFromUnderADesign(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		for round := range 8 {
			f := mustKeepNew(t, s, lantern(fmt.Sprintf("Batter %d", round))).ID
			d := q.lighthouse(fmt.Sprintf("Light %d", round))
			d.Parts[1].Formula = f
			kept, away := make(chan error, 1), make(chan error, 1)
			go func() {
				_, err := s.Designs.New(context.Background(), d, "")
				kept <- err
			}()
			go func() { away <- other.Formulas.Archive(context.Background(), f) }()
			keeping, putting := <-kept, <-away
			switch {
			case keeping == nil && putting == nil:
				t.Fatal("a formula was put away from under a design")
			case keeping == nil:
				refused(t, putting, fault.Conflict, "", d.Name)
			case putting == nil:
				refused(t, keeping, fault.Invalid, "part.2.formula", "put away")
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
		if diff := cmp.Diff(want, d.Design); diff != "" || d.N != 1 || d.ID == v1.ID || d.Note != "From “Storm light”, version 1." {
			t.Errorf("the duplicate is %+v:\n%s", d, diff)
		}
		got := must(t, func() (studio.Record[*design.Design], error) { return s.Designs.Get(ctx, d.ID) })
		if got.FromID != v1.ID || got.FromN != 1 {
			t.Errorf("the duplicate comes from %q version %d", got.FromID, got.FromN)
		}
		newest := must(t, func() (studio.DesignVersion, error) { return s.Designs.Duplicate(ctx, v1.ID, 0, "Low light") })
		if newest.Design.Parts[0].FillToPct != quantity.Some(60) {
			t.Errorf("a duplicate of the newest is filled to %v", newest.Design.Parts[0].FillToPct)
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
			got = append(got, designNames(p)...)
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
			t.Errorf("a page beyond the last: %v", designNames(p))
		}
		for query, want := range map[string]int{"": 12, "creme": 1, "PEBBLE 1": 3, "1 pebble": 3, "gorse": 1, "größe beads": 1, "sea": 11, "0%": 1, "_": 1, "!": 1,
			"'; DROP TABLE design; --": 0, "pebble creme": 0, "\x00\xff": 12, strings.Repeat("x ", 2000): 0} {
			if p := must(t, func() (studio.Page[studio.Record[*design.Design]], error) {
				return s.Designs.List(ctx, query, studio.Slice{})
			}); p.Total != want {
				t.Errorf("%q finds %v, want %d", query, designNames(p), want)
			}
		}
	})
}

// Six makers keep versions of one design at once: every number is given once.
func TestOneWinnerPerDesignVersion(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		const goroutines, each = 6, 6
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		id := q.keep(t, q.lighthouse("Storm light")).ID
		type ack struct {
			n   int
			pct float64
		}
		acks, done := make(chan ack, goroutines*each), make(chan int, goroutines)
		for g := range goroutines {
			mine := s
			if g%2 == 1 {
				mine = other
			}
			go func() {
				lost := 0
				defer func() { done <- lost }()
				for i := 0; i < each; {
					now, err := mine.Design(context.Background(), id)
					if err != nil {
						t.Error(describe(err))
						return
					}
					d := q.lighthouse("Storm light")
					d.Parts[0].FillToPct = quantity.Some(float64(10 + g*10 + i))
					v, err := mine.Designs.Keep(context.Background(), id, now.Newest.N, d, "")
					if err != nil && fault.KindOf(err) == fault.Conflict {
						lost++
						continue
					}
					if err != nil {
						t.Error(describe(err))
						return
					}
					acks <- ack{v.N, d.Parts[0].FillToPct.V}
					i++
				}
			}()
		}
		lost := 0
		for range goroutines {
			lost += <-done
		}
		close(acks)
		if lost == 0 {
			t.Error("nobody ever came between: this test has tested nothing")
		}
		got := must(t, func() ([]studio.DesignVersion, error) { return s.Designs.Versions(t.Context(), id) })
		seen := map[int]float64{}
		for a := range acks {
			if _, twice := seen[a.n]; twice {
				t.Errorf("version %d was given twice", a.n)
			}
			seen[a.n] = a.pct
		}
		if len(got) != goroutines*each+1 || len(seen) != goroutines*each {
			t.Fatalf("%d versions, %d acknowledged; want %d and %d", len(got), len(seen), goroutines*each+1, goroutines*each)
		}
		for _, v := range got[:len(got)-1] {
			if seen[v.N] != v.Design.Parts[0].FillToPct.V {
				t.Errorf("version %d is filled to %v; its keeper was told %v", v.N, v.Design.Parts[0].FillToPct, seen[v.N])
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
		shelved := must(t, func() (studio.Record[mould.Mould], error) { return s.PutMould(ctx, loaf("Shelved")) }).ID
		gather := func(extra *design.Design, ids ...string) *studio.Gathered {
			return must(t, func() (*studio.Gathered, error) { return s.Gather(ctx, extra, ids...) })
		}
		keys := func(g *studio.Gathered) (out []string) {
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
			res, err := soap.Work(g.Formulas[b.ID].Formula, cat)
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
		// It can be taken apart as it is, and a run taken down from it.
		opt := design.Options{OveragePct: 3}
		need, err := design.Explode(g.Set, []design.Want{{Design: house.ID, Pieces: 36}}, opt)
		if err != nil {
			t.Fatal(describe(err))
		}
		sheet, err := bench.NewRun(bench.RunInput{Need: need, Set: g.Set, Results: g.Results, Catalogue: cat})
		if err != nil {
			t.Fatal(describe(err))
		}
		take := g.Taking(need, opt, sheet.Batches)
		take.Working = []byte("{}")
		run := must(t, func() (studio.Run, error) { return s.TakeDownRun(ctx, take) })
		if asked := run.Asked(); len(asked) != 1 || asked[0].ID != house.ID || asked[0].Pieces != 36 || asked[0].Made != 36 {
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
		if len(run.Batches) <= len(need.Batches) || len(run.Batches) != len(sheet.Batches) || run.BatchCode(run.Batches[1]) != "0001-B" || len(run.MouldIDs) != 2 {
			t.Errorf("run: %+v", run)
		}
		for i, b := range sheet.Batches {
			if r := run.Batches[i]; r.Letter != b.Letter || r.ID != b.Formula || r.MassG != b.MassG || r.FormulaName != b.Name {
				t.Errorf("batch %d is %+v in the record, and %s, %s, %g g on the sheet", i, r, b.Letter, b.Formula, b.MassG)
			}
		}

		// What is being typed stands in for what is kept, or beside it.
		typed := q.lighthouse("Lighthouse, typed", lamp.ID)
		typed.ID = house.ID
		g = gather(typed, house.ID)
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lantern house", "Lighthouse, typed", "Sea white", "Wet rock"}, keys(g)); diff != "" {
			t.Error(diff)
		}
		if v := g.Designs[house.ID]; v.N != 1 || v.Design.Name != "Lighthouse, typed" {
			t.Errorf("typed: %+v", v)
		}
		fresh := &design.Design{Name: "Fresh", Mould: "not chosen", Parts: []design.Part{{Kind: design.Pour}, {Kind: design.Embed, Design: "nothing"}, {Kind: design.Piping, Formula: q.dark}}}
		g = gather(fresh)
		if diff := cmp.Diff([]string{"Fresh", "Wet rock"}, keys(g)); diff != "" {
			t.Error(diff)
		}
		if v := g.Designs[studio.Unkept]; v.N != 0 || v.Design.ID != studio.Unkept || fresh.ID != "" {
			t.Errorf("fresh: %+v; the caller's has the id %q", v, fresh.ID)
		}
		// One that embeds what embeds it comes to an end.
		ring := q.lighthouse("Lamp", house.ID)
		ring.ID = lamp.ID
		if g = gather(ring, house.ID); len(g.Set.Designs) != 3 {
			t.Errorf("a ring of %d", len(g.Set.Designs))
		}
		_, err = s.Gather(ctx, nil, house.ID, "nothing")
		refused(t, err, fault.NotFound, "design")
		if g = gather(nil); len(g.Set.Designs)+len(g.Set.Batters)+len(g.Set.Moulds) != 0 {
			t.Errorf("nothing asked for gathers %v", keys(g))
		}
		// All of it: what nothing stands on too, what was put away not.
		if err := s.Designs.Archive(ctx, house.ID); err != nil {
			t.Fatal(describe(err))
		}
		all := must(t, func() (*studio.Gathered, error) { return s.GatherAll(ctx) })
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lamp room", "Lantern house", "Pebble", "Sea white", "Shelved", "Unused", "Wet rock"}, keys(all)); diff != "" {
			t.Error(diff)
		}
		if err := errors.Join(s.Formulas.Archive(ctx, unused), s.Moulds.Archive(ctx, shelved)); err != nil {
			t.Fatal(describe(err))
		}
		all = must(t, func() (*studio.Gathered, error) { return s.GatherAll(ctx) })
		if diff := cmp.Diff([]string{"Lamp", "Lamp", "Lamp room", "Lantern house", "Pebble", "Sea white", "Wet rock"}, keys(all)); diff != "" {
			t.Error(diff)
		}
		// A design that was put away can still be asked about.
		if g = gather(nil, house.ID); len(g.Set.Designs) != 3 {
			t.Errorf("of what was put away: %v", keys(g))
		}
	})
}

// A formula that an ingredient's change has made unworkable hinders no question
// about others.
func TestAFormulaThatCannotBeWorkedOutIsNamed(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		mash := catalogue.Entry{ID: "kelp-mash", Own: true, Name: "Kelp mash", Roles: []string{"liquid"}, WaterPct: quantity.Some(80), FatPct: quantity.Some(1), FatSAP: quantity.Some(190)}
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

func TestARunIsTakenDownOnceInOneSequenceWithSheets(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp"))
		house := q.keep(t, q.lighthouse("Lighthouse", lamp.ID))
		sheet := func() studio.Sheet {
			return must(t, func() (studio.Sheet, error) {
				return s.TakeDown(ctx, studio.Taking{FormulaID: q.dark, N: 1, Working: []byte("{}"), Size: studio.Size{FatsG: 500}})
			})
		}
		set := studio.DefaultSettings()
		set.TimeZone = "Pacific/Kiritimati"
		if err := s.PutSettings(ctx, set); err != nil {
			t.Fatal(describe(err))
		}
		form := studio.RunTaking{
			ID: studio.NewID(), OveragePct: 0.1 + 0.2, Stock: map[string]int{lamp.ID: 4},
			Designs:  []studio.RunDesign{{DesignID: house.ID, N: 1, Pieces: 36, Made: 36}, {DesignID: lamp.ID, N: 1, Made: 32}},
			Batches:  []studio.RunBatch{{FormulaID: q.white, N: 1, MassG: 4120.000000000001}, {FormulaID: q.dark, N: 1, MassG: 1 / 3.0}},
			MouldIDs: []string{q.mould, q.lamp, q.mould}, Working: []byte(`{"pieces": 36, "note": "ø"}`),
		}
		sheet()
		first := must(t, func() (studio.Run, error) { return s.TakeDownRun(ctx, form) })
		moulds := []string{q.mould, q.lamp}
		slices.Sort(moulds)
		want := studio.Run{
			ID: form.ID, Code: "0002", Date: first.TakenAt.In(set.Location()).Format(time.DateOnly), TakenAt: first.TakenAt, OveragePct: form.OveragePct, Stock: form.Stock,
			Designs:  []studio.RunDesign{{DesignID: house.ID, N: 1, Name: "Lighthouse", Pieces: 36, Made: 36}, {DesignID: lamp.ID, N: 1, Name: "Lamp", Made: 32}},
			Batches:  []studio.RunBatch{{Letter: "A", FormulaID: q.white, N: 1, FormulaName: "Sea white", MassG: 4120.000000000001}, {Letter: "B", FormulaID: q.dark, N: 1, FormulaName: "Wet rock", MassG: 1 / 3.0}},
			MouldIDs: moulds, Working: form.Working,
		}
		if diff := cmp.Diff(want, first); diff != "" {
			t.Error(diff)
		}
		// The form sent twice is one run, byte for byte; so it reads back, by a batch's code too.
		if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return s.TakeDownRun(ctx, form) })); diff != "" {
			t.Error(diff)
		}
		for _, code := range []string{"0002", "0002-A", "0002-B"} {
			if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return opened(t, where).Run(ctx, code) })); diff != "" {
				t.Error(diff)
			}
		}
		if got := sheet(); got.Code != "0003" {
			t.Errorf("the sheet after the run is %s", got.Code)
		}
		// Putting all of it away leaves the run, and more can be taken down.
		if err := errors.Join(s.Designs.Archive(ctx, house.ID), s.Designs.Archive(ctx, lamp.ID), s.Formulas.Archive(ctx, q.white), s.Moulds.Archive(ctx, q.mould)); err != nil {
			t.Fatal(describe(err))
		}
		form.ID, form.Designs, form.Batches = "", form.Designs[:1], nil
		for range 30 {
			form.Batches = append(form.Batches, studio.RunBatch{FormulaID: q.white, N: 1, MassG: float64(len(form.Batches) + 1)})
		}
		many := must(t, func() (studio.Run, error) { return s.TakeDownRun(ctx, form) })
		again := must(t, func() (studio.Run, error) { return s.Run(ctx, "0004-AD") })
		if diff := cmp.Diff(many, again); diff != "" || again.Batches[29].Letter != "AD" {
			t.Error(diff)
		}
		page := must(t, func() (studio.Page[studio.Taken], error) { return s.TakenDown(ctx, studio.Slice{Size: 3}) })
		var codes []string
		for _, x := range page.Items {
			codes = append(codes, x.Code())
		}
		if diff := cmp.Diff([]string{"0004", "0003", "0002"}, codes); diff != "" || page.Total != 4 || page.Pages() != 2 {
			t.Errorf("%d in all:\n%s", page.Total, diff)
		}
		if page.Items[0].Run == nil || page.Items[0].Run.Working != nil || len(page.Items[0].Run.Batches) != 30 || page.Items[1].Sheet == nil || page.Items[1].Sheet.Working != nil {
			t.Errorf("taken down: %+v", page.Items)
		}
		if page := must(t, func() (studio.Page[studio.Taken], error) { return s.TakenDown(ctx, studio.Slice{Number: 2, Size: 3}) }); len(page.Items) != 1 || page.Items[0].Code() != "0001" {
			t.Errorf("second page: %+v", page)
		}
		if page := must(t, func() (studio.Page[studio.Taken], error) { return s.TakenDown(ctx, studio.Slice{Number: 9}) }); len(page.Items) != 0 || page.Total != 4 {
			t.Errorf("a page beyond the last: %+v", page)
		}
		runs := must(t, func() (studio.Page[studio.Run], error) { return s.Runs(ctx, studio.Slice{Size: 1}) })
		if runs.Total != 2 || len(runs.Items) != 1 || runs.Items[0].Code != "0004" || len(runs.Items[0].Designs) != 1 {
			t.Errorf("runs: %+v", runs)
		}
		for id, want := range map[string]int{house.ID: 2, lamp.ID: 1, "nothing": 0} {
			if runs := must(t, func() (studio.Page[studio.Run], error) { return s.RunsOf(ctx, id, studio.Slice{}) }); runs.Total != want || len(runs.Items) != want {
				t.Errorf("runs of %s: %+v", id, runs)
			}
		}

		for _, c := range []struct {
			kind  fault.Kind
			field string
			spoil func(*studio.RunTaking)
		}{
			{fault.Invalid, "overage_pct", func(r *studio.RunTaking) { r.OveragePct = math.NaN() }},
			{fault.Invalid, "stock", func(r *studio.RunTaking) { r.Stock = map[string]int{lamp.ID: -1} }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Designs = nil }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Designs = []studio.RunDesign{{DesignID: house.ID, N: 1, Made: 3}} }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Designs[0].Pieces = 1e9 }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Designs = append(r.Designs, r.Designs[0]) }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Batches[0].MassG = math.Inf(1) }},
			{fault.Invalid, "pieces", func(r *studio.RunTaking) { r.Batches[0].MassG = 0 }},
			{fault.Internal, "", func(r *studio.RunTaking) { r.Working = []byte("{") }},
			{fault.NotFound, "design", func(r *studio.RunTaking) { r.Designs[0].ID = "nothing" }},
			{fault.NotFound, "version", func(r *studio.RunTaking) { r.Designs[0].N = 2 }},
			{fault.NotFound, "formula", func(r *studio.RunTaking) { r.Batches[0].ID = "nothing" }},
			{fault.NotFound, "version", func(r *studio.RunTaking) { r.Batches[0].N = 2 }},
			{fault.NotFound, "mould", func(r *studio.RunTaking) { r.MouldIDs = []string{"nothing"} }},
		} {
			bad := form
			bad.ID, bad.Designs, bad.Batches = studio.NewID(), slices.Clone(form.Designs), slices.Clone(form.Batches)
			c.spoil(&bad)
			_, err := s.TakeDownRun(ctx, bad)
			refused(t, err, c.kind, c.field)
		}
		for _, code := range []string{"0001", "0009", "0002-C", "0002-", "", "-"} {
			_, err := s.Run(ctx, code)
			refused(t, err, fault.NotFound, "code", code)
		}
		_, err := s.Sheet(ctx, "0002")
		refused(t, err, fault.NotFound, "code")
		if page := must(t, func() (studio.Page[studio.Taken], error) { return s.TakenDown(ctx, studio.Slice{}) }); page.Total != 4 {
			t.Errorf("%d taken down after what was refused, want 4", page.Total)
		}
	})
}

// Sheets and runs taken down at once get codes that are all different and have
// no gap.
func TestSheetsAndRunsShareTheirCodes(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		house := q.keep(t, q.lighthouse("Lighthouse"))
		const n = 12
		codes := make(chan string, n)
		for i := range n {
			mine := s
			if i/2%2 == 1 {
				mine = other
			}
			go func() {
				if i%2 == 0 {
					sheet, err := mine.TakeDown(context.Background(), studio.Taking{FormulaID: q.dark, N: 1, Working: []byte("{}"), Size: studio.Size{FatsG: 500}})
					if err != nil {
						t.Error(describe(err))
					}
					codes <- sheet.Code
					return
				}
				run, err := mine.TakeDownRun(context.Background(), studio.RunTaking{Designs: []studio.RunDesign{{DesignID: house.ID, N: 1, Pieces: 1, Made: 1}}, Working: []byte("{}")})
				if err != nil {
					t.Error(describe(err))
				}
				codes <- run.Code
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

// A colourant of a portion is in use as an extra of the formula is.
func TestAColourantInUseIsNotWithdrawn(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		quarried(t, s)
		uses := must(t, func() ([]studio.Use, error) { return s.UsedIn(ctx, "kaolin") })
		if len(uses) != 1 || !uses[0].AsExtra || uses[0].Name != "Sea white" {
			t.Errorf("kaolin is used in %+v", uses)
		}
		if p := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return s.Formulas.List(ctx, "kaolin", studio.Slice{})
		}); p.Total != 1 {
			t.Errorf("a search for kaolin finds %v", names(p))
		}
	})
}
