package words

import (
	"slices"
	"testing"
)

func TestPair(t *testing.T) {
	// Two letters are most alike, the first alone half.
	like := func(x, y *string) int {
		switch {
		case *x == *y:
			return 2
		case (*x)[0] == (*y)[0]:
			return 1
		}
		return 0
	}
	for _, c := range []struct {
		name       string
		a, b       []string
		from, gone []int
	}{
		{"nothing", nil, nil, []int{}, nil},
		{"moved", []string{"ax", "by"}, []string{"by", "ax"}, []int{1, 0}, nil},
		{"the most alike first", []string{"ax", "ay"}, []string{"ay", "az"}, []int{1, 0}, nil},
		{"the nearest among equals", []string{"ax", "bx", "ax"}, []string{"cx", "dx", "ax"}, []int{-1, -1, 2}, []int{0, 1}},
		{"each but once", []string{"ax"}, []string{"ax", "ax"}, []int{0, -1}, nil},
	} {
		from, gone := Pair(c.a, c.b, 2, like)
		if !slices.Equal(from, c.from) || !slices.Equal(gone, c.gone) {
			t.Errorf("%s: from %v, gone %v; want %v, %v", c.name, from, gone, c.from, c.gone)
		}
	}
}
