package catalogue

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"

	"barwright/fault"
)

func def(t testing.TB) *Catalogue {
	t.Helper()
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestGetSaysWhatWasMeant(t *testing.T) {
	c := def(t)
	for _, m := range []struct{ typed, want string }{
		{"olve-oil", "did you mean olive-oil?"},
		{"oliveoil", "did you mean olive-oil?"},
		{"Olive-Oil", "olive-oil"},
		{"olive oil", "olive-oil"},
		{"coconutoil", "coconut-oil"},
		{"coocnut-oil", "coconut-oil"}, // two letters swapped
		{"shea butter", "shea-butter"},
		{"sheabutter", "shea-butter"},
		{"Cocos Nucifera Oil", "coconut-oil"}, // by INCI name
		{"canola", "rapeseed-oil-low-erucic"}, // a word of the name
		{"jojoba", "jojoba-oil"},
		{"table salt", "sodium-chloride"}, // by name
		{"stearic-acid", "comes in grades that take different amounts of lye: say which, stearic-acid-50 or stearic-acid-95"},
		{"zzzzzzzz", "nothing in it is spelt like that"},
		{"", "nothing in it is spelt like that"},
		{strings.Repeat("x", 10_000), "…"},
	} {
		in, err := c.Get(m.typed)
		if in != nil || err == nil {
			t.Errorf("%.40q was found", m.typed)
			continue
		}
		var e *fault.Error
		if !errors.As(err, &e) || e.Kind != fault.NotFound {
			t.Errorf("%.40q: %v is no NotFound", m.typed, err)
		}
		if !strings.Contains(err.Error(), m.want) || len(err.Error()) > 300 {
			t.Errorf("%.40q: %q does not say %q", m.typed, err, m.want)
		}
	}
}

func TestSearch(t *testing.T) {
	c := def(t)
	for _, s := range []struct{ text, id string }{
		{"OLIVE", "olive-oil"},
		{"butyrospermum", "shea-butter"},
		{"sunflower high", "sunflower-oil-high-oleic"},
		{"high sunflower", "sunflower-oil-high-oleic"},
		{"ci 77891", "titanium-dioxide"},
		{"Fragrance", "parfum"}, // a US name
		{"  goat   powder ", "goat-milk-powder"},
	} {
		if !slices.Contains(ids(c.Search(s.text)), s.id) {
			t.Errorf("%q does not find %s: %v", s.text, s.id, ids(c.Search(s.text)))
		}
	}
	if got := c.Search("olive zebra"); got != nil {
		t.Errorf("one word of two was enough: %v", ids(got))
	}
	if got := c.Search(" "); len(got) != len(c.All()) {
		t.Errorf("no words find %d of %d", len(got), len(c.All()))
	}
	if got := c.Search("kokum"); len(got) != 1 {
		t.Errorf("kokum finds %v", ids(got))
	}
}

func ids(list []*Ingredient) []string {
	var out []string
	for _, in := range list {
		out = append(out, in.ID)
	}
	return out
}

func TestListsAreTheCallers(t *testing.T) {
	c := def(t)
	all := c.All()
	first := all[0]
	clear(all)
	if c.All()[0] != first {
		t.Error("a caller emptied the catalogue")
	}
	for _, in := range c.Fats() {
		if in.Fat == nil {
			t.Errorf("%s is no fat", in.ID)
		}
	}
	for _, in := range c.Having(RoleExtra | RoleLiquid) {
		if !in.Roles.Has(RoleExtra | RoleLiquid) {
			t.Errorf("%s is %v", in.ID, in.Roles.Words())
		}
	}
	if n := len(c.Having(RoleLiquid)); n < 15 {
		t.Errorf("%d liquids", n)
	}
}

func TestReadsAtTheSameTime(t *testing.T) {
	c := def(t)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 50 {
				if _, err := c.Get("olive-oil"); err != nil {
					t.Error(err)
				}
				c.Search("oil")
				c.Near("olve-oil", 3)
				if _, err := c.With(Entry{ID: "olive-oil", Note: "from the grove"}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
}

func TestGetOfWhatIsThereAllocatesNothing(t *testing.T) {
	c := def(t)
	if n := testing.AllocsPerRun(100, func() {
		if _, err := c.Get("olive-oil"); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkGet(b *testing.B) {
	c := def(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Get("olive-oil"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkGetMisspelt(b *testing.B) {
	c := def(b)
	for b.Loop() {
		if _, err := c.Get("olve-oil"); err == nil {
			b.Fatal("found")
		}
	}
}
