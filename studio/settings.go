package studio

import (
	"context"
	"encoding"
	"errors"
	"time"

	"golang.org/x/text/currency"

	"barwright/bench"
	"barwright/fault"
	"barwright/quantity"
	"barwright/soap"
)

// Settings are what the studio set for itself. What a batch is weighed by (the
// scale's division, the purities) is unknown until the studio sets it, and is
// never guessed at. DefaultSettings is what a fresh studio has.
type Settings struct {
	StudioName  string              `json:"studio_name"`
	Mass        quantity.MassUnit   `json:"mass"`
	Volume      quantity.VolumeUnit `json:"volume"`
	Length      quantity.LengthUnit `json:"length"`
	Temperature quantity.TempUnit   `json:"temperature"`
	// Currency is an ISO 4217 code, as EUR; "" until the studio sets it.
	Currency string `json:"currency"`
	// ScaleDivisionG is the smallest step of the scale's display, g, above 0.
	ScaleDivisionG quantity.Maybe `json:"scale_division_g"`
	// The purities of the alkali as bought, % by mass, in (0, 100], and the
	// half-width of their tolerance, percentage points, in [0, 50].
	NaOHPurityPct      quantity.Maybe `json:"naoh_purity_pct"`
	KOHPurityPct       quantity.Maybe `json:"koh_purity_pct"`
	PurityHalfWidthPct quantity.Maybe `json:"purity_half_width_pct"`
	// CureWaterLossPct is the share of all water that is gone when a bar is
	// sold, in [0, 100]; unknown leaves it to the sums, which say so.
	CureWaterLossPct quantity.Maybe `json:"cure_water_loss_pct"`
	// OveragePct is batter made beyond what a run's pieces take, %, in [0, 100];
	// PotLossG what of a batch stays in the pot, g, in [0, 10 000], once per batch,
	// as weighed; PotG the largest batch that a pot takes, g, above 0. Unknown
	// counts as none, none and no limit.
	OveragePct quantity.Maybe `json:"overage_pct,omitzero"`
	PotLossG   quantity.Maybe `json:"pot_loss_g,omitzero"`
	PotG       quantity.Maybe `json:"pot_g,omitzero"`
	Limits     Limits         `json:"limits"`
	// TimeZone is a name of the IANA time zone database, as Europe/Lisbon; ""
	// is the zone of the machine.
	TimeZone string `json:"time_zone"`
	// Emergency is whom to call, in the maker's own words; it is printed on the
	// sheet as typed.
	Emergency string `json:"emergency"`
}

// Limits are where the program begins to say something about a formula.
// Every default is common practice, no source; the studio sets its own.
type Limits struct {
	SuperfatColdPct    float64 `json:"superfat_cold_pct"`     // above it, method cold: 12 % of the saponifiable fat
	SuperfatHotPct     float64 `json:"superfat_hot_pct"`      // above it, method hot: 15 %
	SuperfatSaltBarPct float64 `json:"superfat_salt_bar_pct"` // above it, where quick acids exceed half: 25 %
	LyeMinPct          float64 `json:"lye_min_pct"`           // below it, lye concentration: 22 % by mass
	LyeMaxPct          float64 `json:"lye_max_pct"`           // above it: 42 %
}

// DefaultSettings is what a studio has that has set nothing yet: metric faces,
// the common limits, and nothing about its scale or its alkali.
func DefaultSettings() Settings {
	d := soap.DefaultLimits()
	return Settings{Limits: Limits{
		SuperfatColdPct: d.SuperfatColdPct, SuperfatHotPct: d.SuperfatHotPct, SuperfatSaltBarPct: d.SuperfatSaltPct,
		LyeMinPct: d.LyeLowPct, LyeMaxPct: d.LyeHighPct,
	}}
}

// SoapLimits are the studio's limits as the sums take them, with masses written
// in the studio's unit.
func (s Settings) SoapLimits() soap.Limits {
	return soap.Limits{
		SuperfatColdPct: s.Limits.SuperfatColdPct, SuperfatHotPct: s.Limits.SuperfatHotPct, SuperfatSaltPct: s.Limits.SuperfatSaltBarPct,
		LyeLowPct: s.Limits.LyeMinPct, LyeHighPct: s.Limits.LyeMaxPct,
		// Without a scale that is known, to the tenth of a gram.
		Mass: func(g float64) string { return quantity.Mass(g, s.Mass, s.ScaleDivisionG.Or(0.1)) },
	}
}

// Location is the studio's time zone. It is the machine's when none is set, or
// when the zone's name is not known here.
func (s Settings) Location() *time.Location {
	if s.TimeZone == "" {
		return time.Local
	}
	l, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return time.Local
	}
	return l
}

// Head is what a bench sheet made at a moment says of the studio and the day. Code,
// studio and whether it is an invented one are left to the caller.
func (s Settings) Head(at time.Time) bench.Head {
	return bench.Head{Date: at.In(s.Location()).Format("Monday 2 January 2006"), At: at.UTC().Truncate(time.Second),
		Units: bench.Units{Mass: s.Mass, Temp: s.Temperature, Volume: s.Volume, Length: s.Length}}
}

// Validate gives everything that is wrong with the settings, each of kind
// Invalid on the field's JSON name (those of the limits as limits.lye_min_pct).
func (s Settings) Validate() fault.List {
	var l fault.List
	_, e := line("studio_name", "studio's name", s.StudioName, false)
	l.Add(e)
	_, e = text("emergency", "emergency number", s.Emergency)
	l.Add(e)
	// A unit that is no unit has no text.
	for _, u := range []struct {
		field string
		unit  encoding.TextMarshaler
	}{{"mass", s.Mass}, {"volume", s.Volume}, {"length", s.Length}, {"temperature", s.Temperature}} {
		if _, err := u.unit.MarshalText(); err != nil {
			l.Add(fault.Invalidf(u.field, "The program knows no such unit of %s. Choose one of the list.", u.field))
		}
	}
	if s.Currency != "" {
		if u, err := currency.ParseISO(s.Currency); err != nil || u.String() != s.Currency {
			l.Add(fault.Invalidf("currency", "“%s” is no currency code. Give the three capitals of ISO 4217, such as EUR, GBP or USD.", s.Currency))
		}
	}
	known := func(field string, m quantity.Maybe, ok func(float64) bool, sentence string) {
		if m.Known && !(quantity.Finite(m.V) && ok(m.V)) {
			l.Add(fault.Invalidf(field, "%s", sentence))
		}
	}
	purity := func(v float64) bool { return v > 0 && v <= 100 }
	known("scale_division_g", s.ScaleDivisionG, func(v float64) bool { return v > 0 && v <= 1000 },
		"The scale's division must be above 0 g and at most 1000 g, such as 1 or 0.1. Leave it empty if you do not know it.")
	known("naoh_purity_pct", s.NaOHPurityPct, purity,
		"The purity of the NaOH must be above 0 and at most 100 %, such as 99. The certificate states it; leave it empty if you do not know it.")
	known("koh_purity_pct", s.KOHPurityPct, purity,
		"The purity of the KOH must be above 0 and at most 100 %, such as 90. The certificate states it; leave it empty if you do not know it.")
	known("purity_half_width_pct", s.PurityHalfWidthPct, func(v float64) bool { return v >= 0 && v <= 50 },
		"The tolerance of the purities must be from 0 to 50 percentage points, such as 0.5.")
	known("cure_water_loss_pct", s.CureWaterLossPct, func(v float64) bool { return v >= 0 && v <= 100 },
		"The share of the water lost in the cure must be from 0 to 100 %.")
	known("overage_pct", s.OveragePct, func(v float64) bool { return v >= 0 && v <= 100 },
		"The overage must be from 0 to 100 % of what the pieces take, such as 3.")
	known("pot_loss_g", s.PotLossG, func(v float64) bool { return v >= 0 && v <= 10_000 },
		"What stays in the pot must be from 0 g to 10 kg, such as 15. Weigh the pot empty, and after pouring.")
	known("pot_g", s.PotG, func(v float64) bool { return v > 0 && v <= 1e7 },
		"The largest batch must be above 0 g and at most 10 t. Leave it empty if there is no limit.")
	if s.PotG.Known && s.PotLossG.Known && s.PotG.V <= s.PotLossG.V {
		l.Add(fault.Invalidf("pot_g", "The largest batch must be more than what stays in the pot."))
	}
	inside := func(field string, v float64, what string) {
		if !(v > 0 && v < 100) {
			l.Add(fault.Invalidf("limits."+field, "%s must be above 0 and below 100 %%.", what))
		}
	}
	inside("superfat_cold_pct", s.Limits.SuperfatColdPct, "The superfat to remark on, cold process,")
	inside("superfat_hot_pct", s.Limits.SuperfatHotPct, "The superfat to remark on, hot process,")
	inside("superfat_salt_bar_pct", s.Limits.SuperfatSaltBarPct, "The superfat to remark on in a salt bar")
	inside("lye_min_pct", s.Limits.LyeMinPct, "The lowest lye concentration to pass without remark")
	inside("lye_max_pct", s.Limits.LyeMaxPct, "The highest lye concentration to pass without remark")
	if s.Limits.LyeMinPct >= s.Limits.LyeMaxPct {
		l.Add(fault.Invalidf("limits.lye_max_pct", "The highest lye concentration must be above the lowest."))
	}
	if s.TimeZone != "" {
		if _, err := time.LoadLocation(s.TimeZone); err != nil || s.TimeZone == "Local" {
			l.Add(fault.Invalidf("time_zone", "“%s” is no time zone that the program knows. Give a name of the IANA database, such as Europe/Lisbon or "+
				"America/Halifax.", s.TimeZone))
		}
	}
	return l
}

// Settings gives the studio's settings; DefaultSettings until it kept its own.
func (s *Studio) Settings(ctx context.Context) (Settings, error) {
	return read(ctx, s, func(r Reader) (Settings, error) { return settings(ctx, r) })
}

func settings(ctx context.Context, r Reader) (Settings, error) {
	doc, err := r.Settings(ctx)
	if errors.Is(err, ErrNone) {
		return DefaultSettings(), nil
	}
	if err != nil {
		return Settings{}, err
	}
	var out Settings
	err = decode("settings", doc, &out)
	return out, err
}

// PutSettings keeps the studio's settings. Errors: fault.List of Validate.
func (s *Studio) PutSettings(ctx context.Context, set Settings) error {
	if err := set.Validate().Err(); err != nil {
		return err
	}
	doc, err := document("settings", set)
	if err != nil {
		return err
	}
	return s.store.Write(ctx, func(w Writer) error { return w.PutSettings(ctx, doc, s.instant()) })
}
