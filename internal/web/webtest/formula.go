package webtest

import (
	"net/http"
	"net/url"
	"testing"

	"barwright/internal/web/htmlcheck"
)

// Pairs is a form with pairs of name and value.
func Pairs(pairs ...string) url.Values { return with(url.Values{}, pairs) }

func with(v url.Values, pairs []string) url.Values {
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// Lantern is the form of a formula that can be kept, with changes in pairs of name
// and value.
func Lantern(change ...string) url.Values {
	return with(url.Values{"name": {"Storm lantern"}, "method": {"cold"}, "superfat": {"5"}, "water": {"33 %"}, "fats_g": {"1000"}, "by": {"share"},
		"alkali.naoh_purity_pct": {"99"}, "scale.division_g": {"1"}, "do": {"keep"},
		"fat.1.id": {"olive-oil"}, "fat.1.pct": {"60"}, "fat.2.id": {"coconut-oil"}, "fat.2.pct": {"40"}}, change)
}

// Rock is the form of a melt that can be kept, with changes in pairs.
func Rock(change ...string) url.Values {
	return with(Pairs("name", "Wet rock", "method", "melt", "by", "share", "fats_g", "800", "do", "keep", "scale.division_g", "0.1",
		"base.1.name", "Clear base", "base.1.pct", "75", "base.1.max_melt_c", "75", "base.1.max_pour_c", "60", "base.1.inci", "Aqua, Glycerin, Sodium Stearate",
		"base.2.name", "White base", "base.2.pct", "25",
		"melting.melt_c", "65", "pour_c", "55",
		"scent.1.name", "Salt wind", "scent.1.dose_pct", "2", "scent.1.of", "fats", "scent.1.stated", "Linalool 12.5\nLimonene 0.2"), change)
}

// Kept keeps the form of a formula and gives the formula's address.
func Kept(t testing.TB, h http.Handler, v url.Values) string {
	t.Helper()
	w := Post(t, h, "/formulas/new", v)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("not kept: status %d: %s", w.Code, htmlcheck.Page(t, w.Body).Find(".summary").Text())
	}
	return Led(w)
}
