package cli

import (
	"bytes"
	"encoding/json"
	"math"

	"barwright/fault"
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
	Status     string         `json:"status"`
	Plan       []seasonPour   `json:"plan"`
	Why        []seasonReason `json:"why,omitempty"`
	Misses     []seasonMiss   `json:"misses,omitempty"`
	Against    *seasonAgainst `json:"against,omitempty"`
}

func seasonObject(in *season.Instance, p *planned, o seasoning) ([]byte, error) {
	out := seasoned{Format: season.ResultFormat, Seconds: p.seconds, Status: p.status(), Plan: []seasonPour{}}
	if p.found {
		out.Cost = quantity.Some(p.cost)
	}
	if !math.IsInf(p.bound, 0) {
		out.LowerBound = quantity.Some(p.bound)
	}
	if gap, ok := p.gap(); ok {
		out.GapPct = quantity.Some(gap)
	}
	for _, x := range p.plan {
		out.Plan = append(out.Plan, pourObject(in, x))
	}
	if p.against != nil {
		against := againstObject(in, p.against, p.breaks)
		out.Against = &against
	}
	var v any = out
	if o.explain {
		// Explained, the two lists stand there even when they are empty.
		v = struct {
			seasoned
			Why    []seasonReason `json:"why"`
			Misses []seasonMiss   `json:"misses"`
		}{out, whyObjects(in, p.reasons), missObjects(in, p.missed)}
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return nil, &fault.Error{Message: "the sums gave a number that is none: please report this file", Err: err}
	}
	return b.Bytes(), nil
}
