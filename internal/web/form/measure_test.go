package form

import "testing"

func TestWaitsAreReadAsAMakerTypesThem(t *testing.T) {
	for text, want := range map[string]float64{"90": 90, "2 h": 120, "1 h 30 min": 90, "1.5h": 90, "3 d": 4320, "1 day 2 hours": 1560, "40 min": 40, "0": 0,
		"5 m": 5, "5 minute": 5, "5 minutes": 5, "2 hour": 120, "3 day": 4320, "3 days": 4320} {
		got, err := ParseWait(text)
		if err != nil || got != want {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
		back, err := ParseWait(ShowWait(want))
		if err != nil || back != want {
			t.Errorf("%v is shown as %q, which reads as %v, %v", want, ShowWait(want), back, err)
		}
	}
	for _, text := range []string{"", "soon", "2 fortnights", "h", "1 2", "2 h 30", "1e400 h", "-5", "NaN"} {
		if got, err := ParseWait(text); err == nil {
			t.Errorf("%q is taken for %v minutes", text, got)
		}
	}
}
