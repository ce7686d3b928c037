package bench

import (
	"time"

	"barwright/finding"
	"barwright/quantity"
)

// Units say in which units the studio reads. The zero Units are g, °C and ml.
type Units struct {
	Mass   quantity.MassUnit
	Temp   quantity.TempUnit
	Volume quantity.VolumeUnit
	Length quantity.LengthUnit
}

// Head is what a sheet and a run have in common: what it is called, who made it and
// when, and how its masses are written. Its name, its step and its scale are worked
// out; the rest is given.
type Head struct {
	Name, Code, Date, Studio string    // the code is large on the sheet; the date is as the reader sees it
	At                       time.Time // when it was kept, for the dates in the file
	Demo                     bool      // the studio is an invented one
	Units                    Units
	DivisionG                float64 // step of the scale, g; of a run the finest of its batches
	Scale                    string  // the same as text: "0.1 g"
}

// mass writes a mass with its unit, to the digits that the scale can show.
func (h *Head) mass(g float64) string { return quantity.Mass(g, h.Units.Mass, h.DivisionG) }

// near writes a mass rounded to the step of the scale.
func (h *Head) near(g float64) string { return h.mass(quantity.RoundTo(g, h.DivisionG)) }

// weighed is what the scale shows of a mass: the nearest step, or the mass itself if
// that is too little for it.
func (h *Head) weighed(g float64) float64 {
	if s := quantity.RoundTo(g, h.DivisionG); s > 0 {
		return s
	}
	return g
}

// temp writes a temperature in whole degrees.
func (h *Head) temp(c float64) string { return quantity.Temp(c, h.Units.Temp, 0) }

// volume writes a volume in whole millilitres, or with one decimal in another unit.
func (h *Head) volume(ml float64) string {
	d := 0
	if h.Units.Volume != quantity.Millilitre {
		d = 1
	}
	return quantity.Volume(ml, h.Units.Volume, d)
}

// length writes a length, given in mm, to 0.1 mm.
func (h *Head) length(mm float64) string {
	return quantity.Length(quantity.RoundTo(mm, 0.1), h.Units.Length)
}

// deep says how deep batter stands; about is for a level by proportion.
func (h *Head) deep(mm float64, about bool) string {
	t := ", "
	if about {
		t += "about "
	}
	return t + h.length(mm) + " deep"
}

// bySeverity divides findings into those that stop, those that warn, and the rest.
func bySeverity(all []finding.Finding) (stops, warns, notes []finding.Finding) {
	for _, f := range all {
		switch f.Severity {
		case finding.Stop:
			stops = append(stops, f)
		case finding.Warn:
			warns = append(warns, f)
		default:
			notes = append(notes, f)
		}
	}
	return stops, warns, notes
}
