package record_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/web/webtest"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// shelf serves moulds as a kind with plain fields: they stand for any kind.
func shelf(t *testing.T) (*studio.Studio, http.Handler) {
	t.Helper()
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	book := webtest.Book(t, now)
	s, err := shell.New(shell.Config{Studio: func(context.Context) (shell.Card, error) { return shell.Card{}, nil }, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	s.Place("Moulds", "/moulds")
	record.Plain[mould.Mould]{
		Pages: record.Pages[mould.Mould]{
			Room: form.Room{Shell: s, Book: book}, Records: book.Moulds, Path: "/moulds",
			Words: record.Words{One: "mould", Many: "moulds", Lead: "Where batter sets.", Write: "Add a mould", First: "There is no mould yet.",
				Find: "Find by name", Within: "in its name"},
			Columns: []record.Column{{Label: "cavities"}},
			Rows: func(_ context.Context, _ form.Faces, list []studio.Record[mould.Mould]) ([]record.Row, error) {
				rows := make([]record.Row, len(list))
				for i, m := range list {
					rows[i] = record.Row{Aside: []string{m.Newest.Doc.Note}, Cells: []record.Cell{{Value: fmt.Sprint(m.Newest.Doc.Cavities)}}}
				}
				return rows, nil
			},
			Changes: func(_ context.Context, _ form.Faces, a, b mould.Mould) ([]formula.Change, error) {
				if a.Note == b.Note {
					return nil, nil
				}
				return []formula.Change{{Label: "Note", Before: a.Note, After: b.Note}}, nil
			},
		},
		Name: "name",
		Bind: func(f *form.Form, m *mould.Mould) {
			f.Text("name", &m.Name, form.Label("Name"))
			f.Prose("note", &m.Note, form.Label("Notes"))
			m.Shape, m.Cavities, m.Sets = mould.Cuboid, 1, 1
			m.Dimensions = mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(50), DepthMM: quantity.Some(30)}
		},
	}.Open()
	return book, s.Handler()
}

// sent is what the form of an editor would send, with some fields changed.
func sent(d *goquery.Document, change ...string) url.Values {
	v := webtest.ValuesOf(d, "#mould")
	for i := 0; i < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	v.Set("do", "keep")
	return v
}

func open(t *testing.T, h http.Handler, at string) *goquery.Document {
	t.Helper()
	return webtest.Page(t, webtest.Ask(t, h, "GET", at, nil), http.StatusOK)
}

func said(d *goquery.Document, sel string) string {
	return strings.Join(strings.Fields(d.Find(sel).Text()), " ")
}

func TestARecordIsKeptInVersionsAndComparedOnOnePage(t *testing.T) {
	book, h := shelf(t)
	if got := said(open(t, h, "/moulds"), "main"); !strings.Contains(got, "There is no mould yet.") {
		t.Errorf("an empty list says %q", got)
	}
	form1 := sent(open(t, h, "/moulds/new"), "name", " Shell ", "note", "blue")
	w := webtest.Post(t, h, "/moulds/new", form1)
	at := webtest.Led(w)
	if w.Code != http.StatusSeeOther || !strings.HasPrefix(at, "/moulds/") {
		t.Fatalf("status %d, to %q", w.Code, at)
	}
	// Sent twice, as after a lost answer, it counts once.
	if w := webtest.Post(t, h, "/moulds/new", form1); w.Code != http.StatusSeeOther || webtest.Led(w) != at {
		t.Errorf("sent twice: status %d, to %q, want %q", w.Code, w.Header().Get("Location"), at)
	}
	d := open(t, h, at)
	if got := said(d, "h1"); got != "Shell" {
		t.Errorf("the editor is headed %q", got)
	}
	if got := open(t, h, at+"/versions"); got.Find(".recto").Length() != 0 || strings.Contains(said(got, "main"), "What changed") {
		t.Errorf("one version alone is compared: %q", said(got, "main"))
	}
	if w := webtest.Post(t, h, at, sent(d, "note", "red")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	all, err := book.Moulds.Versions(t.Context(), strings.TrimPrefix(at, "/moulds/"))
	if err != nil || len(all) != 2 || all[1].Doc.Note != "blue" || all[0].Doc.Note != "red" {
		t.Fatalf("%d versions, %v", len(all), err)
	}
	versions := open(t, h, at+"/versions")
	if got := said(versions, ".verso tbody"); !strings.Contains(got, "Version 2") || !strings.Contains(got, "Version 1") {
		t.Errorf("the versions are %q", got)
	}
	if got := said(versions, ".recto"); !strings.Contains(got, "version 1 to version 2") || !strings.Contains(got, "blue") || !strings.Contains(got, "red") {
		t.Errorf("what changed is %q", got)
	}
	if got := said(open(t, h, at+"/versions?from=2&to=2"), ".recto"); strings.Contains(got, "blue") {
		t.Errorf("a version set beside itself differs: %q", got)
	}
	if got := said(open(t, h, at+"?v=1"), "#note"); got != "blue" {
		t.Errorf("version 1 shows the note %q", got)
	}
	for _, n := range []string{"9", "0", "-1", "01", "%2B1", "1.0", "x", "99999999999999999999", "%FF"} {
		webtest.Page(t, webtest.Ask(t, h, "GET", at+"?v="+n, nil), http.StatusNotFound)
		text, err := url.QueryUnescape(n)
		if err != nil {
			t.Fatal(err)
		}
		webtest.Page(t, webtest.Post(t, h, at+"/duplicate", url.Values{"n": {text}, "name": {"A copy"}}), http.StatusNotFound)
	}
	if w := webtest.Post(t, h, at+"/duplicate", url.Values{"n": {"1"}, "name": {"Version 1 again"}}); w.Code != http.StatusSeeOther {
		t.Errorf("a copy of version 1: status %d", w.Code)
	} else if got := said(open(t, h, w.Header().Get("Location")), "#note"); got != "blue" {
		t.Errorf("the copy of version 1 has the note %q", got)
	}
}

func TestTwoEditorsGetAConflictAndLoseNothing(t *testing.T) {
	book, h := shelf(t)
	v, err := book.Moulds.New(t.Context(), mould.Mould{Name: "Shell", Shape: mould.Cuboid, Cavities: 1, Sets: 1,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(50), DepthMM: quantity.Some(30)}}, "")
	if err != nil {
		t.Fatal(err)
	}
	at := "/moulds/" + v.ID
	one, other := open(t, h, at), open(t, h, at)
	if w := webtest.Post(t, h, at, sent(one, "name", "Shell, small")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	w := webtest.Post(t, h, at, sent(other, "name", "Shell, large", "note", "red"))
	d := webtest.Page(t, w, http.StatusConflict)
	if got := said(d, ".summary"); !strings.Contains(got, "Version 2") || !strings.Contains(got, "version 1") {
		t.Errorf("the conflict says %q", got)
	}
	if got, _ := d.Find("#name").Attr("value"); got != "Shell, large" {
		t.Errorf("what was typed is gone: %q", got)
	}
	// The newer version is a link away, what differs stands there, and there are two ways on.
	offer := d.Find(".conflict")
	if got, _ := offer.Find("a[target=_blank]").Attr("href"); got != at+"?v=2" {
		t.Errorf("the newer version is at %q", got)
	}
	if got := said(d, ".conflict"); !strings.Contains(got, "Note–red") {
		t.Errorf("what differs is %q", got)
	}
	if n := offer.Find("button[form=mould][name=do]").Length(); n != 2 {
		t.Errorf("%d keys lead on, want 2", n)
	}
	own := sent(d)
	own.Set("do", "keep-apart")
	own.Set("name", "Shell, small") // as the record is called
	w = webtest.Post(t, h, at, own)
	if other := webtest.Led(w); w.Code != http.StatusSeeOther || other == at {
		t.Fatalf("kept as another: status %d, to %q", w.Code, other)
	} else if got := said(open(t, h, w.Header().Get("Location")), "h1, [role=status]"); got != "Shell, small, againKept as version 1." {
		t.Errorf("the other one says %q", got)
	}
	// Its name is taken now: the page comes back with the same offer.
	own.Set("once", studio.NewID())
	d2 := webtest.Page(t, webtest.Post(t, h, at, own), http.StatusConflict)
	if got, _ := d2.Find("#name").Attr("value"); got != "Shell, small, again" || said(d2, "#name-fault") == "" || d2.Find(".conflict button").Length() != 2 {
		t.Errorf("a name that is taken: %q, %q", got, said(d2, "#name-fault"))
	}
	// Told of it, the maker may keep theirs on top.
	if w := webtest.Post(t, h, at, sent(d, "once", studio.NewID())); w.Code != http.StatusSeeOther {
		t.Fatalf("keeping it on top: status %d, %s", w.Code, said(webtest.Page(t, w, w.Code), ".summary"))
	}
	if rec, err := book.Moulds.Get(t.Context(), v.ID); err != nil || rec.Name != "Shell, large" || rec.Newest.N != 3 {
		t.Errorf("it is now %q, version %d, %v", rec.Name, rec.Newest.N, err)
	}
	// A form that does not say from which version it comes keeps nothing.
	lost := sent(open(t, h, at), "name", "Shell, lost")
	lost.Del("base")
	webtest.Page(t, webtest.Post(t, h, at, lost), http.StatusUnprocessableEntity)
	// What cannot be kept comes back with its sentence at the field.
	bad := sent(open(t, h, at), "name", "")
	webtest.Faulty(t, webtest.Page(t, webtest.Post(t, h, at, bad), http.StatusUnprocessableEntity), bad, "name")
}

// Back after a record was kept, then something else typed into the same form: told
// once, the maker keeps it with the next press.
func TestAFormThatWasKeptAndChangedIsKeptWithTheNextPress(t *testing.T) {
	book, h := shelf(t)
	fresh := open(t, h, "/moulds/new")
	if w := webtest.Post(t, h, "/moulds/new", sent(fresh, "name", "Shell")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	d := webtest.Page(t, webtest.Post(t, h, "/moulds/new", sent(fresh, "name", "Pebble")), http.StatusConflict)
	if got := said(d, ".summary"); !strings.Contains(got, "sent before with something else in it") {
		t.Errorf("the conflict says %q", got)
	}
	// A name that is taken is refused in its own words, and the next press is free again.
	d = webtest.Page(t, webtest.Post(t, h, "/moulds/new", sent(d, "name", "shell")), http.StatusConflict)
	if got := said(d, ".summary"); !strings.Contains(got, "There is a mould called “Shell” already.") {
		t.Errorf("a name that is taken: %q", got)
	}
	if w := webtest.Post(t, h, "/moulds/new", sent(d, "name", "Pebble")); w.Code != http.StatusSeeOther {
		t.Fatalf("the next press: status %d, %s", w.Code, said(webtest.Page(t, w, w.Code), ".summary"))
	}
	if all, err := book.Moulds.All(t.Context()); err != nil || len(all) != 2 || all[0].Name != "Pebble" || all[1].Name != "Shell" {
		t.Errorf("the moulds are %v, %v", all, err)
	}
}

func TestNothingChangedIsNoNewVersion(t *testing.T) {
	book, h := shelf(t)
	at := webtest.Post(t, h, "/moulds/new", sent(open(t, h, "/moulds/new"), "name", "Shell", "note", "blue")).Header().Get("Location")
	at, _, _ = strings.Cut(at, "?")
	d := webtest.Page(t, webtest.Post(t, h, at, sent(open(t, h, at))), http.StatusConflict)
	if got := said(d, ".summary"); !strings.Contains(got, "Nothing has changed since version 1, so no new version was kept.") {
		t.Errorf("says %q", got)
	}
	newest := func() int {
		t.Helper()
		rec, err := book.Moulds.Get(t.Context(), strings.TrimPrefix(at, "/moulds/"))
		if err != nil {
			t.Fatal(err)
		}
		return rec.Newest.N
	}
	if n := newest(); n != 1 {
		t.Errorf("the newest version is %d", n)
	}
	// What is then changed is kept with the next press.
	if w := webtest.Post(t, h, at, sent(d, "note", "red")); w.Code != http.StatusSeeOther || newest() != 2 {
		t.Errorf("status %d, newest version %d", w.Code, newest())
	}
	// An older version, kept on top, is a change.
	if w := webtest.Post(t, h, at, sent(open(t, h, at+"?v=1"))); w.Code != http.StatusSeeOther || newest() != 3 {
		t.Errorf("version 1 on top: status %d, newest version %d", w.Code, newest())
	}
}

func TestARecordIsCopiedArchivedAndBroughtBack(t *testing.T) {
	book, h := shelf(t)
	w := webtest.Post(t, h, "/moulds/new", sent(open(t, h, "/moulds/new"), "name", "Shell"))
	at := webtest.Led(w)
	copied := webtest.ValuesOf(open(t, h, at+"/versions"), "form[action$='/duplicate']")
	if copied.Get("name") != "Shell, again" {
		t.Errorf("a copy would be called %q", copied.Get("name"))
	}
	first := webtest.Post(t, h, at+"/duplicate", copied).Header().Get("Location")
	if again := webtest.Post(t, h, at+"/duplicate", copied).Header().Get("Location"); first == "" || again != first {
		t.Errorf("copied twice: %q and %q", first, again)
	}
	taken := url.Values{"name": {"shell"}}
	d := webtest.Page(t, webtest.Post(t, h, at+"/duplicate", taken), http.StatusConflict)
	webtest.Faulty(t, d, taken, "name")
	if got, _ := d.Find("#name").Attr("value"); got != "shell" || !strings.Contains(said(d, "#name-fault"), "already") {
		t.Errorf("a copy under a name that is taken: %q, %q", got, said(d, "#name-fault"))
	}
	if w := webtest.Post(t, h, at+"/archive", nil); w.Header().Get("Location") != "/moulds" {
		t.Errorf("archived, it leads to %q", w.Header().Get("Location"))
	}
	if got := said(open(t, h, "/moulds"), "tbody"); strings.Contains(got, "Shell ") || !strings.Contains(got, "Shell, again") {
		t.Errorf("the list is %q", got)
	}
	if got := said(open(t, h, "/moulds?archived=1"), "tbody"); !strings.Contains(got, "Shell") || !strings.Contains(got, "Bring back") {
		t.Errorf("the archived ones are %q", got)
	}
	if got := said(open(t, h, at), "main, header"); !strings.Contains(got, "archived") {
		t.Errorf("an archived record does not say so: %q", got)
	}
	if w := webtest.Post(t, h, at+"/bring-back", nil); w.Header().Get("Location") != at {
		t.Errorf("brought back, it leads to %q", w.Header().Get("Location"))
	}
	for _, do := range []string{"/archive", "/bring-back", "/duplicate"} {
		webtest.Page(t, webtest.Post(t, h, "/moulds/none"+do, url.Values{"name": {"x"}}), http.StatusNotFound)
	}
	if _, err := book.Designs.Get(t.Context(), strings.TrimPrefix(at, "/moulds/")); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a mould is found as a design: %v", err)
	}
}

func TestALongListIsPagedAndSearched(t *testing.T) {
	book, h := shelf(t)
	for i := range 57 {
		if _, err := book.Moulds.New(t.Context(), mould.Mould{Name: fmt.Sprintf("Pebble %02d", i), Shape: mould.Cuboid, Cavities: 1, Sets: 1,
			Dimensions: mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(50), DepthMM: quantity.Some(30)}}, ""); err != nil {
			t.Fatal(err)
		}
	}
	seen := map[string]bool{}
	for at := "/moulds"; at != ""; {
		d := open(t, h, at)
		d.Find("tbody .row-name").Each(func(_ int, a *goquery.Selection) { seen[a.Text()] = true })
		at, _ = d.Find("a[rel=next]").Attr("href")
	}
	if len(seen) != 57 {
		t.Errorf("the pages show %d of 57 moulds", len(seen))
	}
	for _, past := range []string{"/moulds?page=99", "/moulds?page=4", "/moulds?page=99&q=pebble"} {
		if got := said(open(t, h, past), "main"); !strings.Contains(got, "51 to 57 of 57 moulds") || strings.Contains(got, "no mould yet") {
			t.Errorf("%s, past the end of the list, says %q", past, got)
		}
	}
	d := open(t, h, "/moulds?q=pebble+1")
	if n := d.Find("tbody tr").Length(); n != 15 { // 01, 10 to 19, 21, 31, 41, 51
		t.Errorf("a search finds %d, want 15", n)
	}
	if got := said(open(t, h, "/moulds?q=gravel"), "main"); !strings.Contains(got, "No mould has “gravel” in its name.") {
		t.Errorf("a search for nothing says %q", got)
	}
}
