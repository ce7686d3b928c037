package words

import "testing"

func TestDistance(t *testing.T) {
	for _, d := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"kitten", "sitting", 3}, // the textbook pair
		{"olve", "olive", 1}, {"oilve", "olive", 1}, {"ca", "abc", 3}, // optimal string alignment, not the full measure
		{"é", "e", 1},
	} {
		if got := Distance(d.a, d.b); got != d.want {
			t.Errorf("%q to %q: %d, want %d", d.a, d.b, got, d.want)
		}
	}
}

func TestANearWordIsOffered(t *testing.T) {
	known := []string{"olive", "coconut", "sweet-almond"}
	for word, want := range map[string]string{
		"olve": "olive", "Oilve": "olive", "sweet almond": "sweet-almond", "SWEET_ALMNOD": "sweet-almond",
		"ghee": "", "": "", "coconut-and-much-else-that-goes-on-and-on-and-on-until-it-is-too-long": "",
	} {
		if got := Nearest(word, known); got != want {
			t.Errorf("%q: %q, want %q", word, got, want)
		}
	}
	if got := Meant("olve", known); got != "; did you mean olive?" {
		t.Error(got)
	}
	if got := Meant("ghee", known); got != "" {
		t.Error(got)
	}
}
