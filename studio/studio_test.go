package studio_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"barwright/fault"
	"barwright/quantity"
	"barwright/studio"
)

// Pairs that the Unicode Character Database calls the same without regard to
// case (CaseFolding.txt, status C and S) or in compatibility (UnicodeData.txt).
func TestNamesThatReadTheSameAreTheSame(t *testing.T) {
	for _, c := range []struct {
		a, b       string
		name, find bool // same as a name; same to a search
	}{
		{"Storm lantern", "storm LANTERN", true, true},
		{"  Storm \t lantern\n", "Storm lantern", true, true},
		{"Ärmelkanal", "äRMELKANAL", true, true},
		{"Ärmel", "A\u0308rmel", true, true},    // composed and apart
		{"ΣΙΓΜΑΣ", "σιγμας", true, true},        // final sigma folds with the others
		{"K\u212Aelvin", "kkelvin", true, true}, // the kelvin sign folds to k
		{"Лампа", "ЛАМПА", true, true},
		{"No.\u00a01", "no. 1", true, true}, // a space that does not break
		{"ﬁg", "fig", true, true},           // a ligature
		{"Crème", "creme", false, true},     // marks tell names apart, and do not hide them
		{"Storm lantern", "Stormlantern", false, false},
		{"Straße", "Strasse", false, false}, // simple folding keeps the length
		{"I", "ı", false, false},            // dotless i is a letter of its own
		{"Harbour light 1", "Harbour light 2", false, false},
		{"", " ", true, true},
		{"\u1e9e", "ß", true, true},                       // capital sharp s, status S
		{"e\u0301\u0323 x", "\u1eb9\u0301 X", true, true}, // marks in another order
		{"ＦＵＬＬ", "full", true, true},                      // full width
		{"Quillfen №1", "quillfen no1", true, true},       // numero sign
		{"ſoap", "soap", true, true},                      // long s
		{"שָׁלוֹם", "שלום", false, true},                  // points are marks
		{"ガ", "カ", false, true},                           // voiced mark
		{"ｶﾞ", "ガ", true, true},                           // half width
		{"lighthouse", "lighthouse\x00", false, false},
		{"Zoë’s", "Zoë's", false, false}, // apostrophes differ
		{"soap", "ѕоар", false, false},   // Cyrillic look-alikes are other letters
		{"İ", "i", false, true},          // dotted capital: i with a mark
	} {
		if got := studio.NameKey(c.a) == studio.NameKey(c.b); got != c.name {
			t.Errorf("as names %q and %q are the same: %v, want %v", c.a, c.b, got, c.name)
		}
		if got := studio.SearchKey(c.a) == studio.SearchKey(c.b); got != c.find {
			t.Errorf("to a search %q and %q are the same: %v, want %v", c.a, c.b, got, c.find)
		}
	}
}

func TestSettingsSayEveryFieldThatIsWrong(t *testing.T) {
	if l := studio.DefaultSettings().Validate(); len(l) != 0 {
		t.Errorf("the settings of a fresh studio: %v", l)
	}
	for field, spoil := range map[string]func(*studio.Settings){
		"studio_name":                  func(s *studio.Settings) { s.StudioName = "a\x00b" },
		"mass":                         func(s *studio.Settings) { s.Mass = 99 },
		"volume":                       func(s *studio.Settings) { s.Volume = 99 },
		"length":                       func(s *studio.Settings) { s.Length = 99 },
		"temperature":                  func(s *studio.Settings) { s.Temperature = 99 },
		"currency":                     func(s *studio.Settings) { s.Currency = "eur" },
		"scale_division_g":             func(s *studio.Settings) { s.ScaleDivisionG = quantity.Some(0) },
		"naoh_purity_pct":              func(s *studio.Settings) { s.NaOHPurityPct = quantity.Some(100.1) },
		"koh_purity_pct":               func(s *studio.Settings) { s.KOHPurityPct = quantity.Some(math.NaN()) },
		"purity_half_width_pct":        func(s *studio.Settings) { s.PurityHalfWidthPct = quantity.Some(-0.1) },
		"cure_water_loss_pct":          func(s *studio.Settings) { s.CureWaterLossPct = quantity.Some(math.Inf(1)) },
		"overage_pct":                  func(s *studio.Settings) { s.OveragePct = quantity.Some(100.1) },
		"pot_loss_g":                   func(s *studio.Settings) { s.PotLossG = quantity.Some(-1) },
		"pot_g":                        func(s *studio.Settings) { s.PotG, s.PotLossG = quantity.Some(15), quantity.Some(15) },
		"limits.superfat_cold_pct":     func(s *studio.Settings) { s.Limits.SuperfatColdPct = 0 },
		"limits.superfat_hot_pct":      func(s *studio.Settings) { s.Limits.SuperfatHotPct = 100 },
		"limits.superfat_salt_bar_pct": func(s *studio.Settings) { s.Limits.SuperfatSaltBarPct = math.NaN() },
		"limits.lye_min_pct":           func(s *studio.Settings) { s.Limits.LyeMinPct = -1 },
		"limits.lye_max_pct":           func(s *studio.Settings) { s.Limits.LyeMaxPct = s.Limits.LyeMinPct },
		"time_zone":                    func(s *studio.Settings) { s.TimeZone = "Local" },
		"emergency":                    func(s *studio.Settings) { s.Emergency = "\xff" },
	} {
		s := studio.DefaultSettings()
		spoil(&s)
		l := s.Validate()
		if len(l) != 1 || l[0].Field != field || l[0].Kind != fault.Invalid || l[0].Message == "" {
			t.Errorf("%s: %v", field, l)
		}
	}
	for _, zone := range []string{"Europe/Lisbon", "UTC", "America/Halifax"} {
		s := studio.DefaultSettings()
		s.TimeZone = zone
		if l := s.Validate(); len(l) != 0 || s.Location().String() != zone {
			t.Errorf("%s: %v, %v", zone, l, s.Location())
		}
	}
	if got := (studio.Settings{}).Location(); got != time.Local {
		t.Errorf("without a zone the studio is in %v", got)
	}
}

func TestTheLimitsReachTheSums(t *testing.T) {
	s := studio.DefaultSettings()
	l := s.SoapLimits()
	// Common practice, no source.
	if l.SuperfatColdPct != 12 || l.SuperfatHotPct != 15 || l.SuperfatSaltPct != 25 || l.LyeLowPct != 22 || l.LyeHighPct != 42 {
		t.Errorf("%+v", l)
	}
	s.Mass = quantity.Ounce
	if got := s.SoapLimits().Mass(quantity.GramsPerOunce * 2.5); got != "2.50"+quantity.UnitSpace+"oz" {
		t.Errorf("2.5 oz is written %q", got)
	}
}

func TestSizesReadBackAsTheyWereWritten(t *testing.T) {
	for _, by := range []studio.SizeBy{studio.ByFats, studio.ByBatter, studio.ByMould} {
		b, err := json.Marshal(studio.Size{By: by})
		if err != nil {
			t.Fatal(err)
		}
		var back studio.Size
		if err := json.Unmarshal(b, &back); err != nil || back.By != by {
			t.Errorf("%s reads back as %v, %v", b, back.By, err)
		}
	}
	var z studio.Size
	if err := json.Unmarshal([]byte(`{"by":"moulds"}`), &z); err == nil {
		t.Error("a way to size that there is not was read")
	}
	if _, err := json.Marshal(studio.Size{By: 9}); err == nil {
		t.Error("a way to size that there is not was written")
	}
}

func TestARunIsNamedByWhatItMakes(t *testing.T) {
	alone := studio.Run{Batches: []studio.Batch{{FormulaName: "Storm lantern", FormulaN: 6}}}
	of := func(pieces ...int) studio.Run {
		r := studio.Run{Batches: make([]studio.Batch, len(pieces))}
		for i, n := range pieces {
			r.Designs = append(r.Designs, studio.RunDesign{Name: string(rune('A' + i)), Pieces: n})
		}
		return r
	}
	for _, c := range []struct {
		run             studio.Run
		title, batching string
	}{
		{alone, "Storm lantern", "version 6"},
		{of(36), "36 × A", "a run of 1 batch"},
		{of(36, 0, 2), "36 × A, 2 × C", "a run of 3 batches"}, // B is made only to be embedded
		{of(1, 2, 3, 4, 5), "1 × A, 2 × B, 3 × C, 2 more", "a run of 5 batches"},
	} {
		if got := c.run.Title(); got != c.title {
			t.Errorf("the title is %q, want %q", got, c.title)
		}
		if got := c.run.Extent(); got != c.batching {
			t.Errorf("its batches are %q, want %q", got, c.batching)
		}
	}
}
