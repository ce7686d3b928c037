package store_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// kindOf is the records of one kind, with what a test needs to be written once
// for every kind.
type kindOf[Doc any] struct {
	studio.Records[Doc]
	studio *studio.Studio
	// doc is a document under a name. Another amount makes it another document.
	doc    func(name string, amount int) Doc
	name   func(Doc) string
	amount func(Doc) int
	again  func() studio.Records[Doc] // as another program has them, which opens the studio afresh
}

func (k kindOf[Doc]) keepNew(t testing.TB, name string, amount int) studio.Version[Doc] {
	t.Helper()
	return must(t, func() (studio.Version[Doc], error) { return k.New(context.Background(), k.doc(name, amount), "") })
}

func (k kindOf[Doc]) list(t testing.TB, query string, page studio.Slice) studio.Page[studio.Record[Doc]] {
	t.Helper()
	return must(t, func() (studio.Page[studio.Record[Doc]], error) { return k.List(context.Background(), query, page) })
}

func (k kindOf[Doc]) get(t testing.TB, id string) studio.Record[Doc] {
	t.Helper()
	return must(t, func() (studio.Record[Doc], error) { return k.Get(context.Background(), id) })
}

func (k kindOf[Doc]) versions(t testing.TB, id string) []studio.Version[Doc] {
	t.Helper()
	return must(t, func() ([]studio.Version[Doc], error) { return k.Versions(context.Background(), id) })
}

func formulaKind(t testing.TB, where string) kindOf[studio.Formula] {
	s := opened(t, where)
	return kindOf[studio.Formula]{
		Records: s.Formulas, studio: s,
		doc: func(name string, amount int) studio.Formula {
			f := lantern(name)
			f.FatsG = float64(1000 + amount)
			return studio.Formula{Formula: f, Kept: worked()}
		},
		name:   func(f studio.Formula) string { return f.Name },
		amount: func(f studio.Formula) int { return int(f.FatsG - 1000) },
		again:  func() studio.Records[studio.Formula] { return opened(t, where).Formulas },
	}
}

func designKind(t testing.TB, where string) kindOf[*design.Design] {
	s := opened(t, where)
	q := quarried(t, s)
	return kindOf[*design.Design]{
		Records: s.Designs, studio: s,
		doc: func(name string, amount int) *design.Design {
			d := q.lighthouse(name)
			d.Parts[0].FillToPct = quantity.Some(float64(10 + amount))
			return d
		},
		name:   func(d *design.Design) string { return d.Name },
		amount: func(d *design.Design) int { return int(d.Parts[0].FillToPct.V - 10) },
		again:  func() studio.Records[*design.Design] { return opened(t, where).Designs },
	}
}

func mouldKind(t testing.TB, where string) kindOf[mould.Mould] {
	s := opened(t, where)
	return kindOf[mould.Mould]{
		Records: s.Moulds, studio: s,
		doc: func(name string, amount int) mould.Mould {
			m := loaf(name)
			m.DepthMM = quantity.Some(float64(70 + amount))
			return m
		},
		name:   func(m mould.Mould) string { return m.Name },
		amount: func(m mould.Mould) int { return int(m.DepthMM.V - 70) },
		again:  func() studio.Records[mould.Mould] { return opened(t, where).Moulds },
	}
}

// onEachKind runs one test for every kind on every engine. Go writes a generic
// test once, and it is named here once for each kind.
func onEachKind(t *testing.T, formulas func(*testing.T, kindOf[studio.Formula]), designs func(*testing.T, kindOf[*design.Design]),
	moulds func(*testing.T, kindOf[mould.Mould])) {
	t.Helper()
	t.Run("formula", func(t *testing.T) {
		onEach(t, func(t *testing.T, where string) { formulas(t, formulaKind(t, where)) })
	})
	t.Run("design", func(t *testing.T) {
		onEach(t, func(t *testing.T, where string) { designs(t, designKind(t, where)) })
	})
	t.Run("mould", func(t *testing.T) {
		onEach(t, func(t *testing.T, where string) { moulds(t, mouldKind(t, where)) })
	})
}

func TestKeepAddsVersionsAndChangesNoneOfThem(t *testing.T) {
	onEachKind(t, keepsVersions, keepsVersions, keepsVersions)
}

func keepsVersions[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	v1 := must(t, func() (studio.Version[Doc], error) { return k.New(ctx, k.doc("Storm light", 1), "first\nof all") })
	if v1.N != 1 || v1.ID == "" || v1.Note != "first\nof all" || k.name(v1.Doc) != "Storm light" || k.amount(v1.Doc) != 1 {
		t.Errorf("version 1 is %+v", v1)
	}
	typed := k.doc("  Storm   light, dimmed ", 2)
	v2 := must(t, func() (studio.Version[Doc], error) { return k.Keep(ctx, v1.ID, 1, typed, "a little milder") })
	if v2.ID != v1.ID || v2.N != 2 || k.name(v2.Doc) != "Storm light, dimmed" || k.amount(v2.Doc) != 2 || v2.Note != "a little milder" ||
		!v2.KeptAt.After(v1.KeptAt) {
		t.Errorf("version 2 is %+v", v2)
	}
	if diff := cmp.Diff(k.doc("  Storm   light, dimmed ", 2), typed); diff != "" {
		t.Errorf("keeping changed the caller's document:\n%s", diff)
	}
	for _, r := range []studio.Records[Doc]{k.Records, k.again()} {
		got := must(t, func() (studio.Record[Doc], error) { return r.Get(ctx, v1.ID) })
		if diff := cmp.Diff(studio.Record[Doc]{ID: v1.ID, Name: "Storm light, dimmed", Newest: v2}, got); diff != "" {
			t.Error(diff)
		}
		all := must(t, func() ([]studio.Version[Doc], error) { return r.Versions(ctx, v1.ID) })
		if diff := cmp.Diff([]studio.Version[Doc]{v2, v1}, all); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(v1, must(t, func() (studio.Version[Doc], error) { return r.Version(ctx, v1.ID, 1) })); diff != "" {
			t.Error(diff)
		}
	}
	// Its old name is free again; its new one is not.
	other := k.keepNew(t, "STORM LIGHT", 1)
	_, err := k.New(ctx, k.doc("storm LIGHT,  Dimmed", 1), "")
	refused(t, err, fault.Conflict, "name", "Storm light, dimmed")
	_, err = k.Keep(ctx, other.ID, 1, k.doc("storm LIGHT,  Dimmed", 1), "")
	refused(t, err, fault.Conflict, "name", "Storm light, dimmed")
	for _, n := range []int{-1, 0, 3} {
		_, err = k.Version(ctx, v1.ID, n)
		refused(t, err, fault.NotFound, "version", fmt.Sprintf("no version %d", n))
	}
	word := string(k.Kind())
	_, err = k.Version(ctx, "nothing", 1)
	refused(t, err, fault.NotFound, word)
	_, err = k.Get(ctx, "nothing")
	refused(t, err, fault.NotFound, word)
	_, err = k.Versions(ctx, "nothing")
	refused(t, err, fault.NotFound, word)
	// All is in order of name; Some skips what is not there.
	ids := func(list []studio.Record[Doc]) (out []string) {
		for _, r := range list {
			out = append(out, r.ID)
		}
		return out
	}
	for _, got := range [][]studio.Record[Doc]{
		must(t, func() ([]studio.Record[Doc], error) { return k.All(ctx) }),
		must(t, func() ([]studio.Record[Doc], error) { return k.Some(ctx, v1.ID, "nothing", other.ID) }),
	} {
		if diff := cmp.Diff([]string{other.ID, v1.ID}, ids(got)); diff != "" {
			t.Error(diff)
		}
	}
	if got := must(t, func() ([]studio.Record[Doc], error) { return k.Some(ctx) }); len(got) != 0 {
		t.Errorf("nothing asked for gives %v", ids(got))
	}
}

func TestAnOlderBaseIsAConflictAndLosesNothing(t *testing.T) {
	onEachKind(t, refusesAnOlderBase, refusesAnOlderBase, refusesAnOlderBase)
}

func refusesAnOlderBase[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	id := k.keepNew(t, "Storm light", 1).ID
	v2 := must(t, func() (studio.Version[Doc], error) { return k.Keep(ctx, id, 1, k.doc("Storm light", 6), "six") })
	other := k.doc("Storm light", 8)
	_, err := k.Keep(ctx, id, 1, other, "eight")
	refused(t, err, fault.Conflict, "", "Version 2", "version 1", "Nothing is lost")
	// With another note it is another version, too.
	_, err = k.Keep(ctx, id, 1, k.doc("Storm light", 6), "sixth")
	refused(t, err, fault.Conflict, "", "Nothing is lost")
	// The very same sent again, as by pressing twice, is the version that is there.
	twice := must(t, func() (studio.Version[Doc], error) { return k.Keep(ctx, id, 1, k.doc("Storm light", 6), "six") })
	if diff := cmp.Diff(v2, twice); diff != "" {
		t.Error(diff)
	}
	for _, base := range []int{0, -1, 3, math.MaxInt} {
		_, err = k.Keep(ctx, id, base, other, "")
		refused(t, err, fault.NotFound, "base")
	}
	_, err = k.Keep(ctx, "no-such-record", 1, other, "")
	refused(t, err, fault.NotFound, string(k.Kind()))
	if got := k.versions(t, id); len(got) != 2 {
		t.Errorf("%d versions after what was refused, want 2", len(got))
	}
}

func TestANoteThatIsNoTextIsNotKept(t *testing.T) {
	onEachKind(t, refusesBadText, refusesBadText, refusesBadText)
}

func refusesBadText[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	id := k.keepNew(t, "Storm light", 1).ID
	for _, name := range []string{" ", "Storm\x00light", "Caf\xe9", strings.Repeat("x", 201)} {
		_, err := k.New(ctx, k.doc(name, 2), "")
		refused(t, err, fault.Invalid, "name")
		_, err = k.Keep(ctx, id, 1, k.doc(name, 2), "")
		refused(t, err, fault.Invalid, "name")
		_, err = k.Duplicate(ctx, id, 1, name)
		refused(t, err, fault.Invalid, "name")
	}
	for _, note := range []string{"a note with a \x00", "Caf\xe9", strings.Repeat("x", 4001)} {
		_, err := k.New(ctx, k.doc("Another", 1), note)
		refused(t, err, fault.Invalid, "version_note")
		_, err = k.Keep(ctx, id, 1, k.doc("Another", 1), note)
		refused(t, err, fault.Invalid, "version_note")
	}
	if p := k.list(t, "", studio.Slice{}); p.Total != 1 || p.Items[0].Newest.N != 1 {
		t.Errorf("kept after all: %v", names(p))
	}
}

func TestDuplicateTakesOneVersionUnderAnotherName(t *testing.T) {
	onEachKind(t, duplicates, duplicates, duplicates)
}

func duplicates[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	v1 := k.keepNew(t, "Storm light", 5)
	must(t, func() (studio.Version[Doc], error) { return k.Keep(ctx, v1.ID, 1, k.doc("Storm light", 9), "") })
	_, err := k.Duplicate(ctx, v1.ID, 1, "storm light")
	refused(t, err, fault.Conflict, "name")
	_, err = k.Duplicate(ctx, v1.ID, 1, "")
	refused(t, err, fault.Invalid, "name")
	_, err = k.Duplicate(ctx, v1.ID, 5, "Calm light")
	refused(t, err, fault.NotFound, "version", "no version 5")
	_, err = k.Duplicate(ctx, "nothing", 1, "Calm light")
	refused(t, err, fault.NotFound, string(k.Kind()))
	d := must(t, func() (studio.Version[Doc], error) { return k.Duplicate(ctx, v1.ID, 1, " Calm  light ") })
	if d.N != 1 || k.amount(d.Doc) != 5 || k.name(d.Doc) != "Calm light" || d.ID == v1.ID || d.ID == "" || d.Note != "From “Storm light”, version 1." {
		t.Errorf("the duplicate is %+v", d)
	}
	if diff := cmp.Diff(studio.Record[Doc]{ID: d.ID, Name: "Calm light", Newest: d, FromID: v1.ID, FromN: 1}, k.get(t, d.ID)); diff != "" {
		t.Error(diff)
	}
	newest := must(t, func() (studio.Version[Doc], error) { return k.Duplicate(ctx, v1.ID, 0, "Low light") })
	if got := k.get(t, newest.ID); k.amount(newest.Doc) != 9 || got.FromN != 2 || newest.Note != "From “Storm light”, version 2." {
		t.Errorf("a duplicate of the newest is %+v, from version %d", newest, got.FromN)
	}
	// What is archived can be duplicated, and the duplicate is living.
	if err := k.Archive(ctx, v1.ID); err != nil {
		t.Fatal(describe(err))
	}
	old := must(t, func() (studio.Version[Doc], error) { return k.Duplicate(ctx, v1.ID, 0, "Storm light") })
	if got := k.get(t, old.ID); got.Archived() || got.FromID != v1.ID {
		t.Errorf("a duplicate of what was archived is %+v", got)
	}
}

func TestArchiveTakesOffTheListAndBringBackPutsOn(t *testing.T) {
	onEachKind(t, archives, archives, archives)
}

func archives[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	v := k.keepNew(t, "Storm light", 1)
	for range 2 { // twice is once
		if err := k.Archive(ctx, v.ID); err != nil {
			t.Fatal(describe(err))
		}
	}
	if p := k.list(t, "", studio.Slice{}); p.Total != 0 || len(p.Items) != 0 || p.Pages() != 1 {
		t.Errorf("still listed: %v", names(p))
	}
	chosen := func() []studio.Name { return must(t, func() ([]studio.Name, error) { return k.Names(ctx) }) }
	if got := chosen(); slices.ContainsFunc(got, func(n studio.Name) bool { return n.ID == v.ID }) {
		t.Errorf("still a choice: %v", got)
	}
	p := must(t, func() (studio.Page[studio.Record[Doc]], error) { return k.ListArchived(ctx, "light", studio.Slice{}) })
	if p.Total != 1 || !p.Items[0].Archived() {
		t.Errorf("archived: %+v", p)
	}
	if got := k.get(t, v.ID); !got.Archived() || got.Newest.N != 1 {
		t.Errorf("what was archived reads %+v", got)
	}
	if got := must(t, func() ([]studio.Record[Doc], error) { return k.Some(ctx, v.ID) }); len(got) != 1 || !got[0].Archived() {
		t.Errorf("what was archived is looked up as %+v", got)
	}
	_, err := k.Keep(ctx, v.ID, 1, k.doc("Storm light", 6), "")
	refused(t, err, fault.Conflict, "", "archived")
	other := k.keepNew(t, "storm light", 1) // the name is free
	refused(t, k.BringBack(ctx, v.ID), fault.Conflict, "name", "storm light")
	if err := k.Archive(ctx, other.ID); err != nil {
		t.Fatal(describe(err))
	}
	for range 2 {
		if err := k.BringBack(ctx, v.ID); err != nil {
			t.Fatal(describe(err))
		}
	}
	if p := k.list(t, "", studio.Slice{}); p.Total != 1 || len(chosen()) == 0 {
		t.Errorf("listed again: %v", names(p))
	}
	if diff := cmp.Diff(studio.Record[Doc]{ID: v.ID, Name: "Storm light", Newest: v}, k.get(t, v.ID)); diff != "" {
		t.Error(diff)
	}
	refused(t, k.Archive(ctx, "nothing"), fault.NotFound, string(k.Kind()))
	refused(t, k.BringBack(ctx, "nothing"), fault.NotFound, string(k.Kind()))
}

func TestTheListIsPagedAndNewestKeptFirst(t *testing.T) {
	onEachKind(t, lists, lists, lists)
}

func lists[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := t.Context()
	var first studio.Version[Doc]
	for i := range 25 {
		v := k.keepNew(t, fmt.Sprintf("Pebble %02d", i), 1)
		if i == 0 {
			first = v
		}
	}
	// What is used comes first in a list of choices, not here.
	must(t, func() (studio.Version[Doc], error) { return k.Keep(ctx, first.ID, 1, k.doc("Crème 00%_!", 3), "") })
	var got []string
	for n := 1; n <= 3; n++ {
		p := k.list(t, "", studio.Slice{Number: n, Size: 10})
		if p.Total != 25 || p.Pages() != 3 || p.Number != n || p.Size != 10 {
			t.Errorf("page %d says %d of %d pages, %d in all", n, p.Number, p.Pages(), p.Total)
		}
		got = append(got, names(p)...)
	}
	want := []string{"Crème 00%_!"}
	for i := 24; i > 0; i-- {
		want = append(want, fmt.Sprintf("Pebble %02d", i))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, n := range []int{4, math.MaxInt} {
		if p := k.list(t, "", studio.Slice{Number: n, Size: 10}); len(p.Items) != 0 || p.Total != 25 {
			t.Errorf("a page beyond the last: %v", names(p))
		}
	}
	if p := k.list(t, "", studio.Slice{Number: -3, Size: -1}); len(p.Items) != 25 || p.Number != 1 {
		t.Errorf("a page before the first has %d", len(p.Items))
	}
	for query, want := range map[string]int{"creme": 1, "CRÈME": 1, "PEBBLE 1": 12, "1 pebble": 12, "0%": 1, "_": 1, "!": 1,
		"'; DROP TABLE record; --": 0, "pebble creme": 0, "\x00\xff": 25, strings.Repeat("x ", 2000): 0} {
		if p := k.list(t, query, studio.Slice{}); p.Total != want || len(p.Items) != want {
			t.Errorf("%q finds %v, want %d", query, names(p), want)
		}
	}
}

// Eight makers keep versions of one record at once, half of them through another
// program on the same studio: every number is given once, and every version that
// was acknowledged is there, with what was in it.
func TestOneWinnerPerVersion(t *testing.T) {
	onEachKind(t, oneWinnerPerVersion, oneWinnerPerVersion, oneWinnerPerVersion)
}

func oneWinnerPerVersion[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx := context.Background()
	const goroutines, each = 8, 12
	other := k.again()
	id := k.keepNew(t, "Storm light", 1).ID
	type ack struct{ n, amount int }
	acks, lost := make(chan ack, goroutines*each), make(chan int, goroutines)
	for g := range goroutines {
		mine := k.Records
		if g%2 == 1 {
			mine = other
		}
		go func() {
			conflicts := 0
			defer func() { lost <- conflicts }()
			for i := 0; i < each; {
				now, err := mine.Get(ctx, id)
				if err != nil {
					t.Error(describe(err))
					return
				}
				v, err := mine.Keep(ctx, id, now.Newest.N, k.doc("Storm light", 2+g*each+i), "")
				if err != nil && fault.KindOf(err) == fault.Conflict {
					conflicts++
					continue
				}
				if err != nil {
					t.Error(describe(err))
					return
				}
				acks <- ack{v.N, k.amount(v.Doc)}
				i++
			}
		}()
	}
	conflicts := 0
	for range goroutines {
		conflicts += <-lost
	}
	close(acks)
	if conflicts == 0 {
		t.Error("nobody ever came between: this test has tested nothing")
	}
	seen := map[int]int{}
	for a := range acks {
		if _, twice := seen[a.n]; twice {
			t.Errorf("version %d was given twice", a.n)
		}
		seen[a.n] = a.amount
	}
	got := k.versions(t, id)
	if len(got) != goroutines*each+1 || len(seen) != goroutines*each {
		t.Fatalf("%d versions, %d acknowledged; want %d and %d", len(got), len(seen), goroutines*each+1, goroutines*each)
	}
	for _, v := range got[:len(got)-1] {
		if seen[v.N] != k.amount(v.Doc) {
			t.Errorf("version %d has the amount %d; its keeper was told %d", v.N, k.amount(v.Doc), seen[v.N])
		}
	}
}

// The same name, typed by eight at once, is had by one.
func TestOneWinnerPerName(t *testing.T) {
	onEachKind(t, oneWinnerPerName, oneWinnerPerName, oneWinnerPerName)
}

func oneWinnerPerName[Doc any](t *testing.T, k kindOf[Doc]) {
	const n = 8
	errs := make(chan error, n)
	for range n {
		go func() {
			_, err := k.New(context.Background(), k.doc("Storm light", 1), "")
			errs <- err
		}()
	}
	won := 0
	for range n {
		if err := <-errs; err == nil {
			won++
		} else {
			refused(t, err, fault.Conflict, "name")
		}
	}
	if won != 1 {
		t.Errorf("%d got the name", won)
	}
}

func TestACancelledKeepKeepsNothing(t *testing.T) {
	onEachKind(t, cancelledKeepsNothing, cancelledKeepsNothing, cancelledKeepsNothing)
}

func cancelledKeepsNothing[Doc any](t *testing.T, k kindOf[Doc]) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := k.New(ctx, k.doc("Storm light", 1), ""); err == nil {
		t.Fatal("a cancelled keep was acknowledged")
	}
	if p := k.list(t, "", studio.Slice{}); p.Total != 0 {
		t.Errorf("%d records are there", p.Total)
	}
}

// The three kinds lie in one table. No record of one is ever taken for one of
// another, and a name is taken within a kind only.
func TestKindsAreNotMixedUp(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		k := designKind(t, where)
		f := mustKeepNew(t, k.studio, lantern("Storm light")).ID
		m := mustKeepMould(t, k.studio, loaf("Storm light")).ID
		d := k.keepNew(t, "Storm light", 1).ID
		formulas, moulds := formulaKind(t, where), mouldKind(t, where)
		strangersTo(t, formulas, d, m)
		strangersTo(t, k, f, m)
		strangersTo(t, moulds, f, d)
		for name, got := range map[string][]string{
			f: names(formulas.list(t, "storm", studio.Slice{})), m: names(moulds.list(t, "storm", studio.Slice{})),
			d: names(k.list(t, "storm", studio.Slice{})),
		} {
			if diff := cmp.Diff([]string{"Storm light"}, got); diff != "" {
				t.Errorf("%s: %s", name, diff)
			}
		}
		// What names a record of another kind names none.
		typed := k.doc("Mixed up", 1)
		typed.Mould, typed.Parts[0].Formula, typed.Parts[0].Portion = f, m, ""
		_, err := k.New(t.Context(), typed, "")
		refused(t, err, fault.Invalid, "mould", "no such mould")
		refused(t, err, fault.Invalid, "part.1.formula", "no such formula")
		_, err = k.studio.Gather(t.Context(), nil, f)
		refused(t, err, fault.NotFound, "design")
		_, err = k.studio.MakeRun(t.Context(), alone(m, 1, studio.Size{FatsG: 500}))
		refused(t, err, fault.NotFound, "formula")
		_, err = k.studio.MakeRun(t.Context(), studio.Making{Designs: []studio.RunDesign{{DesignID: f, N: 1, Pieces: 1, Made: 1}}, Working: []byte("{}")})
		refused(t, err, fault.NotFound, "design")
	})
}

func strangersTo[Doc any](t *testing.T, k kindOf[Doc], ids ...string) {
	t.Helper()
	ctx := t.Context()
	word := string(k.Kind())
	for _, id := range ids {
		_, err := k.Get(ctx, id)
		refused(t, err, fault.NotFound, word)
		_, err = k.Version(ctx, id, 1)
		refused(t, err, fault.NotFound, word)
		_, err = k.Versions(ctx, id)
		refused(t, err, fault.NotFound, word)
		_, err = k.Keep(ctx, id, 1, k.doc("Another", 1), "")
		refused(t, err, fault.NotFound, word)
		_, err = k.Duplicate(ctx, id, 1, "Another")
		refused(t, err, fault.NotFound, word)
		refused(t, k.Archive(ctx, id), fault.NotFound, word)
		refused(t, k.BringBack(ctx, id), fault.NotFound, word)
		if got := must(t, func() ([]studio.Record[Doc], error) { return k.Some(ctx, id) }); len(got) != 0 {
			t.Errorf("%s is looked up as a %s: %+v", id, word, got)
		}
		if got := must(t, func() ([]studio.Use, error) { return k.Uses(ctx, id) }); len(got) != 0 {
			t.Errorf("what is no %s is used as one: %+v", word, got)
		}
	}
}

// An id out of an address can hold anything. None of it is a record, and none of
// it is a fault of the machine.
func TestAnIDThatCannotBeIsNotFound(t *testing.T) {
	onEachKind(t, findsNoStrangeID, findsNoStrangeID, findsNoStrangeID)
}

func findsNoStrangeID[Doc any](t *testing.T, k kindOf[Doc]) {
	k.keepNew(t, "Storm light", 1)
	for _, id := range []string{"", "%", "a\x00b", "\xff", strings.Repeat("x", 10_000), "' OR 1 = 1 --"} {
		strangersTo(t, k, id)
	}
}

func TestChoicesBeginWithTheLastUsed(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		a, b, c := mustKeepNew(t, s, lantern("A")).ID, mustKeepNew(t, s, lantern("B")).ID, mustKeepNew(t, s, lantern("C")).ID
		x, y := mustKeepMould(t, s, loaf("X")).ID, mustKeepMould(t, s, loaf("Y")).ID
		order := func(names func(context.Context) ([]studio.Name, error)) (out []string) {
			t.Helper()
			for _, n := range must(t, func() ([]studio.Name, error) { return names(ctx) }) {
				out = append(out, n.Name)
			}
			return out
		}
		same := func(when string, got []string, want ...string) {
			t.Helper()
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%s:\n%s", when, diff)
			}
		}
		same("as they were kept", order(s.Formulas.Names), "C", "B", "A")
		same("as they were kept", order(s.Moulds.Names), "Y", "X")

		must(t, func() (studio.FormulaVersion, error) {
			return s.Formulas.Keep(ctx, a, 1, studio.Formula{Formula: lantern("A, milder"), Kept: worked()}, "")
		})
		same("after a version was kept", order(s.Formulas.Names), "A, milder", "C", "B")
		if got := must(t, func() ([]studio.Name, error) { return s.Formulas.Names(ctx) }); got[0] != (studio.Name{ID: a, Name: "A, milder", Newest: 2}) {
			t.Errorf("the first choice is %+v", got[0])
		}

		// A design moves what it is built on, and the design that it embeds.
		pour := func(formula string) design.Part {
			return design.Part{Kind: design.Pour, Formula: formula, FillToPct: quantity.Some(50)}
		}
		lamp := must(t, func() (studio.DesignVersion, error) {
			return s.Designs.New(ctx, &design.Design{Name: "Lamp", Mould: x, Parts: []design.Part{pour(b)}}, "")
		})
		same("after a design was built on it", order(s.Formulas.Names), "B", "A, milder", "C")
		same("after a design was cast in it", order(s.Moulds.Names), "X", "Y")
		house := must(t, func() (studio.DesignVersion, error) {
			return s.Designs.New(ctx, &design.Design{Name: "House", Mould: y, Parts: []design.Part{pour(c)}}, "")
		})
		same("after another design", order(s.Designs.Names), "House", "Lamp")
		room := &design.Design{Name: "Room", Mould: y, Parts: []design.Part{pour(c), {Kind: design.Embed, Design: lamp.ID, Count: quantity.Some(1)}}}
		must(t, func() (studio.DesignVersion, error) { return s.Designs.New(ctx, room, "") })
		got := order(s.Designs.Names)
		slices.Sort(got[:2]) // kept in one act, they are used in one moment
		same("after a design embeds it", got, "Lamp", "Room", "House")

		// A run moves its designs, formulas and moulds.
		must(t, func() (studio.Run, error) {
			return s.MakeRun(ctx, studio.Making{Designs: []studio.RunDesign{{DesignID: house.ID, N: 1, Pieces: 1, Made: 1}},
				Batches: []studio.Batching{{FormulaID: a, FormulaN: 1, MassG: 100}}, MouldIDs: []string{x}, Working: []byte("{}")})
		})
		same("after a run", order(s.Formulas.Names)[:1], "A, milder")
		same("after a run", order(s.Moulds.Names), "X", "Y")
		same("after a run", order(s.Designs.Names)[:1], "House")
		must(t, func() (studio.Run, error) {
			return s.MakeRun(ctx, alone(b, 1, studio.Size{By: studio.ByMould, MouldID: y, Pieces: 1, FillPct: 100}, y))
		})
		same("after a run of one batch", order(s.Formulas.Names)[:1], "B")
		same("after a run of one batch", order(s.Moulds.Names), "Y", "X")

		// Looking, archiving and a refusal use nothing.
		_, err := s.MakeRun(ctx, alone(c, 7, studio.Size{FatsG: 500}))
		refused(t, err, fault.NotFound, "version")
		_, err = s.Formulas.Keep(ctx, c, 7, studio.Formula{Formula: lantern("C"), Kept: worked()}, "")
		refused(t, err, fault.NotFound, "base")
		unused := mustKeepMould(t, s, loaf("Z")).ID
		must(t, func() (studio.Version[mould.Mould], error) { return s.Moulds.Keep(ctx, x, 1, loaf("X"), "again") })
		if err := s.Moulds.Archive(ctx, unused); err != nil {
			t.Fatal(describe(err))
		}
		same("of what is living", order(s.Moulds.Names), "X", "Y")
		if err := s.Moulds.BringBack(ctx, unused); err != nil {
			t.Fatal(describe(err))
		}
		same("after one was brought back", order(s.Moulds.Names), "Z", "X", "Y")
		same("after what was refused", order(s.Formulas.Names)[:1], "B")
	})
}

// An instant on the whole second sorts before the half second that follows it, though
// neither engine knows that the texts are times.
func TestInstantsSortAsTimeDoes(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, err := store.Open(t.Context(), where)
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		now := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
		book := studio.New(s, base(t), func() time.Time { return now }, studio.NewID)
		want := []string{}
		for i, after := range []time.Duration{0, 500 * time.Millisecond, time.Second, time.Second + time.Microsecond} {
			now = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC).Add(after)
			name := fmt.Sprintf("Pebble %d", 9-i) // in another order by name
			v := mustKeepNew(t, book, lantern(name))
			if !v.KeptAt.Equal(now) {
				t.Errorf("%s was kept at %v, want %v", name, v.KeptAt, now)
			}
			want = slices.Insert(want, 0, name)
		}
		page := must(t, func() (studio.Page[studio.Record[studio.Formula]], error) {
			return book.Formulas.List(t.Context(), "", studio.Slice{})
		})
		if diff := cmp.Diff(want, names(page)); diff != "" {
			t.Errorf("newest kept first:\n%s", diff)
		}
		// A clock that goes back takes no record down the list of choices again.
		last := page.Items[0].ID
		if err := s.Write(t.Context(), func(w studio.Writer) error { return w.Touch(t.Context(), now.Add(-time.Hour), last) }); err != nil {
			t.Fatal(describe(err))
		}
		if got := must(t, func() ([]studio.Name, error) { return book.Formulas.Names(t.Context()) }); got[0].ID != last {
			t.Errorf("used an hour before, it comes after %v", got[0])
		}
	})
}

func TestUsesSayInWhichRoles(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s) // Sea white has kaolin as a colour
		both := lantern("Coconut twice")
		v := mustKeepNew(t, s, both)
		// Both at once: the same ingredient among the fats and among the extras.
		if err := s.PutIngredient(ctx, catalogue.Entry{ID: "coconut-oil", Roles: []string{"extra"}}); err != nil {
			t.Fatal(describe(err))
		}
		both.Extras = []formula.Extra{{ID: "coconut-oil", Dose: 10}}
		must(t, func() (studio.FormulaVersion, error) {
			return s.Formulas.Keep(ctx, v.ID, 1, studio.Formula{Formula: both, Kept: worked()}, "")
		})
		of := func(id string) *studio.Use {
			t.Helper()
			for _, u := range uses(t, s, studio.KindIngredient, "coconut-oil") {
				if u.ID == id {
					return &u
				}
			}
			t.Fatalf("coconut oil is not used in %s", id)
			return nil
		}
		want := studio.Use{Kind: studio.KindFormula, ID: v.ID, Name: "Coconut twice", Roles: []string{studio.AsExtra, studio.AsFat}, N: 2, Newest: true}
		if diff := cmp.Diff(want, *of(v.ID)); diff != "" {
			t.Error(diff)
		}
		// A role that only an older version has counts, and the newest version with
		// any of them is named.
		both.Extras = nil
		must(t, func() (studio.FormulaVersion, error) {
			return s.Formulas.Keep(ctx, v.ID, 2, studio.Formula{Formula: both, Kept: worked()}, "")
		})
		want.N = 3
		if diff := cmp.Diff(want, *of(v.ID)); diff != "" {
			t.Error(diff)
		}
		refused(t, s.WithdrawIngredient(ctx, "coconut-oil"), fault.Conflict, "roles", "“Coconut twice”")
		both.Fats[1].ID = "castor-oil"
		must(t, func() (studio.FormulaVersion, error) {
			return s.Formulas.Keep(ctx, v.ID, 3, studio.Formula{Formula: both, Kept: worked()}, "")
		})
		want.Newest = false
		if diff := cmp.Diff(want, *of(v.ID)); diff != "" {
			t.Error(diff)
		}
		if u := of(q.white); len(u.Roles) != 1 || !u.As(studio.AsFat) || u.As(studio.AsExtra) {
			t.Errorf("Sea white: %+v", u)
		}
		// What has no roles has none.
		d := q.keep(t, q.lighthouse("Lighthouse"))
		if got := uses(t, s, studio.KindMould, q.mould); len(got) != 1 || got[0].ID != d.ID || got[0].Roles != nil {
			t.Errorf("the mould: %+v", got)
		}
	})
}

func TestItemsInUseAreTheNewestOfTheLiving(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		items := func(want ...string) {
			t.Helper()
			got := must(t, func() ([]string, error) { return s.UsedIDs(ctx, studio.KindItem) })
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
		}
		items()
		house := q.keep(t, q.lighthouse("Lighthouse"))
		q.keep(t, q.lighthouse("Pebble"))
		items("Glass beads", "paper band")
		salt := q.lighthouse("Lighthouse")
		salt.Parts[2].Item = "Grüne Perlen №1"
		must(t, func() (studio.DesignVersion, error) { return s.Designs.Keep(ctx, house.ID, 1, salt, "") })
		items("Glass beads", "Grüne Perlen №1", "paper band")
		got := uses(t, s, studio.KindItem, "Glass beads")
		if len(got) != 2 || got[0].Name != "Lighthouse" || got[0].N != 1 || got[0].Newest || !got[1].Newest {
			t.Errorf("glass beads are used in %+v", got)
		}
		if err := s.Designs.Archive(ctx, house.ID); err != nil {
			t.Fatal(describe(err))
		}
		items("Glass beads", "paper band")
		// An item is no record: it hinders nobody who brings its design back.
		if err := s.Designs.BringBack(ctx, house.ID); err != nil {
			t.Fatal(describe(err))
		}
		items("Glass beads", "Grüne Perlen №1", "paper band")
		fats := must(t, func() ([]string, error) { return s.UsedIDs(ctx, studio.KindIngredient) })
		if diff := cmp.Diff([]string{"coconut-oil", "kaolin", "olive-oil"}, fats); diff != "" {
			t.Error(diff)
		}
	})
}
