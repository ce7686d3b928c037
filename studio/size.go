package studio

import (
	"fmt"
	"slices"

	"barwright/fault"
	"barwright/quantity"
)

// SizeBy says what the size of a batch was set by.
type SizeBy uint8

const (
	// ByFats: Size.FatsG of fats. It is the zero SizeBy.
	ByFats SizeBy = iota
	// ByBatter: Size.BatterG of batter.
	ByBatter
	// ByMould: Size.Pieces of the mould Size.MouldID.
	ByMould
)

var sizeByNames = [...]string{ByFats: "fats", ByBatter: "batter", ByMould: "mould"}

// String is the word in forms and in JSON: fats, batter, mould.
func (b SizeBy) String() string {
	if int(b) < len(sizeByNames) {
		return sizeByNames[b]
	}
	return fmt.Sprintf("SizeBy(%d)", uint8(b))
}

// MarshalText writes the word.
func (b SizeBy) MarshalText() ([]byte, error) {
	if int(b) >= len(sizeByNames) {
		return nil, fmt.Errorf("%v is no way to size a batch", b)
	}
	return []byte(b.String()), nil
}

// UnmarshalText reads the word.
func (b *SizeBy) UnmarshalText(t []byte) error {
	i := slices.Index(sizeByNames[:], string(t))
	if i < 0 {
		return fmt.Errorf("%q is none of fats, batter, mould", t)
	}
	*b = SizeBy(i)
	return nil
}

// Size is how large a batch is, as the maker set it. Only the fields of its By
// count.
type Size struct {
	By         SizeBy  `json:"by"`
	FatsG      float64 `json:"fats_g,omitzero"`      // mass of fats, g, above 0
	BatterG    float64 `json:"batter_g,omitzero"`    // mass of batter, g, above 0
	MouldID    string  `json:"mould_id,omitzero"`    // a mould of the studio
	Pieces     int     `json:"pieces,omitzero"`      // cavities to fill, from 1
	FillPct    float64 `json:"fill_pct,omitzero"`    // of a cavity's volume, in (0, 100]
	OveragePct float64 `json:"overage_pct,omitzero"` // batter beyond what the cavities take, %, in [0, 100]
}

// own is the size with no more than the fields of its By.
func (z Size) own() Size {
	if z.By != ByMould {
		return Size{By: z.By, FatsG: z.FatsG, BatterG: z.BatterG}
	}
	z.FatsG, z.BatterG = 0, 0
	return z
}

// Validate gives everything that is wrong with the size, each of kind Invalid
// on the field's JSON name.
func (z Size) Validate() fault.List {
	var l fault.List
	mass := func(field, what string, g float64) {
		if !(g > 0 && g <= 1e7) {
			l.Add(fault.Invalidf(field, "The mass of %s must be above 0 g and at most 10 t.", what))
		}
	}
	switch z.By {
	case ByFats:
		mass("fats_g", "fats", z.FatsG)
	case ByBatter:
		mass("batter_g", "batter", z.BatterG)
	case ByMould:
		if z.MouldID == "" {
			l.Add(fault.Invalidf("mould_id", "Choose the mould that the batch is for."))
		}
		if z.Pieces < 1 || z.Pieces > 100_000 {
			l.Add(fault.Invalidf("pieces", "Write how many pieces the batch is for, from 1 to 100 000."))
		}
		if !(z.FillPct > 0 && z.FillPct <= 100) {
			l.Add(fault.Invalidf("fill_pct", "The level in the mould must be above 0 and at most 100 %% of its volume."))
		}
		if !(quantity.Finite(z.OveragePct) && z.OveragePct >= 0 && z.OveragePct <= 100) {
			l.Add(fault.Invalidf("overage_pct", "The overage must be from 0 to 100 %% of what the moulds take."))
		}
	default:
		l.Add(fault.Invalidf("by", "Say what the batch is sized by: fats, batter or a mould."))
	}
	return l
}
