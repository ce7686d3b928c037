package form

import (
	"context"
	"time"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// Faces is what every page of the trade is written with: the studio's settings,
// above all its units, and its catalogue. Numbers are SI inside; a face is put on
// at the page.
type Faces struct {
	Set studio.Settings
	Cat *catalogue.Catalogue
}

// facesOf reads them from the studio's records.
func facesOf(ctx context.Context, book *studio.Studio) (Faces, error) {
	set, err := book.Settings(ctx)
	if err != nil {
		return Faces{}, err
	}
	cat, err := book.Catalogue(ctx)
	return Faces{set, cat}, err
}

// Formula is what the sums take of the faces.
func (f Faces) Formula() formula.Faces {
	return formula.Faces{Mass: f.Set.Mass, Temp: f.Set.Temperature, Volume: f.Set.Volume}
}

// Division is the step in which masses are shown: the formula's own scale, else
// the studio's, else 0.1 g. The formula may be nil.
func (f Faces) Division(of *formula.Formula) float64 {
	if of != nil && of.ScaleDivisionG.Known && of.ScaleDivisionG.V > 0 {
		return of.ScaleDivisionG.V
	}
	return f.Set.ScaleDivisionG.Or(0.1)
}

// Limits are the studio's, with masses to the step of the formula's own scale.
func (f Faces) Limits(of *formula.Formula) soap.Limits {
	l, d := f.Set.SoapLimits(), f.Division(of)
	l.MassUnit = f.Set.Mass
	l.Mass = func(g float64) string { return f.Mass(g, d) }
	return l
}

// Mass is a mass in the studio's unit and with it, to a division in g.
func (f Faces) Mass(g, division float64) string { return quantity.Mass(g, f.Set.Mass, division) }

// Temp is a temperature, °C, in the studio's unit, to the degree.
func (f Faces) Temp(c float64) string { return quantity.Temp(c, f.Set.Temperature, 0) }

// Degrees is a difference of temperatures, K, in the studio's unit.
func (f Faces) Degrees(k float64) string {
	if f.Set.Temperature == quantity.Fahrenheit {
		k *= 1.8
	}
	return quantity.Number(k, 0) + quantity.UnitSpace + f.Set.Temperature.String()
}

// Volume is a volume and its doubt in the studio's unit, to as many figures as the
// doubt leaves. The doubt is twice the standard uncertainty (GUM, k = 2).
func (f Faces) Volume(v quantity.Reading[float64]) (value, doubt string) {
	decimals := 2
	if one := f.Set.Volume.Millilitres(); one > 0 {
		switch u := 2 * v.SD / one; {
		case u >= 10:
			decimals = 0
		case u >= 1:
			decimals = 1
		}
	}
	return quantity.Volume(v.Value, f.Set.Volume, decimals), "±" + quantity.UnitSpace + quantity.Volume(2*v.SD, f.Set.Volume, decimals)
}

// Day is a date as the maker reads it, in the studio's time zone.
func (f Faces) Day(t time.Time) string { return Day(t, f.Set.Location()) }

// Day is a date as the maker reads it, in a time zone.
func Day(t time.Time, loc *time.Location) string { return t.In(loc).Format("2 January 2006") }

// MassUnit is the unit that stands beside a box for a mass. A bare number in a
// studio of pounds and ounces could be either, so both are named.
func MassUnit(u quantity.MassUnit) string {
	switch u {
	case quantity.Ounce:
		return "oz"
	case quantity.PoundOunce:
		return "lb oz"
	}
	return "g"
}

// MassColumn heads a column of masses.
func MassColumn(u quantity.MassUnit) string {
	if u == quantity.PoundOunce {
		return "lb and oz"
	}
	return MassUnit(u)
}
