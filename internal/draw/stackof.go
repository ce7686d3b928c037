package draw

import (
	"cmp"
	"math"

	"barwright/design"
)

// StackOf is a piece of a design that was taken apart, for the drawing: amounts
// are of one cavity. The set has the design's mould, and the embeds with theirs.
func StackOf(s *design.Set, d *design.Design, piece *design.PieceNeed) StackInput {
	in := StackInput{Name: cmp.Or(d.Name, "This piece")}
	bars, cavity := 1.0, 0.0
	if m := s.Mould(d.Mould); m != nil {
		bars = float64(max(m.Bars(), 1))
		if v, err := m.Volume(); err == nil {
			cavity = v.Value
		}
	}
	for i := range piece.Parts {
		q, p := &piece.Parts[i], &d.Parts[i]
		part := StackPart{Kind: q.Kind, Label: cmp.Or(p.Name, p.Kind.String()), FromPct: atBrim(q.FromPct), ToPct: atBrim(q.ToPct),
			SunkPct: p.SunkPct, CoveredPct: p.CoveredPct}
		switch q.Kind {
		case design.Embed:
			part.Count = max(int(p.Count.Or(1)), 1)
			part.VolumeML = q.VolumeML * bars / float64(part.Count)
			if e := s.Design(p.Design); e != nil {
				part.Label = cmp.Or(p.Name, e.Name)
				part.Mould = s.Mould(e.Mould)
			}
		case design.Piping:
			part.VolumeML = q.VolumeML * bars
		}
		in.Parts = append(in.Parts, part)
	}
	if cavity > 0 {
		in.pushUp(cavity)
	}
	return in
}

// pushUp lets the embeds push the fill up one by one. The level of a pour counts
// what is sunk into it later; the drawing begins below that, and each embed that
// is sunk brings it nearer. cavity is its volume, mL.
func (in *StackInput) pushUp(cavity float64) {
	for i := range in.Parts {
		pour := &in.Parts[i]
		if !pour.Kind.Level() {
			continue
		}
		full, sunk := pour.ToPct, 0.0
		embeds := in.Parts[i+1:]
		for j := range embeds {
			if embeds[j].Kind.Level() {
				embeds = embeds[:j]
				break
			}
			sunk += embeds[j].sunkPct(cavity)
		}
		pour.ToPct = max(full-sunk, pour.FromPct)
		at := pour.ToPct
		for j := range embeds {
			if e := &embeds[j]; e.Kind == design.Embed {
				at = min(at+e.sunkPct(cavity), full)
				e.ToPct = at
			}
		}
	}
}

// sunkPct is how far the embeds of a part push the fill up, % of the cavity.
func (p *StackPart) sunkPct(cavity float64) float64 {
	if p.Kind != design.Embed {
		return 0
	}
	return p.VolumeML * float64(p.Count) * p.SunkPct / cavity
}

// atBrim takes a level that is the brim but for what binary numbers make of it
// for the brim.
func atBrim(pct float64) float64 {
	if math.Abs(pct-100) < 1e-6 {
		return 100
	}
	return pct
}
