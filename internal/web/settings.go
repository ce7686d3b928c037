package web

import (
	"net/http"
	"net/url"
	"strings"

	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

func (s *server) settingsRoutes() {
	s.Place("Studio", "/studio")
	s.Handle("GET /studio", s.settings)
	s.Handle("POST /studio", s.postSettings)
}

// settingsView is what the studio set for itself.
type settingsView struct {
	Kept      bool
	Summary   Summary
	Name      Field
	Zone      Field
	Units     []Select
	Currency  Field
	Bench     []Field // scale and alkali
	Batches   []Field // what a batch is made larger by, and how large it may get
	Limits    []Field
	Emergency Prose
}

var settingsPage = shell.Declare[settingsView](room, "settings")

// limitFields are the limits, by the names of their fields.
var limitFields = []struct {
	name, label string
	in          func(*studio.Limits) *float64
}{
	{"limits.superfat_cold_pct", "Superfat above, cold process", func(l *studio.Limits) *float64 { return &l.SuperfatColdPct }},
	{"limits.superfat_hot_pct", "Superfat above, hot process", func(l *studio.Limits) *float64 { return &l.SuperfatHotPct }},
	{"limits.superfat_salt_bar_pct", "Superfat above, salt bar", func(l *studio.Limits) *float64 { return &l.SuperfatSaltBarPct }},
	{"limits.lye_min_pct", "Lye weaker than", func(l *studio.Limits) *float64 { return &l.LyeMinPct }},
	{"limits.lye_max_pct", "Lye stronger than", func(l *studio.Limits) *float64 { return &l.LyeMaxPct }},
}

// settingsForm writes the settings as the form shows them.
func settingsForm(set studio.Settings) url.Values {
	v := url.Values{"studio_name": {set.StudioName}, "mass": {set.Mass.String()}, "volume": {set.Volume.String()}, "length": {set.Length.String()},
		"temperature": {set.Temperature.String()}, "currency": {set.Currency}, "scale_division_g": {plainMaybe(set.ScaleDivisionG)},
		"naoh_purity_pct": {plainMaybe(set.NaOHPurityPct)}, "koh_purity_pct": {plainMaybe(set.KOHPurityPct)},
		"purity_half_width_pct": {plainMaybe(set.PurityHalfWidthPct)}, "cure_water_loss_pct": {plainMaybe(set.CureWaterLossPct)},
		"overage_pct": {plainMaybe(set.OveragePct)}, "pot_loss_g": {plainMaybe(set.PotLossG)}, "pot_g": {plainMaybe(set.PotG)},
		"time_zone": {set.TimeZone}, "emergency": {set.Emergency}}
	for _, f := range limitFields {
		v.Set(f.name, plainNumber(*f.in(&set.Limits)))
	}
	return v
}

// readSettings reads the form of the settings. An empty limit is the common one.
func readSettings(v url.Values) (studio.Settings, fault.List) {
	in := typed{v: v}
	set := studio.DefaultSettings()
	set.StudioName, set.Emergency, set.TimeZone = in.text("studio_name"), in.text("emergency"), in.text("time_zone")
	set.Currency = strings.ToUpper(in.text("currency"))
	unit := func(field string, read func(string) error) {
		if err := read(v.Get(field)); err != nil {
			in.at(field, err)
		}
	}
	var err error
	unit("mass", func(x string) error { set.Mass, err = quantity.ParseMassUnit(x); return err })
	unit("volume", func(x string) error { set.Volume, err = quantity.ParseVolumeUnit(x); return err })
	unit("length", func(x string) error { set.Length, err = quantity.ParseLengthUnit(x); return err })
	unit("temperature", func(x string) error { set.Temperature, err = quantity.ParseTempUnit(x); return err })
	grams := func(x string) (float64, error) { return quantity.ParseMass(x, quantity.Gram) }
	set.ScaleDivisionG = in.number("scale_division_g", grams)
	set.NaOHPurityPct = in.number("naoh_purity_pct", parsePercent)
	set.KOHPurityPct = in.number("koh_purity_pct", parsePercent)
	set.PurityHalfWidthPct = in.number("purity_half_width_pct", parsePercent)
	set.CureWaterLossPct = in.number("cure_water_loss_pct", parsePercent)
	set.OveragePct = in.number("overage_pct", parsePercent)
	set.PotLossG, set.PotG = in.number("pot_loss_g", grams), in.number("pot_g", grams)
	for _, f := range limitFields {
		if m := in.number(f.name, parsePercent); m.Known {
			*f.in(&set.Limits) = m.V
		}
	}
	for _, f := range set.Validate() {
		if !in.has(f.Field) {
			in.faults.Add(f)
		}
	}
	return set, sentences(in.faults)
}

func (s *server) settings(w http.ResponseWriter, r *http.Request) error {
	set, err := s.cfg.Book.Settings(r.Context())
	if err != nil {
		return err
	}
	return s.showSettings(w, r, http.StatusOK, settingsForm(set), nil)
}

func (s *server) postSettings(w http.ResponseWriter, r *http.Request) error {
	v, err := readForm(r)
	if err != nil {
		return err
	}
	set, faults := readSettings(v)
	if len(faults) > 0 {
		return s.showSettings(w, r, http.StatusUnprocessableEntity, v, faults)
	}
	if err := s.cfg.Book.PutSettings(r.Context(), set); err != nil {
		if fault.KindOf(err) == fault.Invalid {
			return s.showSettings(w, r, http.StatusUnprocessableEntity, v, fault.All(err))
		}
		return err
	}
	http.Redirect(w, r, "/studio?kept=1", http.StatusSeeOther)
	return nil
}

// showSettings writes the form with what stands in v.
func (s *server) showSettings(w http.ResponseWriter, r *http.Request, status int, v url.Values, faults fault.List) error {
	fo := func(name, label, unit, hint string) Field { return fieldOf(v, faults, name, label, unit, hint) }
	words := func(name, label, hint string) Field {
		f := fo(name, label, "", hint)
		f.Words, f.Wide = true, true
		return f
	}
	d := settingsView{Kept: status == http.StatusOK && r.FormValue("kept") != "", Summary: Summarise(faults),
		Name: words("studio_name", "Name of the studio", "stands at the head of every page and sheet"),
		Zone: words("time_zone", "Time zone", "as Europe/Lisbon or America/Halifax, from the IANA database; this machine’s when left empty"),
		Units: []Select{
			selectOf(v, faults, "mass", "Masses in", []Option{{Value: "g", Label: "grams"}, {Value: "oz", Label: "ounces"}, {Value: "lb+oz", Label: "pounds and ounces"}}),
			selectOf(v, faults, "volume", "Volumes in", []Option{{Value: "ml", Label: "millilitres"}, {Value: "fl oz", Label: "US fluid ounces"}, {Value: "imp fl oz", Label: "imperial fluid ounces"},
				{Value: "tsp", Label: "US teaspoons"}, {Value: "metric tsp", Label: "metric teaspoons"}}),
			selectOf(v, faults, "length", "Lengths in", []Option{{Value: "mm", Label: "millimetres"}, {Value: "in", Label: "inches"}}),
			selectOf(v, faults, "temperature", "Temperatures in", []Option{{Value: "°C", Label: "degrees Celsius"}, {Value: "°F", Label: "degrees Fahrenheit"}}),
		},
		Currency: fo("currency", "Currency", "", "three capitals of ISO 4217, as EUR"),
		Bench: []Field{
			fo("scale_division_g", "Scale’s division", "g", "the smallest step of its display"),
			fo("naoh_purity_pct", "NaOH, purity", "%", "from its certificate"),
			fo("koh_purity_pct", "KOH, purity", "%", "from its certificate; often about 90"),
			fo("purity_half_width_pct", "Tolerance of a purity, ±", "%", "percentage points"),
			fo("cure_water_loss_pct", "Water gone when sold", "%", "of all water; 60 when left empty"),
		},
		Batches: []Field{
			fo("overage_pct", "Overage", "%", "batter beyond what the pieces take; none when left empty"),
			fo("pot_loss_g", "Stays in the pot", "g", "of each batch, as weighed; none when left empty"),
			fo("pot_g", "Largest batch", "g", "that your pot takes; any when left empty"),
		},
		Emergency: Prose{Name: "emergency", Label: "Whom to call", Value: v.Get("emergency"), Fault: FaultAt(faults, "emergency"), Rows: 3,
			Hint: "A poison centre, an emergency number. It is printed on the sheet as you type it."},
	}
	d.Currency.Words = true
	common := studio.DefaultSettings().Limits
	for _, f := range limitFields {
		d.Limits = append(d.Limits, fo(f.name, f.label, "%", plainNumber(*f.in(&common))+" when left empty"))
	}
	return settingsPage.Write(s.Shell, w, r, status, Head{Title: "Studio", Lead: "What every formula, mould and sheet of this studio goes by.",
		Actions: []Button{{Label: "Keep", Look: Main, Form: "settings"}}}, d)
}
