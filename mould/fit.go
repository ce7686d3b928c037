package mould

import (
	"math"

	"barwright/fault"
	"barwright/quantity"
)

// maxPieces limits a run, so that a typing error does not ask for a lake.
const maxPieces = 100_000

// Fill is how cavities are filled.
type Fill struct {
	Pct        float64 // of the cavity's volume, in (0, 100]
	OveragePct float64 // added to what the pieces hold, in [0, 100]
	PotLossML  float64 // stays in the pot, once per batch, at least 0
}

// Fit is what an amount of batter fills.
type Fit struct {
	Pieces  int     // whole pieces
	LeftML  float64 // what remains, apart from overage and what stays in the pot
	PieceML float64 // in each piece
	Rounds  int     // how many times every set is filled; 0 for no piece
}

func (f Fill) check() fault.List {
	var l fault.List
	if !(f.Pct > 0 && f.Pct <= 100) {
		l.Add(fault.Invalidf("fill_pct", "Cavities cannot be filled to %s: write more than 0, and 100 at most.", quantity.Percent(f.Pct, 1)))
	}
	if !(f.OveragePct >= 0 && f.OveragePct <= 100) {
		l.Add(fault.Invalidf("overage_pct", "The overage (%s) is outside 0 to 100 %%: write a number in that range.", quantity.Percent(f.OveragePct, 1)))
	}
	if !(f.PotLossML >= 0 && f.PotLossML <= 1e6) {
		l.Add(fault.Invalidf("pot_loss_ml", "%s cannot stay in a pot: write 0 or more.", quantity.Volume(f.PotLossML, quantity.Millilitre, 1)))
	}
	return l
}

// BatterFor is how much batter, mL, a number of pieces needs:
//
//	pieces × filled volume × (1 + overage) + what stays in the pot
//
// Errors: what Validate gives; fault.Invalid on field "pieces", "fill_pct",
// "overage_pct" or "pot_loss_ml".
func (m Mould) BatterFor(pieces int, f Fill) (float64, error) {
	l := append(m.Validate(), f.check()...)
	if pieces < 1 || pieces > maxPieces {
		l.Add(fault.Invalidf("pieces", "%d pieces cannot be poured: write 1 to %s.", pieces, quantity.Number(maxPieces, 0)))
	}
	if err := l.Err(); err != nil {
		return 0, err
	}
	v, err := m.Volume()
	if err != nil {
		return 0, err
	}
	return float64(pieces)*v.Value*f.Pct/100*(1+f.OveragePct/100) + f.PotLossML, nil
}

// Pieces is how many pieces an amount of batter, mL, fills, and what remains. A
// batter that is less than a millionth of a piece short of a whole one fills
// it, so that the result of BatterFor gives the same number back.
//
// Errors: what Validate gives; fault.Invalid on field "batter_ml", "fill_pct",
// "overage_pct" or "pot_loss_ml".
func (m Mould) Pieces(batterML float64, f Fill) (Fit, error) {
	l := append(m.Validate(), f.check()...)
	if !(batterML >= 0 && batterML <= 1e9) {
		l.Add(fault.Invalidf("batter_ml", "%s of batter cannot be poured: write 0 or more.", quantity.Volume(batterML, quantity.Millilitre, 1)))
	}
	if err := l.Err(); err != nil {
		return Fit{}, err
	}
	v, err := m.Volume()
	if err != nil {
		return Fit{}, err
	}
	fit := Fit{PieceML: v.Value * f.Pct / 100}
	pour := batterML - f.PotLossML
	if pour <= 0 {
		return fit, nil
	}
	each := fit.PieceML * (1 + f.OveragePct/100)
	n := math.Floor(pour/each + 1e-6)
	if n > maxPieces {
		return Fit{}, fault.Invalidf("batter_ml", "%s would fill more than %s pieces: check the number.",
			quantity.Volume(batterML, quantity.Millilitre, 0), quantity.Number(maxPieces, 0))
	}
	fit.Pieces = int(n)
	fit.LeftML = math.Max(0, pour-n*each)
	fit.Rounds = m.Rounds(fit.Pieces)
	return fit, nil
}

// Rounds is how many times the sets must be filled for that many pieces. It is
// 0 for no pieces and for a mould without cavities.
func (m Mould) Rounds(pieces int) int {
	all := m.All()
	if pieces <= 0 || all <= 0 {
		return 0
	}
	return (pieces + all - 1) / all
}
