package soap

import (
	"testing"

	"barwright/formula"
)

// tenFats is the formula behind the speed figures: ten fats with the
// catalogue's ranges, an extra with acid, and a scent.
func tenFats() *formula.Formula {
	f := workedOne()
	f.Fats = nil
	for _, id := range []string{"olive-oil", "coconut-oil", "palm-oil", "castor-oil", "shea-butter", "cocoa-butter",
		"sunflower-oil-high-oleic", "rice-bran-oil", "lard", "almond-oil-sweet"} {
		f.Fats = append(f.Fats, formula.Fat{ID: id, Pct: 10})
	}
	return f
}

// BenchmarkWorkTenFats works out a formula with its first-order spread.
func BenchmarkWorkTenFats(b *testing.B) {
	f, cat := tenFats(), mustCatalogue(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Work(f, cat); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDrawMillion takes 1 000 000 draws of it, and finds the interval and
// the chances.
func BenchmarkDrawMillion(b *testing.B) {
	r := mustWork(b, tenFats())
	b.ReportAllocs()
	for b.Loop() {
		r.Draw(1_000_000, Seed)
	}
}

func BenchmarkFindings(b *testing.B) {
	r := mustWork(b, tenFats())
	b.ReportAllocs()
	for b.Loop() {
		Findings(r, r.Superfat, DefaultLimits())
	}
}

func BenchmarkComposition(b *testing.B) {
	r := mustWork(b, tenFats())
	b.ReportAllocs()
	for b.Loop() {
		r.Composition()
	}
}
