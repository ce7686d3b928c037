package settings

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"barwright/internal/web/form"
	"barwright/internal/web/roomtest"
	"barwright/internal/web/webtest"
	"barwright/quantity"
	"barwright/studio"
)

var (
	ask, post, page  = webtest.Ask, webtest.Post, webtest.Page
	faulty, valuesOf = webtest.Faulty, webtest.ValuesOf
)

// shelf is an empty studio, and the room over it.
func shelf(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	return roomtest.Room(t, time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Open)
}

func TestSettingsAreKeptOrComeBack(t *testing.T) {
	book, h := shelf(t)
	d := page(t, ask(t, h, "GET", "/studio", nil), 200)
	if !strings.Contains(d.Text(), "common practice, no source") {
		t.Error("the limits do not say that they have no source")
	}
	// As it stands it is the default.
	if w := post(t, h, "/studio", valuesOf(d, "#settings")); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	if set, err := book.Settings(t.Context()); err != nil || set != studio.DefaultSettings() {
		t.Errorf("kept as %+v, %v", set, err)
	}
	v := url.Values{"studio_name": {"Quillfen <studio>"}, "mass": {"lb+oz"}, "volume": {"imp fl oz"}, "length": {"in"}, "temperature": {"°F"},
		"currency": {"eur"}, "scale_division_g": {"0.1 g"},
		"naoh_purity_pct": {"99 %"}, "koh_purity_pct": {"90"}, "purity_half_width_pct": {"0.5"}, "cure_water_loss_pct": {"60"}, "overage_pct": {"3 %"},
		"pot_loss_g": {"15"}, "pot_g": {"6 kg"}, "limits.superfat_cold_pct": {"10"}, "limits.lye_max_pct": {""},
		"time_zone": {"Europe/Lisbon"}, "emergency": {"Ring\r\nthe bell"}}
	if w := post(t, h, "/studio", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, page(t, w, w.Code).Find(".summary").Text())
	}
	set, err := book.Settings(t.Context())
	if err != nil || set.Currency != "EUR" || set.Length != quantity.Inch || set.NaOHPurityPct.V != 99 || set.OveragePct != quantity.Some(3) ||
		set.PotLossG != quantity.Some(15) || set.PotG != quantity.Some(6000) || set.Limits.SuperfatColdPct != 10 || set.Limits.LyeMaxPct != 42 ||
		set.Emergency != "Ring\nthe bell" {
		t.Errorf("kept as %+v, %v", set, err)
	}
	d = page(t, ask(t, h, "GET", "/studio?kept=1", nil), 200)
	if d.Find("[role=status]").Length() != 1 || d.Find("#time_zone").AttrOr("value", "") != "Europe/Lisbon" {
		t.Error("the page does not say what was kept")
	}
	bad := url.Values{"studio_name": {strings.Repeat("x", 500)}, "mass": {"stone"}, "volume": {"ml"}, "length": {"mm"}, "temperature": {"°C"},
		"currency": {"€"}, "scale_division_g": {"0"},
		"naoh_purity_pct": {"101"}, "koh_purity_pct": {"pure"}, "purity_half_width_pct": {"-1"}, "cure_water_loss_pct": {"200"}, "overage_pct": {"101"},
		"pot_loss_g": {"-1"}, "pot_g": {"big"}, "limits.lye_min_pct": {"0"}, "time_zone": {"Moon/Tycho"}}
	d = page(t, post(t, h, "/studio", bad), http.StatusUnprocessableEntity)
	faulty(t, d, bad, "studio_name", "mass", "currency", "scale_division_g", "naoh_purity_pct", "koh_purity_pct", "purity_half_width_pct",
		"cure_water_loss_pct", "overage_pct", "pot_loss_g", "pot_g", "limits.lye_min_pct", "time_zone")
	if now, err := book.Settings(t.Context()); err != nil || now != set {
		t.Errorf("a refused form changed the settings to %+v, %v", now, err)
	}
}

// No form, however odd, brings the reader down, and what it lets pass is valid.
func FuzzSettingsForm(f *testing.F) {
	for _, seed := range []url.Values{{"mass": {"g"}, "time_zone": {"../etc/passwd"}, "limits.lye_min_pct": {"1e400"}}, {"mass": {"stone"},
		"pot_g": {"6 kg"}, "studio_name": {"\xff\x00"}}} {
		f.Add(seed.Encode())
	}
	f.Fuzz(func(t *testing.T, body string) {
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		in, set := form.Read(v, form.Faces{}), studio.DefaultSettings()
		bindSettings(in, &set)
		in.Check(set.Validate())
		if in.Sound() && len(set.Validate()) > 0 {
			t.Errorf("taken for settings: %+v", set)
		}
	})
}
