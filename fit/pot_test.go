package fit

import (
	"testing"

	"barwright/quantity"
)

func TestAPotIsStirredFromAQuarterUnlessTheMakerSays(t *testing.T) {
	if p := PotFor(2000, quantity.Maybe{}); p.MinG != 500 || p.MaxG != 2000 {
		t.Errorf("got %+v", p)
	}
	if p := PotFor(2000, quantity.Some(300)); p.MinG != 300 {
		t.Errorf("got %+v", p)
	}
}
