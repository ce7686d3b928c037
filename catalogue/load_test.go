package catalogue

import "testing"

func TestDefaultLoads(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	if n := len(c.Fats()); n < 54 {
		t.Errorf("%d fats", n)
	}
}

func BenchmarkLoad(b *testing.B) {
	files, err := embedded()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := load(files); err != nil {
			b.Fatal(err)
		}
	}
}
