package words

import "testing"

func TestChoice(t *testing.T) {
	c := Choice{What: "stage", Words: []string{"", "thin", "thick"}}
	for i, want := range []string{"", "thin", "thick", "unknown (3)"} {
		if got := c.Word(uint8(i)); got != want {
			t.Errorf("value %d is %q, want %q", i, got, want)
		}
	}
	for i, want := range c.Words {
		text, err := c.Marshal(uint8(i))
		back := uint8(9)
		if err != nil || string(text) != want || c.Unmarshal(&back, text) != nil || back != uint8(i) {
			t.Errorf("value %d is written %q, %v, and read as %d", i, text, err, back)
		}
	}
	if _, err := c.Marshal(3); err == nil || err.Error() != "3 is no stage" {
		t.Errorf("a value beyond the table: %v", err)
	}
	i := uint8(2)
	if err := c.Unmarshal(&i, []byte("Thin")); err == nil || err.Error() != `"Thin" is no stage` || i != 0 {
		t.Errorf("a word beyond the table: %v, and the value is %d", err, i)
	}
}
