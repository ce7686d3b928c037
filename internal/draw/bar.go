package draw

import (
	"barwright/bench"
	"barwright/soap"
)

// strata is the stratum of the picture for each of the sums'. Wax lies with the
// free fat, and alkali in excess with the salts.
var strata = [soap.NumStrata]Stratum{
	soap.Slow: Slow, soap.Mellow: Mellow, soap.Holder: Holder, soap.Fleeting: Fleeting, soap.Quick: Quick,
	soap.UnknownSoap: UnknownSoap, soap.FreeFat: FreeFat, soap.Wax: FreeFat, soap.Unsaponifiable: Unsaponifiable,
	soap.Glycerol: Glycerol, soap.Water: Water, soap.Salts: Salts, soap.Extras: Extras, soap.Scent: Scent,
	soap.FreeAlkali: Salts,
}

// add puts a share of the bar's mass where it lies in the picture.
func (b *Bar) add(s soap.Stratum, share float64) {
	b.Shares[strata[s]] += share
	if s == soap.Wax {
		b.Wax += share
	}
}

// BarOf is the bar of a formula that was worked out. Where the spread of its
// superfat is known, it has the doubt of its free fat.
func BarOf(r *soap.Result, sf soap.Superfat, name string) Bar {
	b := Bar{Name: name, MassG: r.Bar.MassG}
	total := 0.0
	masses := r.Strata()
	for _, g := range masses {
		total += g
	}
	for i, g := range masses {
		b.add(soap.Stratum(i), g/total)
	}
	if sf.SDPct > 0 {
		b.Doubt = &Interval{Low: b.Wax + r.FreeFatAt(sf.LowPct)/total, High: b.Wax + r.FreeFatAt(sf.HighPct)/total}
	}
	return b
}

// BarOfSheet is the bar of a bench sheet, and false for a sheet that has none.
func BarOfSheet(s *bench.Sheet) (Bar, bool) {
	b, total := Bar{Name: s.Name}, 0.0
	for _, x := range s.Strata {
		total += x.Share
	}
	if !(total > 0) {
		return b, false
	}
	for _, x := range s.Strata {
		b.add(x.Stratum, x.Share/total)
	}
	return b, true
}
