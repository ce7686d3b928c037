package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The keys of the object are promised: another, or one less, is a fault.
func TestForecastKeepsItsKeys(t *testing.T) {
	status, out, errs := run(t, "", "forecast", "--json", "../../examples/quillfen-sales.csv")
	if status != Done || errs != "" {
		t.Fatal(status, errs)
	}
	var o struct {
		Format *string
		Series []struct {
			Product, Class, Chosen, Reason *string
			Weeks                          *int
			ADI, CV2                       *float64
			Candidates                     []struct {
				Method *string
				MASE   *float64
			}
			Forecast []struct {
				Week     *string
				Mean     *float64
				P10, P90 *int
			}
			Safety *struct {
				LeadWeeks    *int     `json:"lead_weeks"`
				ServicePct   *float64 `json:"service_pct"`
				Stock        *float64
				ReorderLevel *float64 `json:"reorder_level"`
			}
		}
	}
	d := json.NewDecoder(strings.NewReader(out))
	d.DisallowUnknownFields()
	if err := d.Decode(&o); err != nil {
		t.Fatal(err)
	}
	if len(o.Series) != 7 || *o.Format != "sales-forecast/1" {
		t.Fatalf("%d series of %v", len(o.Series), *o.Format)
	}
	classes := map[string]bool{"smooth": true, "erratic": true, "intermittent": true, "lumpy": true}
	for _, s := range o.Series {
		if s.Product == nil || s.Class == nil || s.Chosen == nil || s.Reason == nil || s.Weeks == nil || s.ADI == nil || s.CV2 == nil || s.Safety == nil {
			t.Fatalf("a key is missing: %+v", s)
		}
		if !classes[*s.Class] || len(s.Candidates) < 7 || len(s.Forecast) != 12 {
			t.Errorf("%s: class %s, %d candidates, %d weeks", *s.Product, *s.Class, len(s.Candidates), len(s.Forecast))
		}
		sum := 0.0
		for i, w := range s.Forecast {
			day, err := time.Parse(time.DateOnly, *w.Week)
			if err != nil || day.Weekday() != time.Monday || w.Mean == nil || w.P10 == nil || w.P90 == nil {
				t.Fatalf("%+v", w)
			}
			if i < 7 {
				sum += *w.Mean
			}
		}
		f := s.Safety
		if *f.LeadWeeks != 6 || *f.ServicePct != 95 || *f.ReorderLevel-*f.Stock-sum > 1e-6 || sum-*f.ReorderLevel+*f.Stock > 1e-6 {
			t.Errorf("%s: %v wanted, stock %v, level %v", *s.Product, sum, *f.Stock, *f.ReorderLevel)
		}
	}
}

// A file that is far too large is told so by its size, and a stream as soon as it is.
func TestLargeSalesAreRefused(t *testing.T) {
	name := filepath.Join(t.TempDir(), "large.csv")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(100 << 20); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	status, out, errs := run(t, "", "forecast", name)
	want := name + ": The file has 100 MiB, and a file of sales may have 64 MiB at most. Check that it is the right file, or make it smaller.\n"
	if status != Refused || out != "" || errs != want {
		t.Errorf("%d, %q, %q", status, out, errs)
	}
	endless := "product,week,units\n" + strings.Repeat("a,2026-11-23,1\n", 65<<20/15)
	status, out, errs = run(t, endless, "forecast", "-")
	if status != Refused || out != "" || !strings.HasPrefix(errs, "standard input: The file is over 64 MiB, ") || strings.Count(errs, "\n") != 1 {
		t.Errorf("%d, %q, %q", status, out, errs)
	}
}
