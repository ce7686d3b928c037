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
	Against    *seasonAgainst `json:"against,omitempty"`
	Why        []seasonReason `json:"why,omitzero"` // where it is explained, these two are there even when they are empty
	Misses     []seasonMiss   `json:"misses,omitzero"`
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
func seasonObject(d *seasonAnswer) seasoned {
	pour := func(p season.Pour) seasonPour { return seasonPour{p.Day, d.in.Items[p.Item].ID, p.Batches} }
	shortage := func(s season.Shortage) seasonShortage {
		return seasonShortage{d.in.Items[s.Item].ID, s.Week, s.Units, s.Kind}
	}
	o := seasoned{Format: season.ResultFormat, Cost: d.Best, LowerBound: d.Bound, GapPct: d.Gap(),
		Seconds: d.Elapsed.Seconds(), Status: d.Status, Plan: objects(d.Plan, pour)}
	if d.against != nil {
		o.Against = againstObject(d.in, d.against, d.breaks)
	}
	if d.explain {
		o.Why = objects(d.reasons, func(r season.Reason) seasonReason {
			return seasonReason{pour(r.Pour), objects(r.Prevents, shortage), objects(r.Strands, pour), r.Saves}
		})
		o.Misses = objects(d.missed, func(m season.Miss) seasonMiss { return missObject(d.in, m, shortage(m.Shortage)) })
	}
	return o
}

func missObject(in *season.Instance, m season.Miss, missing seasonShortage) seasonMiss {
	o := seasonMiss{seasonShortage: missing, Binding: string(m.Binding.Rule), Days: append([]int{}, m.Binding.Days...), WorthAtLeast: m.WorthAtLeast}
	if m.Binding.Mould >= 0 {
		o.Of = in.Moulds[m.Binding.Mould].ID
	} else if m.Binding.Component >= 0 {
		o.Of = in.Items[m.Binding.Component].ID
	}
	if m.More != nil {
		w := m.More.Words(in)
		o.More = &w
	}
	return o
}

// againstObject is a comparison for JSON: a is the other plan, b the one printed.
func againstObject(in *season.Instance, d *season.Difference, broken []season.Breach) *seasonAgainst {
	by := d.B.Minus(d.A)
	day := func(d int) *int {
		if d == season.NoDay {
			return nil
		}
		return &d
	}
	return &seasonAgainst{
		Cost: d.A.Total(), Difference: by.Total(), Parts: costParts(by),
		Breaks: objects(broken, func(b season.Breach) string { return b.Words }),
		Changes: objects(d.Changes, func(c season.Change) seasonChange {
			return seasonChange{in.Items[c.Item].ID, c.Batches, day(c.From), day(c.To), c.Cost.Total(), costParts(c.Cost)}
		}),
		Shortages: objects(d.Shortages, func(s season.ShortageChange) seasonShift {
			return seasonShift{seasonShortage{in.Items[s.Item].ID, s.Week, s.B, s.Kind}, s.A}
		}),
	}
}

func costParts(c season.Cost) map[string]float64 {
	out := map[string]float64{}
	for _, p := range c.Parts() {
		out[p.Key] = p.Value
	}
	return out
}
