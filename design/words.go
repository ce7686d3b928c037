package design

import "barwright/internal/words"

var kinds = words.Choice{What: "kind of part", Words: []string{KindUnset: "", Pour: "pour", Topping: "topping", Embed: "embed", Piping: "piping",
	Sprinkle: "sprinkle", Wrap: "wrap"}}

// Kinds are all kinds a part may have, in the order of a form.
func Kinds() []Kind { return []Kind{Pour, Topping, Embed, Piping, Sprinkle, Wrap} }

// String is the word of files and forms; "" for KindUnset.
func (k Kind) String() string { return kinds.Word(uint8(k)) }

// Article is the kind as a sentence has it: a pour, an embed, piping.
func (k Kind) Article() string {
	switch k {
	case Embed:
		return "an embed"
	case Piping:
		return "piping"
	}
	return "a " + k.String()
}

// MarshalText writes the word.
func (k Kind) MarshalText() ([]byte, error) { return kinds.Marshal(uint8(k)) }

// UnmarshalText reads the word.
func (k *Kind) UnmarshalText(b []byte) error { return kinds.Unmarshal((*uint8)(k), b) }

// Batter reports that a part of this kind is made of a formula's batter.
func (k Kind) Batter() bool { return k == Pour || k == Topping || k == Piping }

// Level reports that a part of this kind lies level in the cavity.
func (k Kind) Level() bool { return k == Pour || k == Topping }

// Item reports that a part of this kind is a thing from the shelf.
func (k Kind) Item() bool { return k == Sprinkle || k == Wrap }
