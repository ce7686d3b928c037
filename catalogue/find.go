package catalogue

import (
	"cmp"
	"slices"
	"strings"
	"sync"

	"barwright/fault"
	"barwright/internal/words"
)

// Catalogue is a set of ingredients to look up. It does not change once made,
// and any number of goroutines may read it. With makes a new one. The
// ingredients that it returns are shared, so nobody may change them.
type Catalogue struct {
	list []*Ingredient // by name
	byID map[string]*Ingredient
	hay  []string // the text that Search looks in, in the order of list
	// keys are the id, the name and the INCI name of each, as key writes them, in
	// the order of list. They are made when the first misspelt name is looked for.
	keys func() [][3]string
}

// aliases are ids that stand for an ingredient listed under another id.
var aliases = map[string]string{
	"kaolin-colour": "kaolin", // the same clay; as a colourant its name in the EU is CI 77004
}

// grades are names that stand for several ingredients with different chemistry,
// so that the maker must choose.
var grades = map[string][]string{
	"stearic-acid": {"stearic-acid-50", "stearic-acid-95"},
}

// index makes a catalogue from the ingredients. It sorts list by name.
func index(list []*Ingredient) *Catalogue {
	c := &Catalogue{list: list, byID: make(map[string]*Ingredient, len(list)+len(aliases)), hay: make([]string, len(list))}
	folded := make(map[*Ingredient]string, len(list))
	for _, in := range list {
		folded[in] = strings.ToLower(in.Name)
	}
	slices.SortFunc(list, func(a, b *Ingredient) int {
		return cmp.Or(cmp.Compare(folded[a], folded[b]), cmp.Compare(a.ID, b.ID))
	})
	for i, in := range list {
		c.byID[in.ID] = in
		c.hay[i] = strings.ToLower(in.ID + "\n" + in.Name + "\n" + in.INCI + "\n" + in.USName)
	}
	for id, to := range aliases {
		if in := c.byID[to]; in != nil && c.byID[id] == nil {
			c.byID[id] = in
		}
	}
	c.keys = sync.OnceValue(func() [][3]string {
		out := make([][3]string, len(list))
		for i, in := range list {
			out[i] = [3]string{in.ID, key(in.Name), key(in.INCI)}
		}
		return out
	})
	return c
}

// Get returns the ingredient with that id. An id that another ingredient took
// over (kaolin-colour) returns that ingredient.
//
// An unknown id is a fault.NotFound without a field. Its sentence lists the
// nearest ids ("did you mean olive-oil?"). A name that stands for several
// grades (stearic-acid) is a fault.NotFound that lists them.
func (c *Catalogue) Get(id string) (*Ingredient, error) {
	if in, ok := c.byID[id]; ok {
		return in, nil
	}
	return nil, c.notFound(id)
}

func (c *Catalogue) notFound(id string) error {
	if g := grades[id]; g != nil {
		return fault.NotFoundf("", "%q comes in grades that take different amounts of lye: say which, %s.", id, words.Either(g))
	}
	shown := id
	if r := []rune(id); len(r) > 60 {
		shown = string(r[:60]) + "…"
	}
	if near := c.Near(id, 3); len(near) > 0 {
		return fault.NotFoundf("", "%q is not in the catalogue; did you mean %s?", shown, words.Either(near))
	}
	return fault.NotFoundf("", "%q is not in the catalogue, and nothing in it is spelt like that.", shown)
}

// Named returns the ingredient that text means. It tries the id first, then the
// name, then the INCI name or the name on a US label. Case, hyphens and what a
// name adds in brackets do not count.
//
// Errors: those of Get. A name that several ingredients share is a
// fault.NotFound that lists their ids.
func (c *Catalogue) Named(text string) (*Ingredient, error) {
	if in, ok := c.byID[text]; ok {
		return in, nil
	}
	want := key(text)
	if in, ok := c.byID[want]; ok {
		return in, nil
	}
	if want == "" || len(want) > 200 || grades[want] != nil {
		return nil, c.notFound(cmp.Or(want, text))
	}
	for _, names := range []func(in *Ingredient) [2]string{
		func(in *Ingredient) [2]string {
			plain, _, _ := strings.Cut(in.Name, "(")
			return [2]string{key(in.Name), key(plain)}
		},
		func(in *Ingredient) [2]string { return [2]string{key(in.INCI), key(in.USName)} },
	} {
		var hits []string
		var hit *Ingredient
		for _, in := range c.list {
			if n := names(in); n[0] == want || n[1] == want {
				hits, hit = append(hits, in.ID), in
			}
		}
		switch {
		case len(hits) == 1:
			return hit, nil
		case len(hits) > 1:
			return nil, fault.NotFoundf("", "%q is the name of several ingredients: say which, %s.", text, words.Either(hits))
		}
	}
	return nil, c.notFound(text)
}

// Fats returns the ingredients that may be listed among the fats, by name.
func (c *Catalogue) Fats() []*Ingredient { return c.Having(RoleFat) }

// Extras returns the ingredients that may be dosed in addition to the fats, by
// name.
func (c *Catalogue) Extras() []*Ingredient { return c.Having(RoleExtra) }

// All returns every ingredient, by name.
func (c *Catalogue) All() []*Ingredient { return slices.Clone(c.list) }

// Having returns every ingredient that has all the roles of r, by name.
func (c *Catalogue) Having(r Role) []*Ingredient {
	var out []*Ingredient
	for _, in := range c.list {
		if in.Roles.Has(r) {
			out = append(out, in)
		}
	}
	return out
}

// Search returns the ingredients whose id, name, INCI name or US name together
// contain every word of text, by name. Case does not count. A text without
// words returns all of them.
func (c *Catalogue) Search(text string) []*Ingredient {
	words := strings.Fields(strings.ToLower(text))
	var out []*Ingredient
next:
	for i, hay := range c.hay {
		for _, w := range words {
			if !strings.Contains(hay, w) {
				continue next
			}
		}
		out = append(out, c.list[i])
	}
	return out
}

// Near returns at most n ids of ingredients whose id, name or INCI name is
// spelt much like id or contains it, the nearest first.
func (c *Catalogue) Near(id string, n int) []string {
	want := key(id)
	if want == "" || len(want) > 100 {
		return nil
	}
	type hit struct {
		id string
		d  int
	}
	var hits []hit
	limit := max(1, min(len(want)/3, 4))
	keys := c.keys()
	for i, in := range c.list {
		d := limit + 1
		for _, name := range keys[i] {
			if at, near := words.Within(want, name, limit); near {
				d = min(d, at)
			}
		}
		if d <= limit || len(want) >= 4 && (strings.Contains(in.ID, want) || strings.Contains(keys[i][1], want)) {
			hits = append(hits, hit{in.ID, d})
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int { return cmp.Or(cmp.Compare(a.d, b.d), cmp.Compare(a.id, b.id)) })
	var out []string
	for _, h := range hits[:min(n, len(hits))] {
		out = append(out, h.id)
	}
	return out
}

// key writes a name in the form of an id: lower case, words joined by hyphens.
func key(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == ',' || r == '(' || r == ')'
	}), "-")
}

// wordsOf returns the names of the bits that are set, in alphabetical order.
func wordsOf[T ~uint8 | ~uint16](set T, names map[string]T) []string {
	var out []string
	for w, bit := range names {
		if set&bit != 0 {
			out = append(out, w)
		}
	}
	slices.Sort(out)
	return out
}

// Words returns the roles as an Entry writes them, in alphabetical order.
func (r Role) Words() []string { return wordsOf(r, roleNames) }

// Words returns the natures as an Entry writes them, in alphabetical order.
func (n Nature) Words() []string { return wordsOf(n, natureNames) }

// String joins the words with commas.
func (n Nature) String() string { return strings.Join(n.Words(), ", ") }
