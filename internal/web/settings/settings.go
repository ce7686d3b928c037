// Package settings is the room "Studio": what the studio sets for itself, its units,
// its scale and its limits above all.
package settings

import (
	"embed"
	"strings"

	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("settings", files)

// rooms are the pages of the settings.
type rooms struct{ form.Room }

// Open registers the room.
func Open(s *shell.Shell, book *studio.Studio) {
	o := rooms{form.Room{Shell: s, Book: book}}
	s.Place("Studio", "/studio")
	o.Serve(o.edit, "GET /studio", "POST /studio")
}

// settingsView is what the studio set for itself.
type settingsView struct{ Form *form.Form }

var settingsPage = shell.Declare[settingsView](room, "settings")

// bindSettings is the form of the settings.
func bindSettings(f *form.Form, set *studio.Settings) {
	f.Text("studio_name", &set.StudioName, form.Label("Name of the studio"), form.Hint("shown at the top of every page and sheet"), form.Wide)
	f.Text("time_zone", &set.TimeZone, form.Label("Time zone"), form.Wide,
		form.Hint("for example Europe/Lisbon or America/Halifax, from the IANA database; left empty, it is this machine’s"))
	form.Choose(f, "mass", &set.Mass, []form.Case[quantity.MassUnit]{form.Is(quantity.Gram, "grams"), form.Is(quantity.Ounce, "ounces"),
		form.Is(quantity.PoundOunce, "pounds and ounces")}, form.Label("Masses in"))
	form.Choose(f, "volume", &set.Volume, []form.Case[quantity.VolumeUnit]{form.Is(quantity.Millilitre, "millilitres"),
		form.Is(quantity.USFluidOunce, "US fluid ounces"), form.Is(quantity.ImperialFluidOunce, "imperial fluid ounces"),
		form.Is(quantity.USTeaspoon, "US teaspoons"), form.Is(quantity.MetricTeaspoon, "metric teaspoons")}, form.Label("Volumes in"))
	form.Choose(f, "length", &set.Length, []form.Case[quantity.LengthUnit]{form.Is(quantity.Millimetre, "millimetres"),
		form.Is(quantity.Inch, "inches")}, form.Label("Lengths in"))
	form.Choose(f, "temperature", &set.Temperature, []form.Case[quantity.TempUnit]{form.Is(quantity.Celsius, "degrees Celsius"),
		form.Is(quantity.Fahrenheit, "degrees Fahrenheit")}, form.Label("Temperatures in"))
	f.Text("currency", &set.Currency, form.Label("Currency"), form.Hint("three capital letters of ISO 4217, for example EUR"))
	set.Currency = strings.ToUpper(set.Currency)
	f.Prose("emergency", &set.Emergency, form.Label("Whom to call"), form.Height(3),
		form.Hint("A poison centre, an emergency number. It is printed on the sheet as you type it."))

	f.Maybe("scale_division_g", &set.ScaleDivisionG, form.Grams, form.Label("Scale’s division"), form.Hint("the smallest step of its display"))
	f.Maybe("naoh_purity_pct", &set.NaOHPurityPct, form.Percent, form.Label("NaOH, purity"), form.Hint("from its certificate"))
	f.Maybe("koh_purity_pct", &set.KOHPurityPct, form.Percent, form.Label("KOH, purity"), form.Hint("from its certificate; often about 90"))
	f.Maybe("purity_half_width_pct", &set.PurityHalfWidthPct, form.Percent, form.Label("Tolerance of a purity, ±"), form.Hint("percentage points"))
	f.Maybe("cure_water_loss_pct", &set.CureWaterLossPct, form.Percent, form.Label("Water gone when sold"), form.Hint("of all water; 60 when left empty"))

	f.Maybe("overage_pct", &set.OveragePct, form.Percent, form.Label("Overage"), form.Hint("batter beyond what the pieces need; none when left empty"))
	f.Maybe("pot_loss_g", &set.PotLossG, form.Grams, form.Label("Left in the pot"), form.Hint("of each batch, as weighed; none when left empty"))
	f.Maybe("pot_g", &set.PotG, form.Grams, form.Label("Largest batch"), form.Hint("that your pot holds; any when left empty"))

	// An empty limit is the common one.
	common := studio.DefaultSettings().Limits
	limit := func(path, label string, to *float64, usual float64) {
		f.Number(path, to, form.Percent, form.Label(label), form.Hint(form.Digits(usual)+" when left empty"), form.Empty(usual))
	}
	limit("limits.superfat_cold_pct", "Superfat above, cold process", &set.Limits.SuperfatColdPct, common.SuperfatColdPct)
	limit("limits.superfat_hot_pct", "Superfat above, hot process", &set.Limits.SuperfatHotPct, common.SuperfatHotPct)
	limit("limits.superfat_salt_bar_pct", "Superfat above, salt bar", &set.Limits.SuperfatSaltBarPct, common.SuperfatSaltBarPct)
	limit("limits.lye_min_pct", "Lye weaker than", &set.Limits.LyeMinPct, common.LyeMinPct)
	limit("limits.lye_max_pct", "Lye stronger than", &set.Limits.LyeMaxPct, common.LyeMaxPct)
}

// edit shows the settings, and keeps what was posted.
func (o rooms) edit(a *form.Ask) error {
	f, set := form.Of(form.Faces{}), a.Faces.Set
	if a.Posted {
		f, set = form.Read(a.Sent, form.Faces{}), studio.DefaultSettings()
	}
	bindSettings(f, &set)
	if a.Posted && !f.Refused(set.Validate()) {
		if err := f.Take(o.Book.PutSettings(a.Context(), set)); err != nil || f.Sound() {
			return a.GoTo("/studio?kept=1", err)
		}
	}
	head := shell.Head{Title: "Studio", Lead: "Every formula, mould and sheet of this studio uses these.",
		Actions: []shell.Button{{Label: "Keep", Look: shell.Main, Form: "settings"}}}
	if f.Sound() && a.FormValue("kept") != "" {
		head.Said = "Kept. Earlier versions and sheets stay as they were."
	}
	return form.Answer(settingsPage, a, f, head, settingsView{f})
}
