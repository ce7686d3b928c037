package studio

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/words"
)

// Kind is a kind of thing that versions of records stand on. The words are
// stored, and faults name records by them (fault.Ref).
type Kind string

// The kinds. The first three are versioned records; the others are only stood on.
const (
	KindFormula Kind = "formula"
	KindMould   Kind = "mould"
	KindDesign  Kind = "design"

	KindIngredient Kind = "ingredient" // of the catalogue or of the studio
	KindItem       Kind = "item"       // what a design is sprinkled with or wrapped in, by its name
)

// Ref names a record of the kind in a fault.
func (k Kind) Ref(id string) fault.Ref { return fault.Ref{Kind: string(k), ID: id} }

// Record is a versioned record: its newest version, and where it stands. Doc is
// the type of its document.
//
// What the newest version of a living record stands on (a design on its mould,
// its formulas and the designs that it embeds) is never archived: neither can be
// done to the other while that is so.
type Record[Doc any] struct {
	ID         string
	Name       string
	Newest     Version[Doc]
	ArchivedAt time.Time // zero while the record is living
	FromID     string    // the record that it was duplicated from; "" when it was written here
	FromN      int       // and the version
	// Unread says why the newest version cannot be read, in a sentence for the maker;
	// nil where it can. Its document is then the zero one. Only lists give such a
	// record, so that one damaged document does not take the others along.
	Unread error
}

// Archived reports that the record was archived.
func (r Record[Doc]) Archived() bool { return !r.ArchivedAt.IsZero() }

// Version is one version of a record, as it was kept. It never changes. What it
// stands on is meant in its newest version.
type Version[Doc any] struct {
	ID     string    // of the record
	N      int       // from 1
	KeptAt time.Time // UTC
	Note   string    // the maker's words on what changed and why; may be empty
	Doc    Doc
}

// Use says that a record stands on something, in at least one version.
type Use struct {
	Kind     Kind
	ID       string // of the record
	Name     string
	Roles    []string // as what, over all versions, in order; empty where there are no roles
	N        int      // the newest version that does
	Newest   bool     // that is the record's newest version
	Archived bool
}

// As reports that it is used in a role in some version.
func (u Use) As(role string) bool { return slices.Contains(u.Roles, role) }

// namesAt are the names of a kind as they stood in a state of its records.
type namesAt struct {
	state string
	names []Name
}

// Name is a record as a list of choices has it.
type Name struct {
	ID, Name string
	Newest   int // number of the newest version
}

// nature is what a kind of record knows of its documents; everything else is the
// same for every kind. A document is a value: no method changes the one it is given.
type nature[Doc any] interface {
	kind() Kind
	name(Doc) string
	// under gives the document the id and the name of its record.
	under(d Doc, id, name string) Doc
	// check gives everything that is wrong with a document by itself.
	check(d Doc, cat *catalogue.Catalogue) fault.List
	// stands says what is wrong with it in the light of the other records.
	stands(ctx context.Context, r Reader, d Doc) error
	// links gathers what it stands on, each once.
	links(d Doc, cat *catalogue.Catalogue) []Link
	// words are what a search finds it by, besides its name.
	words(Doc) []string
	// finds gives those of the ingredients whose name holds a folded word, so that a
	// search finds a record by what it stands on.
	finds(word string, ingredients []foldedName) []string
	// figures is what was worked out when the version is kept; nil for none.
	figures(Doc) any
	read(doc, figures Document) (Doc, error)
}

// plain is a nature that stands on nothing and works nothing out. A kind embeds
// it and writes only what differs.
type plain[Doc any] struct{}

func (plain[Doc]) stands(context.Context, Reader, Doc) error { return nil }
func (plain[Doc]) links(Doc, *catalogue.Catalogue) []Link    { return nil }
func (plain[Doc]) words(Doc) []string                        { return nil }
func (plain[Doc]) finds(string, []foldedName) (ids []string) { return nil }
func (plain[Doc]) figures(Doc) any                           { return nil }
func (plain[Doc]) read(doc, _ Document) (d Doc, err error)   { return d, decode("record", doc, &d) }

// Records are the studio's records of one kind. Its methods may be called from
// many goroutines.
type Records[Doc any] struct {
	s *Studio
	nature[Doc]
}

// Kind is the kind of the records; its word is also what a sentence calls one.
func (k Records[Doc]) Kind() Kind { return k.kind() }

// draft is a document that was checked and written down, before it has a number.
type draft[Doc any] struct {
	doc           Doc
	name, nameKey string
	searchKey     string
	note          string
	body, figures Document
	links         []Link
}

// is reports that a version has the document and the figures of the draft.
func (d draft[Doc]) is(v VersionRow) bool {
	return v.Document.Format == d.body.Format && bytes.Equal(v.Document.Body, d.body.Body) && bytes.Equal(v.Figures.Body, d.figures.Body)
}

// NoteField is the field of a fault in what the maker says of a version. It is no
// part of the document, which may have a note of its own.
const NoteField = "version_note"

// draft checks a document by itself. Its name is one trimmed line afterwards.
func (k Records[Doc]) draft(ctx context.Context, r Reader, id string, d Doc, note string) (draft[Doc], error) {
	cat, err := k.s.catalogueIn(ctx, r)
	if err != nil {
		return draft[Doc]{}, err
	}
	name, bad := line("name", string(k.kind())+"'s name", k.name(d), true)
	var l fault.List
	l.Add(bad)
	for _, e := range k.check(k.under(d, id, name), cat) {
		if e.Field != "name" || bad == nil {
			l.Add(e)
		}
	}
	note, bad = text(NoteField, "note", note)
	l.Add(bad)
	if err := l.Err(); err != nil {
		return draft[Doc]{}, err
	}
	return k.written(k.under(d, id, name), note, cat)
}

// written writes a document down.
func (k Records[Doc]) written(d Doc, note string, cat *catalogue.Catalogue) (out draft[Doc], err error) {
	name := k.name(d)
	key := SearchKey(strings.Join(append([]string{name}, k.words(d)...), " "))
	out = draft[Doc]{doc: d, name: name, nameKey: NameKey(name), note: note, links: k.links(d, cat),
		searchKey: strings.ReplaceAll(key, "\x00", "")} // a zero byte ends a text in PostgreSQL
	if out.body, err = document(string(k.kind()), d); err != nil {
		return out, err
	}
	if f := k.figures(d); f != nil {
		out.figures, err = document("result of the "+string(k.kind()), f)
	}
	return out, err
}

// add adds version n, and touches what it stands on.
func (k Records[Doc]) add(ctx context.Context, w Writer, d draft[Doc], id string, n int) (Version[Doc], error) {
	row := VersionRow{RecordID: id, N: n, KeptAt: k.s.instant(), Note: d.note, Document: d.body, Figures: d.figures}
	if err := w.AddVersion(ctx, row, d.links); err != nil {
		return Version[Doc]{}, err
	}
	used := []string{id}
	for _, l := range d.links {
		used = append(used, l.ID)
	}
	return Version[Doc]{ID: id, N: n, KeptAt: row.KeptAt, Note: d.note, Doc: d.doc}, w.Touch(ctx, row.KeptAt, used...)
}

// start keeps version 1 of a record that comes from another, or from none.
func (k Records[Doc]) start(ctx context.Context, w Writer, d draft[Doc], id, fromID string, fromN int) (Version[Doc], error) {
	if err := k.stands(ctx, w, d.doc); err != nil {
		return Version[Doc]{}, err
	}
	if err := k.free(ctx, w, d.nameKey, id, nameTaken); err != nil {
		return Version[Doc]{}, err
	}
	now := k.s.instant()
	row := RecordRow{ID: id, Kind: k.kind(), Name: d.name, NameKey: d.nameKey, SearchKey: d.searchKey, Newest: 1, KeptAt: now, UsedAt: now,
		FromID: fromID, FromN: fromN}
	if err := w.AddRecord(ctx, row); err != nil {
		return Version[Doc]{}, err
	}
	return k.add(ctx, w, d, id, 1)
}

// What is said of a name that another living record of the kind has.
const (
	nameTaken      = "There is a %s called “%s” already. Give this one another name, or archive that one first."
	nameTakenSince = "Another %s is called “%s” now. Give that one another name or archive it, then bring this one back."
)

// free refuses a name that another living record of the kind has, in the words of
// taken.
func (k Records[Doc]) free(ctx context.Context, r Reader, nameKey, id, taken string) error {
	other, err := r.LivingRecord(ctx, k.kind(), nameKey)
	switch {
	case errors.Is(err, ErrNone), err == nil && other.ID == id:
		return nil
	case err != nil:
		return err
	}
	return fault.Conflictf("name", taken, k.kind(), other.Name).Under("name-taken")
}

// keeping is what of an act on a record is compared when the same id comes again.
type keeping struct {
	ID   string
	Base int
	Doc  any
	Note string
}

// act is an act of the kind that gives a version.
func (k Records[Doc]) act(ctx context.Context, verb string, asked keeping, do func(Writer) (Version[Doc], error)) (Version[Doc], error) {
	return once(ctx, k.s, act[Version[Doc]]{
		what: verb + " " + string(k.kind()), asked: asked, do: do,
		ref:  func(v Version[Doc]) (string, int) { return v.ID, v.N },
		load: func(r Reader, id string, n int) (Version[Doc], error) { return k.versionIn(ctx, r, id, n) },
	})
}

// New keeps d as version 1 of a record of its own; its id is given here.
//
// Errors: fault.Invalid by the field, for what is wrong with d and for what it
// stands on that is not there or was archived; fault.Conflict on "name" when a
// living record of the kind has that name.
func (k Records[Doc]) New(ctx context.Context, d Doc, note string) (Version[Doc], error) {
	id := k.s.newID()
	return k.act(ctx, "new", keeping{Doc: d, Note: note}, func(w Writer) (Version[Doc], error) {
		made, err := k.draft(ctx, w, id, d, note)
		if err != nil {
			return Version[Doc]{}, err
		}
		return k.start(ctx, w, made, id, "", 0)
	})
}

// Keep adds a version to a record. Base is the version that was being edited;
// the version kept is base + 1. Sending the very same again (a form sent twice)
// gives the version that is there already.
//
// Errors: fault.Invalid by the field, as of New; fault.NotFound for an unknown
// record; fault.Conflict without a field when another version was kept since
// base, or the record was archived; fault.Conflict on "name" when another has
// that name, and without a field under the rule unchanged when neither the
// document nor its figures differ from the newest version and there is no note.
// After a conflict nothing has changed: show the maker what was typed again.
func (k Records[Doc]) Keep(ctx context.Context, id string, base int, d Doc, note string) (Version[Doc], error) {
	return k.act(ctx, "keep", keeping{id, base, d, note}, func(w Writer) (v Version[Doc], err error) {
		row, err := k.row(ctx, w, id)
		if err != nil {
			return v, err
		}
		made, err := k.draft(ctx, w, id, d, note)
		if err != nil {
			return v, err
		}
		if base < 1 || base > row.Newest {
			return v, fault.NotFoundf("base", "“%s” has no version %d to build on. Its newest is version %d.", row.Name, base, row.Newest)
		}
		if row.Archived() {
			return v, fault.Conflictf("", "“%s” was archived meanwhile. Nothing was kept, and what you typed is still here. Bring the %s back, then keep "+
				"this again.", row.Name, k.kind()).Under("archived")
		}
		if base == row.Newest-1 {
			last, err := w.Version(ctx, id, row.Newest)
			if err != nil {
				return v, err
			}
			if last.Note == made.note && bytes.Equal(last.Document.Body, made.body.Body) {
				return k.version(last)
			}
		}
		if base != row.Newest {
			return v, fault.Conflictf("",
				"Version %d of “%s” was kept while you were working from version %d. Nothing is lost, and what you typed is still here. "+
					"Look at version %d, then keep yours on top of it, or as a %s of its own.", row.Newest, row.Name, base, row.Newest,
				k.kind()).Under("newer-version")
		}
		last, err := w.Version(ctx, id, row.Newest)
		if err != nil {
			return v, err
		}
		if made.note == "" && made.is(last) {
			return v, fault.Conflictf("", "Nothing has changed since version %d, so no new version was kept.", row.Newest).Under("unchanged")
		}
		if err := k.stands(ctx, w, made.doc); err != nil {
			return v, err
		}
		if err := k.free(ctx, w, made.nameKey, id, nameTaken); err != nil {
			return v, err
		}
		if v, err = k.add(ctx, w, made, id, row.Newest+1); err != nil {
			return v, err
		}
		row.Name, row.NameKey, row.SearchKey = made.name, made.nameKey, made.searchKey
		row.Newest, row.KeptAt, row.UsedAt = v.N, v.KeptAt, v.KeptAt
		return v, w.SetRecord(ctx, row)
	})
}

// Duplicate makes a record called name from version n of another; n 0 is its
// newest. Its version 1 carries what was worked out when that version was kept,
// and its note says where it came from.
//
// Errors: fault.NotFound; fault.Invalid or fault.Conflict on "name";
// fault.Invalid by the field when the version stands on something that is not
// there any more or was archived.
func (k Records[Doc]) Duplicate(ctx context.Context, id string, n int, name string) (Version[Doc], error) {
	name, bad := line("name", string(k.kind())+"'s name", name, true)
	if bad != nil {
		return Version[Doc]{}, bad
	}
	fresh := k.s.newID()
	return k.act(ctx, "duplicate", keeping{id, n, name, ""}, func(w Writer) (v Version[Doc], err error) {
		row, err := k.row(ctx, w, id)
		if err != nil {
			return v, err
		}
		at := cmp.Or(n, row.Newest)
		from, err := k.versionOf(ctx, w, row, at)
		if err != nil {
			return v, err
		}
		cat, err := k.s.catalogueIn(ctx, w)
		if err != nil {
			return v, err
		}
		// What was kept once is not checked again: its ingredients may have changed
		// since, and the maker may be about to mend just that.
		made, err := k.written(k.under(from.Doc, fresh, name), "From “"+row.Name+"”, version "+strconv.Itoa(at)+".", cat)
		if err != nil {
			return v, err
		}
		return k.start(ctx, w, made, fresh, id, at)
	})
}

// Archive takes a record off the list. Nothing is deleted: its versions stay,
// and what was made from them goes on working. Its name becomes free. Archiving
// what is archived does nothing.
//
// Errors: fault.NotFound; fault.Conflict naming the living records that stand on it.
func (k Records[Doc]) Archive(ctx context.Context, id string) error {
	return k.move(ctx, id, func(w Writer, row *RecordRow) error {
		if row.Archived() {
			return nil
		}
		row.ArchivedAt = k.s.instant()
		return unused(ctx, w, *row)
	})
}

// BringBack puts an archived record on the list again.
//
// Errors: fault.NotFound; fault.Conflict on "name" when another record took its
// name meanwhile, and without a field when something that it stands on was archived.
func (k Records[Doc]) BringBack(ctx context.Context, id string) error {
	return k.move(ctx, id, func(w Writer, row *RecordRow) error {
		if !row.Archived() {
			return nil
		}
		if err := k.free(ctx, w, row.NameKey, id, nameTakenSince); err != nil {
			return err
		}
		row.ArchivedAt, row.UsedAt = time.Time{}, k.s.instant()
		return standing(ctx, w, *row)
	})
}

// move changes the row of a record in a transaction of its own.
func (k Records[Doc]) move(ctx context.Context, id string, change func(Writer, *RecordRow) error) error {
	return k.s.store.Write(ctx, func(w Writer) error {
		row, err := k.row(ctx, w, id)
		if err != nil {
			return err
		}
		if err := change(w, &row); err != nil {
			return err
		}
		return w.SetRecord(ctx, row)
	})
}

// mostNamed is how many records a sentence names before it counts the rest.
const mostNamed = 5

// unused refuses to archive what the newest version of a living record stands on.
func unused(ctx context.Context, r Reader, row RecordRow) error {
	uses, err := usesOf(ctx, r, Link{Kind: row.Kind, ID: row.ID})
	if err != nil {
		return err
	}
	var names []string
	for _, u := range uses {
		if u.Newest && !u.Archived {
			names = append(names, "“"+u.Name+"”")
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fault.Conflictf("", "“%s” cannot be archived: it is used in %s. Archive what uses it first, or make that with another %s.",
		row.Name, words.Some(names, mostNamed, "more"), row.Kind).Under("in-use")
}

// standing refuses to bring a record back that stands on an archived one.
func standing(ctx context.Context, r Reader, row RecordRow) error {
	links, err := r.Links(ctx, row.ID)
	if err != nil {
		return err
	}
	var away []string
	for _, l := range links {
		on, err := r.Record(ctx, l.Kind, l.ID)
		if errors.Is(err, ErrNone) {
			continue // an ingredient or an item, which is no versioned record
		}
		if err != nil {
			return err
		}
		if on.Archived() {
			away = append(away, "the "+string(l.Kind)+" “"+on.Name+"”")
		}
	}
	if len(away) == 0 {
		return nil
	}
	slices.Sort(away)
	return fault.Conflictf("", "“%s” uses what was archived: %s. Bring that back first.", row.Name, words.Some(away, mostNamed, "more")).Under("archived")
}

// maxTerms is how many words of a query count; a maker types one or two.
const maxTerms = 8

// List gives a page of the living records, newest kept first. Each word of query
// must be found in the record's name, in what else a search finds it by, or in
// the name of something that its newest version stands on, whatever the case and
// the accents. An empty query finds all.
func (k Records[Doc]) List(ctx context.Context, query string, page Slice) (Page[Record[Doc]], error) {
	return k.list(ctx, query, page, false)
}

// ListArchived is as List, of the archived records.
func (k Records[Doc]) ListArchived(ctx context.Context, query string, page Slice) (Page[Record[Doc]], error) {
	return k.list(ctx, query, page, true)
}

func (k Records[Doc]) list(ctx context.Context, query string, page Slice, archived bool) (Page[Record[Doc]], error) {
	page = page.sound()
	return read(ctx, k.s, func(r Reader) (Page[Record[Doc]], error) {
		q := RecordQuery{Kind: k.kind(), Archived: archived, Limit: page.Size, Offset: (page.Number - 1) * page.Size}
		none := Page[Record[Doc]]{}
		if words := strings.Fields(SearchKey(strings.ToValidUTF8(query, ""))); len(words) > 0 {
			cat, err := k.s.catalogueIn(ctx, r)
			if err != nil {
				return none, err
			}
			ingredients := k.s.foldedNames(cat)
			for i, word := range words[:min(len(words), maxTerms)] {
				if slices.Contains(words[:i], word) {
					continue // it asks for nothing more
				}
				q.Terms = append(q.Terms, Term{Key: strings.ReplaceAll(word, "\x00", ""), IDs: k.finds(word, ingredients)})
			}
		}
		rows, total, err := r.RecordPage(ctx, q)
		if err != nil {
			return none, err
		}
		out := Page[Record[Doc]]{Number: page.Number, Size: page.Size, Total: total}
		out.Items = k.listed(rows)
		return out, nil
	})
}

// listed are the records of rows, in order; those that cannot be read say so.
func (k Records[Doc]) listed(rows []NewestRow) []Record[Doc] {
	out := make([]Record[Doc], len(rows))
	for i, row := range rows {
		rec, err := k.record(row)
		if err != nil {
			var none Doc
			rec.Newest.Doc = none
			rec.Unread = &fault.Error{Kind: fault.Conflict, Rule: "unread", Err: err, Message: "Version " + strconv.Itoa(row.Newest) + " of the " +
				string(k.kind()) + " “" + row.Name + "” is damaged in the studio's file and cannot be read. Bring back a backup. If a newer Barwright wrote " +
				"it, open it with that one."}
		}
		out[i] = rec
	}
	return out
}

// readable are those of the records that can be read.
func readable[Doc any](list []Record[Doc]) []Record[Doc] {
	return slices.DeleteFunc(list, func(r Record[Doc]) bool { return r.Unread != nil })
}

func (k Records[Doc]) record(row NewestRow) (Record[Doc], error) {
	v, err := k.version(row.Version)
	return Record[Doc]{ID: row.ID, Name: row.Name, Newest: v, ArchivedAt: row.ArchivedAt, FromID: row.FromID, FromN: row.FromN}, err
}

// All gives every living record that can be read, by name.
func (k Records[Doc]) All(ctx context.Context) ([]Record[Doc], error) {
	list, err := read(ctx, k.s, func(r Reader) ([]Record[Doc], error) { return k.newestIn(ctx, r) })
	return readable(list), err
}

// Some gives the records of ids, by name. Unknown ids are skipped, and so are
// records that cannot be read. Archived records are included.
func (k Records[Doc]) Some(ctx context.Context, ids ...string) ([]Record[Doc], error) {
	if len(ids) == 0 {
		return nil, nil
	}
	list, err := read(ctx, k.s, func(r Reader) ([]Record[Doc], error) { return k.newestIn(ctx, r, ids...) })
	return readable(list), err
}

// newestIn is Some, and All where no ids are given, with those that cannot be read.
func (k Records[Doc]) newestIn(ctx context.Context, r Reader, ids ...string) ([]Record[Doc], error) {
	rows, err := r.NewestVersions(ctx, k.kind(), ids...)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(rows, func(a, b NewestRow) int { return cmp.Or(cmp.Compare(a.NameKey, b.NameKey), cmp.Compare(a.ID, b.ID)) })
	return k.listed(rows), nil
}

// Names gives the id and the name of every living record, the last used first: a
// record is used when it is kept, when another is built on it and when a run is
// made from it.
func (k Records[Doc]) Names(ctx context.Context) ([]Name, error) {
	return read(ctx, k.s, func(r Reader) ([]Name, error) {
		// A form asks with every key that is typed, and thousands of names take longer
		// to read than all else that it asks.
		state, err := r.RecordState(ctx, k.kind())
		if err != nil {
			return nil, err
		}
		k.s.mu.Lock()
		last := k.s.names[k.kind()]
		k.s.mu.Unlock()
		if last.state == state && state != "" {
			return slices.Clone(last.names), nil
		}
		out, err := r.RecordNames(ctx, k.kind())
		if err != nil {
			return nil, err
		}
		k.s.mu.Lock()
		k.s.names[k.kind()] = namesAt{state, out}
		k.s.mu.Unlock()
		return slices.Clone(out), nil
	})
}

// Get gives a record with its newest version, archived or not. Errors:
// fault.NotFound.
func (k Records[Doc]) Get(ctx context.Context, id string) (Record[Doc], error) {
	return read(ctx, k.s, func(r Reader) (Record[Doc], error) {
		row, err := k.row(ctx, r, id)
		if err != nil {
			return Record[Doc]{}, err
		}
		v, err := r.Version(ctx, id, row.Newest)
		if err != nil {
			return Record[Doc]{}, err
		}
		return k.record(NewestRow{row, v})
	})
}

// Version gives version n of a record. Errors: fault.NotFound.
func (k Records[Doc]) Version(ctx context.Context, id string, n int) (Version[Doc], error) {
	return read(ctx, k.s, func(r Reader) (Version[Doc], error) { return k.versionIn(ctx, r, id, n) })
}

// Versions gives all versions of a record, newest first. Errors: fault.NotFound.
func (k Records[Doc]) Versions(ctx context.Context, id string) ([]Version[Doc], error) {
	return read(ctx, k.s, func(r Reader) ([]Version[Doc], error) {
		if _, err := k.row(ctx, r, id); err != nil {
			return nil, err
		}
		rows, err := r.Versions(ctx, id)
		if err != nil {
			return nil, err
		}
		return each(rows, k.version)
	})
}

// Uses says which records stand on a record of the kind in any version, archived
// or not, by name. Nothing stands on what is unknown.
func (k Records[Doc]) Uses(ctx context.Context, id string) ([]Use, error) {
	return k.s.Uses(ctx, k.kind(), id)
}

// Uses says which records stand on a thing in any version, archived or not, by
// name. Nothing stands on what is unknown.
func (s *Studio) Uses(ctx context.Context, kind Kind, id string) ([]Use, error) {
	return read(ctx, s, func(r Reader) ([]Use, error) { return usesOf(ctx, r, Link{Kind: kind, ID: id}) })
}

// UsedIDs gives the ids of a kind of thing on which the newest version of a
// living record stands, in order.
func (s *Studio) UsedIDs(ctx context.Context, kind Kind) ([]string, error) {
	return read(ctx, s, func(r Reader) ([]string, error) {
		ids, err := r.UsedIDs(ctx, kind)
		slices.Sort(ids)
		return ids, err
	})
}

func usesOf(ctx context.Context, r Reader, on Link) ([]Use, error) {
	rows, err := r.Uses(ctx, on)
	if err != nil {
		return nil, err
	}
	byID := make(map[string]*Use, len(rows))
	for _, row := range rows {
		u := byID[row.RecordID]
		if u == nil {
			u = &Use{Kind: row.Kind, ID: row.RecordID, Name: row.Name, Archived: row.Archived}
			byID[u.ID] = u
		}
		u.N = max(u.N, row.N)
		u.Newest = u.N == row.Newest
		if row.Role != "" {
			u.Roles = append(u.Roles, row.Role)
		}
	}
	// Folding a name costs more than comparing it, so each is folded once.
	keys := make(map[string]string, len(byID))
	uses := make([]Use, 0, len(byID))
	for _, u := range byID {
		slices.Sort(u.Roles)
		keys[u.ID] = NameKey(u.Name)
		uses = append(uses, *u)
	}
	slices.SortFunc(uses, func(a, b Use) int { return cmp.Or(cmp.Compare(keys[a.ID], keys[b.ID]), cmp.Compare(a.ID, b.ID)) })
	return uses, nil
}

// row gives the row of a record, in words where there is none.
func (k Records[Doc]) row(ctx context.Context, r Reader, id string) (RecordRow, error) {
	return recordRow(ctx, r, k.kind(), id)
}

func recordRow(ctx context.Context, r Reader, kind Kind, id string) (RecordRow, error) {
	row, err := r.Record(ctx, kind, id)
	if errors.Is(err, ErrNone) {
		return row, fault.NotFoundf(string(kind), "There is no such %s in this studio. Look for it in the list of %ss.", kind, kind)
	}
	return row, err
}

func (k Records[Doc]) versionIn(ctx context.Context, r Reader, id string, n int) (Version[Doc], error) {
	row, err := k.row(ctx, r, id)
	if err != nil {
		return Version[Doc]{}, err
	}
	return k.versionOf(ctx, r, row, n)
}

func (k Records[Doc]) versionOf(ctx context.Context, r Reader, row RecordRow, n int) (Version[Doc], error) {
	v, err := r.Version(ctx, row.ID, n)
	if errors.Is(err, ErrNone) {
		return Version[Doc]{}, fault.NotFoundf("version", "“%s” has no version %d. Its newest is version %d.", row.Name, n, row.Newest)
	}
	if err != nil {
		return Version[Doc]{}, err
	}
	return k.version(v)
}

func (k Records[Doc]) version(row VersionRow) (Version[Doc], error) {
	d, err := k.read(row.Document, row.Figures)
	return Version[Doc]{ID: row.RecordID, N: row.N, KeptAt: row.KeptAt, Note: row.Note, Doc: d}, err
}
