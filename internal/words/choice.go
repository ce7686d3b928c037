package words

import (
	"fmt"
	"slices"
)

// A Choice is a table of the words that files and stored records have for the
// values of one type: the word of value i is Words[i].
type Choice struct {
	What  string // what a value is, for the error: "stage"
	Words []string
}

// Word is the word of value i.
func (c Choice) Word(i uint8) string {
	if int(i) < len(c.Words) {
		return c.Words[i]
	}
	return fmt.Sprintf("unknown (%d)", i)
}

// Marshal writes the word of value i, for a MarshalText. It fails on a value that
// the table does not hold.
func (c Choice) Marshal(i uint8) ([]byte, error) {
	if int(i) >= len(c.Words) {
		return nil, fmt.Errorf("%d is no %s", i, c.What)
	}
	return []byte(c.Words[i]), nil
}

// Unmarshal sets i to the value of a word, for an UnmarshalText. It fails on a
// word that the table does not hold, and sets 0 then.
func (c Choice) Unmarshal(i *uint8, text []byte) error {
	at := slices.Index(c.Words, string(text))
	*i = uint8(max(at, 0))
	if at < 0 {
		return fmt.Errorf("%.60q is no %s", text, c.What)
	}
	return nil
}
