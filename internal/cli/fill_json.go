package cli

import (
	"barwright/design"
	"barwright/finding"
	"barwright/quantity"
)

// The object that fill --json prints. Its keys are stable and in this order; units
// are in the names; nothing is rounded. What does not exist is null.
type (
	filled struct {
		Design     string            `json:"design"`
		Pieces     int               `json:"pieces"`
		Cavities   []filledCavity    `json:"cavities"`
		PerPiece   []filledPart      `json:"per_piece"`
		Batches    []filledBatch     `json:"batches"`
		Embeds     []filledEmbed     `json:"embeds"`
		Items      []filledItem      `json:"items"`
		PieceMassG float64           `json:"piece_mass_g"` // sprinkles in, wraps not
		LeftG      quantity.Maybe    `json:"left_g"`       // of the pot given with --batter
		Findings   []finding.Finding `json:"findings"`
	}
	filledCavity struct {
		Mould    string  `json:"mould"`
		VolumeML float64 `json:"volume_ml"` // of one
		Needed   int     `json:"needed"`
		Rounds   int     `json:"rounds"`
	}
	filledPart struct {
		Design   string      `json:"design"`
		Part     int         `json:"part"` // from 1, within its design
		Kind     design.Kind `json:"kind"`
		Formula  *string     `json:"formula"`
		VolumeML float64     `json:"volume_ml"`
		MassG    float64     `json:"mass_g"`
	}
	filledBatch struct {
		Formula  string  `json:"formula"`
		VolumeML float64 `json:"volume_ml"`
		MassG    float64 `json:"mass_g"`
	}
	filledEmbed struct {
		Design string `json:"design"`
		Pieces int    `json:"pieces"`
	}
	filledItem struct {
		Item  string         `json:"item"`
		MassG quantity.Maybe `json:"mass_g"`
		Count quantity.Maybe `json:"count"`
	}
)

// pieces is how many pieces of the main design there are.
func pieces(n *design.Need) int {
	sum := 0
	for _, w := range n.Wants {
		sum += w.Pieces
	}
	return sum
}

// items are the things to set out, each once, for sprinkles and wraps together.
func items(n *design.Need) []filledItem {
	out := []filledItem{}
	at := map[string]int{}
	add := func(m *quantity.Maybe, v float64) {
		if v > 0 {
			*m = quantity.Some(m.V + v)
		}
	}
	for _, i := range n.Items {
		k, ok := at[i.Item]
		if !ok {
			k = len(out)
			at[i.Item] = k
			out = append(out, filledItem{Item: i.Item})
		}
		add(&out[k].MassG, i.MassG)
		add(&out[k].Count, i.Count)
	}
	return out
}

// filledObject is a need, for JSON.
func filledObject(f *design.File, n *design.Need) filled {
	o := filled{
		Design: f.Main, Pieces: pieces(n),
		Cavities:   objects(n.Cavities, func(c design.CavityNeed) filledCavity { return filledCavity{c.Mould, c.VolumeML, c.Needed, c.Rounds} }),
		PerPiece:   []filledPart{},
		Batches:    objects(n.Batches, func(b design.BatchNeed) filledBatch { return filledBatch{b.Formula, b.VolumeML, b.MassG} }),
		Embeds:     objects(n.Embeds, func(e design.EmbedNeed) filledEmbed { return filledEmbed{e.Design, e.Pieces} }),
		Items:      items(n),
		PieceMassG: pieceG(f, n),
		LeftG:      n.LeftG,
		Findings:   append([]finding.Finding{}, n.Findings...),
	}
	for _, p := range n.Pieces {
		for _, q := range p.Parts {
			part := filledPart{Design: p.Design, Part: q.Part, Kind: q.Kind, VolumeML: q.VolumeML, MassG: q.MassG}
			if q.Formula != "" {
				part.Formula = &q.Formula
			}
			o.PerPiece = append(o.PerPiece, part)
		}
	}
	return o
}
