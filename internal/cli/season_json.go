package cli

import (
	"barwright/planner"
	"barwright/quantity"
	"barwright/season"
)

// seasoned is the object that season --json prints. Its keys are stable and in
// this order; nothing is rounded.
type seasoned struct {
	Format     string         `json:"format"`
	Cost       quantity.Maybe `json:"cost"`        // null where no plan was found
	LowerBound quantity.Maybe `json:"lower_bound"` // null where no plan is
	GapPct     quantity.Maybe `json:"gap_pct"`
	Seconds    float64        `json:"seconds"`
	Status     planner.Status `json:"status"`
	Plan       []seasonPour   `json:"plan"`
	Why        []seasonReason `json:"why,omitempty"`
	Misses     []seasonMiss   `json:"misses,omitempty"`
	Against    *seasonAgainst `json:"against,omitempty"`
}

// seasonShortage is a shortage in the season's JSON. Kind is lost, launch, safety
// or end; weeks count from 0, and an end stands in the last.
type seasonShortage struct {
	Item  string       `json:"item"`
	Week  int          `json:"week"`
	Units int          `json:"units"`
	Kind  season.Short `json:"kind"`
}

type seasonPour struct {
	Day     int    `json:"day"`
	Item    string `json:"item"`
	Batches int    `json:"batches"`
}

// seasonReason is why a pour is there.
type seasonReason struct {
	seasonPour
	Prevents []seasonShortage `json:"prevents"`
	// Strands are the pours that would lack this component.
	Strands []seasonPour `json:"strands"`
	Saves   float64      `json:"saves"`
}

// seasonMiss is what a plan leaves missing.
type seasonMiss struct {
	seasonShortage
	// Binding is what stands in the way: bench day, bench minutes, mould sets,
	// rack places, component stock, batches a day, lead time, pins, cost, or
	// nothing.
	Binding string `json:"binding"`
	// Of is the mould or the component that binds; "" for none.
	Of string `json:"of"`
	// Days are bench days on which it keeps one more batch out.
	Days []int `json:"days"`
	// More is what WorthAtLeast is the worth of, in words; null for nothing.
	More         *string `json:"more"`
	WorthAtLeast float64 `json:"worth_at_least"`
}

// seasonAgainst is how the plan printed differs from another.
type seasonAgainst struct {
	Cost float64 `json:"cost"` // of the other plan
	// Breaks are the rules that the other plan breaks, in words.
	Breaks     []string           `json:"breaks"`
	Difference float64            `json:"difference"` // the cost printed less Cost
	Parts      map[string]float64 `json:"parts"`      // Difference by what is paid for
	Changes    []seasonChange     `json:"changes"`
	Shortages  []seasonShift      `json:"shortages"`
}

// seasonChange is one step from the other plan to the one printed. From is null
// where batches are added, To where they are dropped.
type seasonChange struct {
	Item       string             `json:"item"`
	Batches    int                `json:"batches"`
	From       *int               `json:"from"`
	To         *int               `json:"to"`
	Difference float64            `json:"difference"`
	Parts      map[string]float64 `json:"parts"`
}

// seasonShift is a shortage that differs.
type seasonShift struct {
	seasonShortage
	Against int `json:"against"` // units missing under the other plan
}

// seasonObject is a season planned, for JSON.
func seasonObject(d *seasonAnswer) any {
	out := seasoned{Format: season.ResultFormat, Cost: d.Best, LowerBound: d.Bound, GapPct: d.Gap(),
		Seconds: d.Elapsed.Seconds(), Status: d.Status, Plan: []seasonPour{}}
	for _, x := range d.Plan {
		out.Plan = append(out.Plan, pourObject(d.in, x))
	}
	if d.against != nil {
		against := againstObject(d.in, d.against, d.breaks)
		out.Against = &against
	}
	if !d.explain {
		return out
	}
	// Explained, the two lists are there even when they are empty.
	return struct {
		seasoned
		Why    []seasonReason `json:"why"`
		Misses []seasonMiss   `json:"misses"`
	}{out, whyObjects(d.in, d.reasons), missObjects(d.in, d.missed)}
}

func shortageObject(in *season.Instance, s season.Shortage) seasonShortage {
	return seasonShortage{Item: in.Items[s.Item].ID, Week: s.Week, Units: s.Units, Kind: s.Kind}
}

func pourObject(in *season.Instance, p season.Pour) seasonPour {
	return seasonPour{Day: p.Day, Item: in.Items[p.Item].ID, Batches: p.Batches}
}

// whyObjects are the reasons of a plan for JSON; no list in it is null.
func whyObjects(in *season.Instance, reasons []season.Reason) []seasonReason {
	out := make([]seasonReason, len(reasons))
	for k, r := range reasons {
		o := seasonReason{seasonPour: pourObject(in, r.Pour), Prevents: []seasonShortage{}, Strands: []seasonPour{}, Saves: r.Saves}
		for _, s := range r.Prevents {
			o.Prevents = append(o.Prevents, shortageObject(in, s))
		}
		for _, p := range r.Strands {
			o.Strands = append(o.Strands, pourObject(in, p))
		}
		out[k] = o
	}
	return out
}

// missObjects are the misses of a plan for JSON; no list in it is null.
func missObjects(in *season.Instance, misses []season.Miss) []seasonMiss {
	out := make([]seasonMiss, len(misses))
	for k, m := range misses {
		o := seasonMiss{seasonShortage: shortageObject(in, m.Shortage), Binding: string(m.Binding.Rule), Days: m.Binding.Days, WorthAtLeast: m.WorthAtLeast}
		if m.Binding.Mould >= 0 {
			o.Of = in.Moulds[m.Binding.Mould].ID
		} else if m.Binding.Component >= 0 {
			o.Of = in.Items[m.Binding.Component].ID
		}
		if o.Days == nil {
			o.Days = []int{}
		}
		if m.More != nil {
			w := m.More.Words(in)
			o.More = &w
		}
		out[k] = o
	}
	return out
}

// againstObject is a comparison for JSON: a is the other plan, b the one printed.
func againstObject(in *season.Instance, d *season.Difference, broken []season.Breach) seasonAgainst {
	by := d.B.Minus(d.A)
	o := seasonAgainst{Cost: d.A.Total(), Breaks: []string{}, Difference: by.Total(), Parts: costParts(by),
		Changes: []seasonChange{}, Shortages: []seasonShift{}}
	for _, b := range broken {
		o.Breaks = append(o.Breaks, b.Words)
	}
	day := func(d int) *int {
		if d == season.NoDay {
			return nil
		}
		return &d
	}
	for _, c := range d.Changes {
		o.Changes = append(o.Changes, seasonChange{Item: in.Items[c.Item].ID, Batches: c.Batches, From: day(c.From), To: day(c.To),
			Difference: c.Cost.Total(), Parts: costParts(c.Cost)})
	}
	for _, s := range d.Shortages {
		o.Shortages = append(o.Shortages, seasonShift{
			shortageObject(in, season.Shortage{Item: s.Item, Week: s.Week, Units: s.B, Kind: s.Kind}), s.A})
	}
	return o
}

func costParts(c season.Cost) map[string]float64 {
	out := map[string]float64{}
	for _, p := range c.Parts() {
		out[p.Key] = p.Value
	}
	return out
}
