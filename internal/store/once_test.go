package store_test

import (
	"context"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/design"
	"barwright/fault"
	"barwright/mould"
	"barwright/studio"
)

// onceCase is an act that counts once under an id, as one of the studio's tests.
type onceCase struct {
	name string
	// do does the act; with another body where other says so. It answers the
	// result as something to compare.
	do func(ctx context.Context, s *studio.Studio, other bool) (any, error)
	// count is how often it was done.
	count func(t *testing.T, s *studio.Studio) int
	// fail is the same act asked for in a way that is refused, with the field.
	fail  func(ctx context.Context, s *studio.Studio) error
	field string
	// mend takes the reason away for which fail was refused, where the same body
	// is then accepted; nil where another body is needed.
	mend func(t *testing.T, s *studio.Studio)
}

// onceCases are the acts of every kind of record and of runs, on what is in the studio.
func onceCases(t *testing.T, s *studio.Studio) []onceCase {
	q := quarried(t, s)
	var cases []onceCase
	cases = append(cases, onceOf(t, s, "formula", func(s *studio.Studio) studio.Records[studio.Formula] { return s.Formulas },
		func(name string, amount int) studio.Formula {
			f := lantern(name)
			f.FatsG = float64(1000 + amount)
			return studio.Formula{Formula: f, Kept: worked()}
		})...)
	lighthouse := func(name string, amount int) *design.Design {
		d := q.lighthouse(name)
		d.Parts[0].FillToPct.V = float64(10 + amount)
		return d
	}
	cases = append(cases, onceOf(t, s, "design", func(s *studio.Studio) studio.Records[*design.Design] { return s.Designs }, lighthouse)...)
	cases = append(cases, onceOf(t, s, "mould", func(s *studio.Studio) studio.Records[mould.Mould] { return s.Moulds },
		func(name string, amount int) mould.Mould {
			m := loaf(name)
			m.Sets = 1 + amount
			return m
		})...)
	house := q.keep(t, q.lighthouse("Lighthouse of the run")).ID
	return append(cases, onceCase{
		name: "make run",
		do: func(ctx context.Context, s *studio.Studio, other bool) (any, error) {
			m := studio.Making{Designs: []studio.RunDesign{{DesignID: house, N: 1, Pieces: 3, Made: 3}}, MouldIDs: []string{q.mould},
				Batches: []studio.Batching{{FormulaID: q.dark, FormulaN: 1, MassG: 100}}, Working: []byte("{}")}
			if other {
				m.Designs[0].Pieces = 4
			}
			return s.MakeRun(ctx, m)
		},
		count: func(t *testing.T, s *studio.Studio) int { return runs(t, s, studio.RunsOf{}, studio.Slice{}).Total },
		fail: func(ctx context.Context, s *studio.Studio) error {
			_, err := s.MakeRun(ctx, alone(q.dark, 2, studio.Size{FatsG: 500}))
			return err
		},
		field: "version",
		mend: func(t *testing.T, s *studio.Studio) {
			must(t, func() (studio.FormulaVersion, error) {
				return s.Formulas.Keep(t.Context(), q.dark, 1, studio.Formula{Formula: lantern("Wet rock"), Kept: worked()}, "second")
			})
		},
	})
}

func onceOf[Doc any](t *testing.T, s *studio.Studio, kind string, of func(*studio.Studio) studio.Records[Doc], doc func(name string,
	amount int) Doc) []onceCase {
	ctx := t.Context()
	id := must(t, func() (studio.Version[Doc], error) { return of(s).New(ctx, doc("Kept "+kind, 1), "") }).ID
	source := must(t, func() (studio.Version[Doc], error) { return of(s).New(ctx, doc("Source "+kind, 1), "") }).ID
	taken := must(t, func() (studio.Version[Doc], error) { return of(s).New(ctx, doc("Taken "+kind, 1), "") }).ID
	total := func(t *testing.T, s *studio.Studio) int {
		return must(t, func() (studio.Page[studio.Record[Doc]], error) { return of(s).List(t.Context(), "", studio.Slice{}) }).Total
	}
	free := func(t *testing.T, s *studio.Studio) {
		if err := of(s).Archive(t.Context(), taken); err != nil {
			t.Fatal(describe(err))
		}
	}
	amount := func(other bool) int {
		if other {
			return 7
		}
		return 2
	}
	return []onceCase{{
		name: "new " + kind,
		do: func(ctx context.Context, s *studio.Studio, other bool) (any, error) {
			return of(s).New(ctx, doc("New "+kind, amount(other)), "a note")
		},
		count: total,
		fail: func(ctx context.Context, s *studio.Studio) error {
			_, err := of(s).New(ctx, doc("Taken "+kind, 3), "")
			return err
		},
		field: "name", mend: free,
	}, {
		name: "keep " + kind,
		do: func(ctx context.Context, s *studio.Studio, other bool) (any, error) {
			return of(s).Keep(ctx, id, 1, doc("Kept "+kind, amount(other)), "")
		},
		count: func(t *testing.T, s *studio.Studio) int {
			return len(must(t, func() ([]studio.Version[Doc], error) { return of(s).Versions(t.Context(), id) }))
		},
		fail: func(ctx context.Context, s *studio.Studio) error {
			_, err := of(s).Keep(ctx, source, 1, doc("Taken "+kind, 3), "")
			return err
		},
		field: "name", mend: free,
	}, {
		name: "duplicate " + kind,
		do: func(ctx context.Context, s *studio.Studio, other bool) (any, error) {
			return of(s).Duplicate(ctx, source, 1, map[bool]string{false: "Duplicate ", true: "Other "}[other]+kind)
		},
		count: total,
		fail: func(ctx context.Context, s *studio.Studio) error {
			_, err := of(s).Duplicate(ctx, source, 1, "Taken "+kind)
			return err
		},
		field: "name", mend: free,
	}}
}

// onEachOnce runs one test for every act that counts once, on every engine.
func onEachOnce(t *testing.T, test func(t *testing.T, s, again *studio.Studio, c onceCase)) {
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		again := opened(t, where)
		for _, c := range onceCases(t, s) {
			t.Run(c.name, func(t *testing.T) { test(t, s, again, c) })
		}
	})
}

func TestTheSameIDGivesTheSameResult(t *testing.T) {
	onEachOnce(t, func(t *testing.T, s, again *studio.Studio, c onceCase) {
		before := c.count(t, s)
		ctx := studio.Once(t.Context(), studio.NewID())
		first := must(t, func() (any, error) { return c.do(ctx, s, false) })
		for _, s := range []*studio.Studio{s, again} {
			if diff := cmp.Diff(first, must(t, func() (any, error) { return c.do(ctx, s, false) })); diff != "" {
				t.Errorf("sent again, it gives another result:\n%s", diff)
			}
		}
		if n := c.count(t, s); n != before+1 {
			t.Errorf("it was done %d times", n-before)
		}
		// With something else in it nothing is changed.
		_, err := c.do(ctx, s, true)
		refused(t, err, fault.Conflict, "", "something else", "Nothing was changed")
		if n := c.count(t, s); n != before+1 {
			t.Errorf("it was done %d times after what was refused", n-before)
		}
		if diff := cmp.Diff(first, must(t, func() (any, error) { return c.do(ctx, s, false) })); diff != "" {
			t.Errorf("after what was refused:\n%s", diff)
		}
	})
}

// An id belongs to one act: under the id of another kind of act, nothing is done.
func TestAnIDIsOfOneKindOfAct(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		cases := onceCases(t, s)
		for i, c := range cases {
			ctx := studio.Once(t.Context(), studio.NewID())
			if _, err := c.do(ctx, s, false); err != nil {
				t.Fatal(c.name, describe(err))
			}
			other := cases[(i+1)%len(cases)]
			before := other.count(t, s)
			_, err := other.do(ctx, s, false)
			refused(t, err, fault.Conflict, "", "Nothing was changed")
			if n := other.count(t, s); n != before {
				t.Errorf("%s was done under the id of %s", other.name, c.name)
			}
		}
	})
}

// What was refused can be mended and sent again under the same id, as it is when
// a form comes back with its faults.
func TestAFailedActDoesNotUseItsIDUp(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		for _, c := range onceCases(t, s) {
			before := c.count(t, s)
			ctx := studio.Once(t.Context(), studio.NewID())
			if err := c.fail(ctx, s); err == nil || fault.All(err)[0].Field != c.field {
				t.Fatalf("%s: refused with %v, want a fault on %q", c.name, describe(err), c.field)
			}
			if n := c.count(t, s); n != before {
				t.Errorf("%s: what was refused was done", c.name)
			}
			// Another body, and then it is the one that counts.
			if _, err := c.do(ctx, s, false); err != nil {
				t.Fatalf("%s after its fault was mended: %v", c.name, describe(err))
			}
			refused(t, c.fail(ctx, s), fault.Conflict, "", "something else")
		}
	})
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		mended := map[string]bool{} // a name is freed once for the three acts of its kind
		for _, c := range onceCases(t, s) {
			kind := c.name[strings.LastIndex(c.name, " "):]
			if mended[kind] {
				continue
			}
			mended[kind] = true
			ctx := studio.Once(t.Context(), studio.NewID())
			if c.fail(ctx, s) == nil {
				t.Fatalf("%s was not refused", c.name)
			}
			c.mend(t, s)
			// The same body, once its reason to be refused is gone.
			if err := c.fail(ctx, s); err != nil {
				t.Errorf("%s after it was mended: %v", c.name, describe(err))
			}
		}
	})
}

// Twenty of the same form at once, half of them through another program, count once.
func TestManyWithOneIDMakeOne(t *testing.T) {
	onEachOnce(t, func(t *testing.T, s, again *studio.Studio, c onceCase) {
		before := c.count(t, s)
		ctx := studio.Once(context.Background(), studio.NewID())
		const n = 20
		type answer struct {
			result any
			err    error
		}
		answers := make(chan answer, n)
		for i := range n {
			mine := s
			if i%2 == 1 {
				mine = again
			}
			go func() {
				out, err := c.do(ctx, mine, false)
				answers <- answer{out, err}
			}()
		}
		var first any
		for range n {
			a := <-answers
			if a.err != nil {
				t.Error(describe(a.err))
				continue
			}
			if first == nil {
				first = a.result
			}
			if diff := cmp.Diff(first, a.result); diff != "" {
				t.Errorf("two answers:\n%s", diff)
			}
		}
		if got := c.count(t, s); got != before+1 {
			t.Errorf("it was done %d times", got-before)
		}
	})
}

func TestAnIDThatIsNoneIsRefused(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		for _, c := range onceCases(t, s) {
			before := c.count(t, s)
			for _, id := range []string{"a\x00b", "\x00", strings.Repeat("x", 101), "two words", "line\n", "é", "\xff", "\x7f"} {
				_, err := c.do(studio.Once(t.Context(), id), s, false)
				refused(t, err, fault.Invalid, "once", "id cannot be used")
			}
			if n := c.count(t, s); n != before {
				t.Errorf("%s was done %d times under an id that is none", c.name, n-before)
			}
			// As long as an id may be, it serves.
			for range 2 {
				if _, err := c.do(studio.Once(t.Context(), strings.Repeat(c.name[:1], 80)+strings.ReplaceAll(c.name, " ", "~")), s, false); err != nil {
					t.Errorf("%s: %v", c.name, describe(err))
				}
			}
			if n := c.count(t, s); n != before+1 {
				t.Errorf("%s was done %d times", c.name, n-before)
			}
		}
		long := studio.Once(t.Context(), strings.Repeat("~", 100))
		for range 2 {
			if v, err := s.Formulas.New(long, studio.Formula{Formula: lantern("Longest"), Kept: worked()}, ""); err != nil || v.N != 1 {
				t.Errorf("an id of 100 characters: %v", describe(err))
			}
		}
		// Without an id each time counts.
		q := alone(must(t, func() ([]studio.Name, error) { return s.Formulas.Names(t.Context()) })[0].ID, 1, studio.Size{FatsG: 500})
		before := runs(t, s, studio.RunsOf{}, studio.Slice{}).Total
		for range 2 {
			if _, err := s.MakeRun(studio.Once(t.Context(), ""), q); err != nil {
				t.Fatal(describe(err))
			}
		}
		if n := runs(t, s, studio.RunsOf{}, studio.Slice{}).Total; n != before+2 {
			t.Errorf("two runs without an id count as %d", n-before)
		}
	})
}
