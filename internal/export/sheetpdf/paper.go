package sheetpdf

import (
	"barwright/fault"
	"barwright/quantity"
)

// Paper is the size of the sheet.
type Paper uint8

const (
	// A4 is 210 × 297 mm, ISO 216.
	A4 Paper = iota
	// Letter is 8.5 × 11 in.
	Letter
)

// Size is the width and the height of the paper, mm.
func (p Paper) Size() (w, h float64) {
	if p == Letter {
		return 8.5 * quantity.MillimetresPerInch, 11 * quantity.MillimetresPerInch
	}
	return 210, 297
}

// String is the name of the paper: A4 or letter.
func (p Paper) String() string {
	if p == Letter {
		return "letter"
	}
	return "A4"
}

// ParsePaper reads a name as String writes it; "" means A4. Errors: fault.Invalid
// on "paper".
func ParsePaper(text string) (Paper, error) {
	switch text {
	case "", "A4", "a4":
		return A4, nil
	case "letter", "Letter":
		return Letter, nil
	}
	return A4, fault.Invalidf("paper", "There is no paper called %q here: use A4 or letter.", text)
}
