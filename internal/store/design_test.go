package store_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/design"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
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
	q.mould = must(t, func() (studio.Mould, error) { return s.PutMould(t.Context(), loaf("Lantern house")) }).ID
	q.lamp = must(t, func() (studio.Mould, error) { return s.PutMould(t.Context(), loaf("Lamp")) }).ID
	white := lantern("Sea white")
	white.Portions = []formula.Portion{{Name: "sky", By: formula.ByShare, Amount: 30, Colourants: []formula.Colour{{ID: "kaolin", GPerKg: 12.3}}}, {Name: "foam", By: formula.ByRest}}
	q.white = mustKeepNew(t, s, white).FormulaID
	q.dark = mustKeepNew(t, s, lantern("Wet rock")).FormulaID
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
	return must(t, func() (studio.DesignVersion, error) { return q.studio.NewDesign(t.Context(), d, "") })
}

func designNames(p studio.Page[studio.Design]) []string {
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
		typed := q.lighthouse("  Storm   light ", lamp.DesignID)
		typed.ID = "of the form"
		v1 := must(t, func() (studio.DesignVersion, error) { return s.NewDesign(ctx, typed, "first\nof all") })
		want := q.lighthouse("Storm light", lamp.DesignID)
		want.ID = v1.DesignID
		if diff := cmp.Diff(want, v1.Design); diff != "" || v1.N != 1 || v1.Note != "first\nof all" || v1.DesignID == "" {
			t.Errorf("kept as %+v:\n%s", v1, diff)
		}
		if typed.ID != "of the form" || typed.Name != "  Storm   light " {
			t.Error("keeping changed the caller's design")
		}
		dimmed := q.lighthouse("Storm light, dimmed", lamp.DesignID)
		dimmed.Parts[0].FillToPct = quantity.Some(60)
		v2 := must(t, func() (studio.DesignVersion, error) { return s.KeepDesign(ctx, v1.DesignID, 1, dimmed, "") })
		again := opened(t, where)
		got := must(t, func() (studio.Design, error) { return again.Design(ctx, v1.DesignID) })
		if diff := cmp.Diff(studio.Design{ID: v1.DesignID, Name: "Storm light, dimmed", Newest: v2}, got); diff != "" {
			t.Error(diff)
		}
		all := must(t, func() ([]studio.DesignVersion, error) { return again.DesignVersions(ctx, v1.DesignID) })
		if diff := cmp.Diff([]studio.DesignVersion{v2, v1}, all); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(v1, must(t, func() (studio.DesignVersion, error) { return again.DesignVersion(ctx, v1.DesignID, 1) })); diff != "" {
			t.Error(diff)
		}
		// Its old name is free again; its new one is not.
		q.keep(t, q.lighthouse("STORM light"))
		_, err := s.NewDesign(ctx, q.lighthouse("storm LIGHT,  Dimmed"), "")
		refused(t, err, fault.Conflict, "name", "Storm light, dimmed")
		_, err = s.DesignVersion(ctx, v1.DesignID, 3)
		refused(t, err, fault.NotFound, "version", "no version 3")
		_, err = s.Design(ctx, "nothing")
		refused(t, err, fault.NotFound, "design")
		_, err = s.DesignVersions(ctx, "nothing")
		refused(t, err, fault.NotFound, "design")
	})
}
