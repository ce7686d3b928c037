package mould

import (
	"math"
	"testing"

	"barwright/fault"
)

func TestTheLevelOfAShareOfTheCavity(t *testing.T) {
	m := Mould{Shape: Cuboid, Cavities: 1, Sets: 1, Dimensions: Dimensions{LengthMM: some(80), WidthMM: some(50), DepthMM: some(40)}}
	for pct, want := range map[float64]float64{0: 0, 25: 10, 100: 40} {
		if mm, err := m.LevelAt(pct); err != nil || math.Abs(mm-want) > 1e-9 {
			t.Errorf("%v %% stands at %v mm, %v; want %v", pct, mm, err, want)
		}
	}
	for _, pct := range []float64{-1, 101, math.NaN()} {
		if _, err := m.LevelAt(pct); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%v %% gives %v", pct, err)
		}
	}
}
