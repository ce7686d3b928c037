package moulds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"barwright/internal/web/htmlcheck"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

func loafForm() url.Values {
	return url.Values{"do": {"keep"}, "name": {"Loaf"}, "shape": {"cuboid"}, "length_mm": {"250"}, "width_mm": {"80"}, "depth_mm": {"65"},
		"cavities": {"1"}, "sets": {"1"},
		"release_hours": {"24"}, "max_temp_c": {"80"}, "cut.along": {"10"}, "cut.kerf_mm": {"1"}, "cut.end_mm": {"5"}, "fill_pct": {"80"},
		"density_g_ml": {"1.02"}}
}

func TestACuttingPlanIsDrawnWhileItIsTyped(t *testing.T) {
	_, h := shelf(t)
	v := loafForm()
	w := post(t, h, "/moulds/work", v, asLive)
	if w.Code != http.StatusOK {
		t.Fatal(w.Code)
	}
	d := htmlcheck.Fragment(t, w.Body)
	if d.Find("#mould-work svg.cut-plan").Length() != 2 || d.Find("#mould-work svg.mould-section .draw-fill").Length() != 2 ||
		d.Find("#mould-cut input").Length() != 7 {
		t.Errorf("%d plans, %d fill lines, %d boxes", d.Find("svg.cut-plan").Length(), d.Find(".draw-fill").Length(), d.Find("#mould-cut input").Length())
	}
	// By hand: 250 − 2 × 5 − 9 × 1 = 231 mm in 10 bars of 23.1 × 80 × 52 mm, that is
	// 96.096 ml, at 1.02 g/ml 98.0 g; 1040 ml poured are 1060.8 g; the blade takes
	// 9 × 80 × 52 mm = 37.44 ml, 38.2 g; the ends 10 × 80 × 52 mm = 41.6 ml, 42.4 g.
	text := d.Find(".bars-table").Text()
	for _, want := range []string{"Bars 1 to 10", "23.1 × 80 × 52\u00a0mm", "98.0\u00a0g", "980.2\u00a0g", "38.2\u00a0g", "42.4\u00a0g",
		"1\u202f060.8\u00a0g", "filled to 80\u00a0%, 52\u00a0mm high"} {
		if !strings.Contains(text, want) {
			t.Errorf("the table does not show %q: %q", want, text)
		}
	}
	if got := d.Find("#mould-work .figures").Text(); !strings.Contains(got, "all alike") || !strings.Contains(got, "7.6\u00a0%") { // (10 + 9) of 250
		t.Errorf("the figures are %q", got)
	}
	// The same without JavaScript, and without a density in ml.
	v.Set("do", "work")
	v.Del("density_g_ml")
	d = page(t, post(t, h, "/moulds/new", v), 200)
	if d.Find("svg.cut-plan").Length() != 2 || !strings.Contains(d.Find(".bars-table").Text(), "96.1\u00a0ml") ||
		d.Find("#fill_pct").AttrOr("value", "") != "80" {
		t.Errorf("without JavaScript: %s", d.Find(".bars-table").Text())
	}
	// Where the sides slope, bars differ, the smallest first.
	tin := loafForm()
	tin.Set("shape", "tapered-box")
	for name, mm := range map[string]string{"top_length_mm": "250", "top_width_mm": "90", "bottom_length_mm": "230", "bottom_width_mm": "80",
		"depth_mm": "70"} {
		tin.Set(name, mm)
	}
	d = htmlcheck.Fragment(t, post(t, h, "/moulds/work", tin, asLive).Body)
	rows := d.Find(".bars-table tbody .row-name")
	if rows.Eq(0).Text() != "Bars 1 and 10" || rows.Eq(1).Text() != "Bars 2 to 9" || d.Find(".finding").Length() == 0 {
		t.Errorf("the bars are %q, with %d findings", rows.Text(), d.Find(".finding").Length())
	}
	// A round mould is not cut; what was typed is not lost.
	v.Set("shape", "cylinder")
	d = htmlcheck.Fragment(t, post(t, h, "/moulds/work", v, asLive).Body)
	if _, hidden := d.Find("#mould-cut").Attr("hidden"); !hidden || d.Find("#mould-cut input").Length() != 0 ||
		d.Find(`input[type=hidden][name="cut.along"]`).AttrOr("value", "") != "10" {
		t.Error("a cylinder asks how it is cut, or forgets what was typed")
	}
}

func TestACuttingPlanIsKept(t *testing.T) {
	book, h := shelf(t)
	if w := post(t, h, "/moulds/new", loafForm()); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, page(t, w, w.Code).Find(".summary").Text())
	}
	all, err := book.Moulds.All(t.Context())
	if err != nil || len(all) != 1 || all[0].Newest.Doc.Cut == nil ||
		*all[0].Newest.Doc.Cut != (mould.Cut{Along: 10, Across: 1, Layers: 1, KerfMM: 1, EndMM: 5}) {
		t.Fatal(all, err)
	}
	text := page(t, ask(t, h, "GET", "/moulds", nil), 200).Find("tbody").Text()
	for _, want := range []string{"cut into 10 bars", "unmould after 24\u00a0h", "heat limit 80\u00a0°C"} {
		if !strings.Contains(text, want) {
			t.Errorf("the shelf does not show %q: %q", want, text)
		}
	}
	// In inches it is shown, drawn and said in inches, and kept as it was.
	set := studio.DefaultSettings()
	set.Length, set.Volume, set.Mass = quantity.Inch, quantity.USFluidOunce, quantity.Ounce
	if err := book.PutSettings(t.Context(), set); err != nil {
		t.Fatal(err)
	}
	d := page(t, ask(t, h, "GET", "/moulds/"+all[0].ID, nil), 200)
	if got := d.Find(`[name="cut.end_mm"]`).AttrOr("value", ""); got != "0.1969" {
		t.Errorf("5 mm shows as %q in", got)
	}
	if plan := d.Find("svg.cut-plan").Text(); !strings.Contains(plan, "9.84\u00a0in") || strings.Contains(plan, "\u00a0mm") {
		t.Errorf("the plan is in mm: %q", plan)
	}
	if got := d.Find(".bars-table").Text(); strings.Contains(got, "\u00a0mm") || !strings.Contains(got, "fl oz") {
		t.Errorf("the table is not in inches and ounces: %q", got)
	}
	again := valuesOf(d, "#mould")
	again.Set("version_note", "looked at in inches")
	if w := post(t, h, "/moulds/"+all[0].ID, again); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, page(t, w, w.Code).Find(".summary").Text())
	}
	if again, err := book.Moulds.Get(t.Context(), all[0].ID); err != nil || again.Newest.Doc.Cut == nil || *again.Newest.Doc.Cut != *all[0].Newest.Doc.Cut {
		t.Errorf("kept as %+v, %v", again.Newest.Doc, err)
	}
	// An empty plan is none.
	if err := book.PutSettings(t.Context(), studio.DefaultSettings()); err != nil {
		t.Fatal(err)
	}
	v := loafForm()
	for _, name := range cutNames {
		v.Del(name)
	}
	v.Set("name", "Whole")
	if w := post(t, h, "/moulds/new", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if all, err := book.Moulds.All(t.Context()); err != nil || len(all) != 2 || all[1].Newest.Doc.Cut != nil {
		t.Error("a plan that was not written was kept", all, err)
	}
}

func TestAFaultyCuttingPlanComesBackWhole(t *testing.T) {
	_, h := shelf(t)
	with := func(pairs ...string) url.Values {
		v := loafForm()
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return v
	}
	for _, c := range []struct {
		v      url.Values
		fields []string
	}{
		{with("cut.along", "0"), []string{"cut.along"}},
		{with("cut.along", ""), []string{"cut.along"}},
		{with("cut.along", "many", "cut.kerf_mm", "thick", "cut.top_mm", "-2"), []string{"cut.along", "cut.kerf_mm", "cut.top_mm"}},
		{with("cut.layers", "1.5"), []string{"cut.layers"}},
		{with("cut.end_mm", "130"), []string{"cut.end_mm"}},
		{with("fill_pct", "0"), []string{"fill_pct"}},
		{with("fill_pct", "130", "density_g_ml", "1020"), []string{"fill_pct", "density_g_ml"}},
	} {
		d := page(t, post(t, h, "/moulds/new", c.v), http.StatusUnprocessableEntity)
		faulty(t, d, c.v, c.fields...)
		// The cavity is drawn all the same.
		if d.Find("svg.mould-section").Length() != 2 {
			t.Errorf("%v: the cavity is not drawn", c.fields)
		}
	}
	// Too shallow a fill for the layers is said, where the brim would do.
	d := page(t, post(t, h, "/moulds/new", with("do", "work", "cut.layers", "8", "fill_pct", "5")), 200)
	if d.Find("svg.cut-plan").Length() != 0 || !strings.Contains(d.Find("#mould-work").Text(), "too shallow for 8 layers") {
		t.Errorf("said of a shallow fill: %s", d.Find("#mould-work").Text())
	}
}

func TestBarsAreNamedByTheirNumbers(t *testing.T) {
	for want, nums := range map[string][]int{"Bar 4": {4}, "Bars 1 and 9": {1, 9}, "Bars 1 and 2": {1, 2}, "Bars 2 to 8": {2, 3, 4, 5, 6, 7, 8},
		"Bars 1, 3 and 5 to 9": {1, 3, 5, 6, 7, 8, 9}, "Bars 1, 3, 5, 7, 9 …": {1, 3, 5, 7, 9, 11, 13}} {
		if got := barsSaid(nums); got != want {
			t.Errorf("%v are %q, want %q", nums, got, want)
		}
	}
	if got := fromTo("121.7\u00a0g", "134.6\u00a0g"); got != "121.7 to 134.6\u00a0g" {
		t.Error(got)
	}
}
