package studio

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"strconv"
	"strings"
	"time"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/soap"
)

// Formula is a formula of the studio: its newest version, and where it stands.
type Formula struct {
	ID        string
	Name      string
	Newest    Version
	PutAwayAt time.Time // zero when it was not put away
	FromID    string    // the formula that it was duplicated from; "" when it was written here
	FromN     int       // and the version
}

// PutAway reports that the formula was put away.
func (f Formula) PutAway() bool { return !f.PutAwayAt.IsZero() }

// Version is one version of a formula, as it was kept. It never changes.
type Version struct {
	FormulaID string
	N         int       // from 1
	KeptAt    time.Time // UTC
	Note      string    // the maker's, what changed and why; may be empty
	Formula   *formula.Formula
	Kept      Kept
}

// Kept is what was worked out when a version was kept. The studio never works
// it out again: when an ingredient's values change later, a version still shows
// the figures that the maker saw when keeping it. The zero Kept says that
// nothing was worked out.
type Kept struct {
	// Superfat is the superfat and its doubt, by Monte Carlo: its Draws and Seed
	// say how it was found, and find it again.
	Superfat soap.Superfat `json:"superfat"`
	// Engine is the version of the program that worked it out.
	Engine string `json:"engine,omitempty"`
	// Figures is whatever else the caller keeps with the version, as JSON; may be empty.
	Figures json.RawMessage `json:"figures,omitempty"`
}

// Use says that a formula has an ingredient, in at least one version.
type Use struct {
	FormulaID string
	Name      string
	N         int  // the newest version that has it
	Newest    bool // that is the formula's newest version
	PutAway   bool // the formula was put away
	AsFat     bool // in some version it stands among the fats
	AsExtra   bool // in some version it stands among the extras, or colours a portion
}

// tries is how often a keep looks at the ingredients again when they change
// while it is being kept.
const tries = 5

// errStale says that the ingredients changed since the formula was checked.
var errStale = errors.New("the ingredients changed meanwhile")

// draft is a formula that was checked and written down, before it has a number.
type draft struct {
	formula   *formula.Formula
	document  Document
	kept      Kept
	keptDoc   Document
	note      string
	nameKey   string
	searchKey string
	uses      []UseRow
	revision  int // of the ingredients that it was checked against
}

func (s *Studio) draft(ctx context.Context, f *formula.Formula, kept Kept, note string) (*draft, error) {
	cat, revision, err := s.catalogue(ctx)
	if err != nil {
		return nil, err
	}
	l := f.Validate(true)
	if len(l) == 0 {
		l = f.CheckIDs(cat)
	}
	note, e := text("note", "note", note)
	l.Add(e)
	if err := l.Err(); err != nil {
		return nil, err
	}
	named := *f
	named.Name = strings.Join(strings.Fields(f.Name), " ")
	d, err := written(cat, &named, kept, note)
	if err != nil {
		return nil, err
	}
	d.revision = revision
	return d, nil
}

// written writes a formula and its result down.
func written(cat *catalogue.Catalogue, f *formula.Formula, kept Kept, note string) (*draft, error) {
	words := []string{f.Name}
	for i := range f.Scents {
		words = append(words, f.Scents[i].Name)
	}
	for i := range f.Bases {
		words = append(words, f.Bases[i].Name)
	}
	d := &draft{
		formula: f, kept: kept, note: note, uses: uses(cat, f),
		nameKey: NameKey(f.Name), searchKey: SearchKey(strings.Join(words, " ")),
	}
	var err error
	if d.document, err = document("formula", f); err != nil {
		return nil, err
	}
	d.keptDoc, err = document("result of the formula", kept)
	return d, err
}

// uses gathers which ingredients f has, each once, under the id that the
// catalogue has it under.
func uses(cat *catalogue.Catalogue, f *formula.Formula) []UseRow {
	var out []UseRow
	at := map[string]int{}
	of := func(id string) *UseRow {
		if in, err := cat.Get(id); err == nil {
			id = in.ID
		}
		i, ok := at[id]
		if !ok {
			i = len(out)
			at[id] = i
			out = append(out, UseRow{IngredientID: id})
		}
		return &out[i]
	}
	for i := range f.Fats {
		of(f.Fats[i].ID).AsFat = true
	}
	for i := range f.Extras {
		of(f.Extras[i].ID).AsExtra = true
	}
	// A colourant is an extra that goes into a portion.
	for i := range f.Portions {
		for _, c := range f.Portions[i].Colourants {
			of(c.ID).AsExtra = true
		}
	}
	return out
}

// keep runs act on a draft of f, and again on a fresh draft when an ingredient
// changed between the check and the transaction.
func (s *Studio) keep(ctx context.Context, f *formula.Formula, kept Kept, note string, act func(Writer, *draft) (Version, error)) (Version, error) {
	var last error
	for range tries {
		d, err := s.draft(ctx, f, kept, note)
		if err != nil {
			return Version{}, err
		}
		v, err := write(ctx, s, func(w Writer) (Version, error) {
			revision, err := w.EntryRevision(ctx)
			if err != nil {
				return Version{}, err
			}
			if revision != d.revision {
				return Version{}, errStale
			}
			return act(w, d)
		})
		if !errors.Is(err, errStale) {
			return v, err
		}
		last = err
	}
	return Version{}, &fault.Error{Kind: fault.Conflict, Message: "The ingredients are being changed at this moment. Nothing was kept; keep it again.", Err: last}
}

func (s *Studio) add(ctx context.Context, w Writer, d *draft, id string, n int) (Version, error) {
	v := VersionRow{FormulaID: id, N: n, KeptAt: s.instant(), Note: d.note, Formula: d.document, Kept: d.keptDoc}
	if err := w.AddVersion(ctx, v, d.uses); err != nil {
		return Version{}, err
	}
	return Version{FormulaID: id, N: n, KeptAt: v.KeptAt, Note: d.note, Formula: d.formula, Kept: d.kept}, nil
}

// free refuses a name that another living formula has.
func free(ctx context.Context, r Reader, nameKey, id string) error {
	other, err := r.LivingFormula(ctx, nameKey)
	switch {
	case errors.Is(err, ErrNone):
		return nil
	case err != nil:
		return err
	case other.ID == id:
		return nil
	}
	return fault.Conflictf("name", "There is a formula called “%s” already. Give this one another name, or put that one away first.", other.Name)
}

// NewFormula keeps f as version 1 of a formula of its own.
//
// Errors: fault.Invalid by the field for a formula that cannot be worked out;
// fault.Conflict on "name" when a formula that is not put away has that name.
func (s *Studio) NewFormula(ctx context.Context, f *formula.Formula, kept Kept, note string) (Version, error) {
	id := s.newID()
	return s.keep(ctx, f, kept, note, func(w Writer, d *draft) (Version, error) {
		if err := free(ctx, w, d.nameKey, id); err != nil {
			return Version{}, err
		}
		row := FormulaRow{ID: id, Name: d.formula.Name, NameKey: d.nameKey, SearchKey: d.searchKey, Newest: 1, KeptAt: s.instant()}
		if err := w.AddFormula(ctx, row); err != nil {
			return Version{}, err
		}
		return s.add(ctx, w, d, id, 1)
	})
}

// Keep adds a version to a formula. Base is the version that was being edited;
// the version kept is base + 1. Sending the very same again (a form sent twice)
// gives the version that is there already.
//
// Errors: fault.Invalid by the field; fault.NotFound for an unknown formula;
// fault.Conflict without a field when another version was kept since base, or
// the formula was put away; fault.Conflict on "name" when another has that name.
// After a conflict nothing has changed: show the maker what was typed again.
func (s *Studio) Keep(ctx context.Context, formulaID string, base int, f *formula.Formula, kept Kept, note string) (Version, error) {
	return s.keep(ctx, f, kept, note, func(w Writer, d *draft) (Version, error) {
		row, err := formulaRow(ctx, w, formulaID)
		if err != nil {
			return Version{}, err
		}
		if base < 1 || base > row.Newest {
			return Version{}, fault.NotFoundf("base", "“%s” has no version %d to build on; its newest is %d.", row.Name, base, row.Newest)
		}
		if !row.PutAwayAt.IsZero() {
			return Version{}, fault.Conflictf("", "“%s” was put away meanwhile. Nothing was kept, and what you typed is still here: bring the formula back, then keep this again.", row.Name)
		}
		if base == row.Newest-1 {
			v, err := w.Version(ctx, formulaID, row.Newest)
			if err != nil {
				return Version{}, err
			}
			if v.Note == d.note && bytes.Equal(v.Formula.Body, d.document.Body) {
				return version(v)
			}
		}
		if base != row.Newest {
			return Version{}, fault.Conflictf("", "Version %d of “%s” was kept while you were working from version %d. Nothing is lost, and what you typed is still here: look at version %d, then keep yours on top of it, or as a formula of its own.", row.Newest, row.Name, base, row.Newest)
		}
		if err := free(ctx, w, d.nameKey, formulaID); err != nil {
			return Version{}, err
		}
		v, err := s.add(ctx, w, d, formulaID, row.Newest+1)
		if err != nil {
			return Version{}, err
		}
		row.Name, row.NameKey, row.SearchKey = d.formula.Name, d.nameKey, d.searchKey
		row.Newest, row.KeptAt = v.N, v.KeptAt
		return v, w.SetFormula(ctx, row)
	})
}

// Duplicate makes a formula called name from version n of another; n 0 is its
// newest. Its version 1 carries the figures that the version was kept with,
// and its note says where it came from.
//
// Errors: fault.NotFound; fault.Invalid or fault.Conflict on "name".
func (s *Studio) Duplicate(ctx context.Context, formulaID string, n int, name string) (Version, error) {
	name, e := line("name", "formula's name", name, true)
	if e != nil {
		return Version{}, e
	}
	cat, _, err := s.catalogue(ctx)
	if err != nil {
		return Version{}, err
	}
	id := s.newID()
	return write(ctx, s, func(w Writer) (Version, error) {
		row, err := formulaRow(ctx, w, formulaID)
		if err != nil {
			return Version{}, err
		}
		if n == 0 {
			n = row.Newest
		}
		from, err := versionOf(ctx, w, row, n)
		if err != nil {
			return Version{}, err
		}
		if err := free(ctx, w, NameKey(name), id); err != nil {
			return Version{}, err
		}
		from.Formula.Name = name
		d, err := written(cat, from.Formula, from.Kept, "From “"+row.Name+"”, version "+strconv.Itoa(n)+".")
		if err != nil {
			return Version{}, err
		}
		made := FormulaRow{ID: id, Name: name, NameKey: d.nameKey, SearchKey: d.searchKey, Newest: 1, KeptAt: s.instant(), FromID: formulaID, FromN: n}
		if err := w.AddFormula(ctx, made); err != nil {
			return Version{}, err
		}
		return s.add(ctx, w, d, id, 1)
	})
}

// PutAway takes a formula off the list. Nothing is deleted: its versions stay,
// and sheets taken down from them go on working. Its name becomes free. Putting
// away what is put away does nothing.
//
// Errors: fault.NotFound; fault.Conflict naming the designs that pour it.
func (s *Studio) PutAway(ctx context.Context, formulaID string) error {
	_, err := write(ctx, s, func(w Writer) (struct{}, error) {
		row, err := formulaRow(ctx, w, formulaID)
		if err != nil || !row.PutAwayAt.IsZero() {
			return struct{}{}, err
		}
		if err := unbuilt(ctx, w, DesignLink{OnFormula, formulaID}, row.Name); err != nil {
			return struct{}{}, err
		}
		row.PutAwayAt = s.instant()
		return struct{}{}, w.SetFormula(ctx, row)
	})
	return err
}

// BringBack puts a formula that was put away on the list again.
//
// Errors: fault.NotFound; fault.Conflict on "name" when another formula took
// its name meanwhile.
func (s *Studio) BringBack(ctx context.Context, formulaID string) error {
	_, err := write(ctx, s, func(w Writer) (struct{}, error) {
		row, err := formulaRow(ctx, w, formulaID)
		if err != nil || row.PutAwayAt.IsZero() {
			return struct{}{}, err
		}
		other, err := w.LivingFormula(ctx, row.NameKey)
		if err == nil {
			return struct{}{}, fault.Conflictf("name", "Another formula is called “%s” now. Give that one another name or put it away, then bring this one back.", other.Name)
		}
		if !errors.Is(err, ErrNone) {
			return struct{}{}, err
		}
		row.PutAwayAt = time.Time{}
		return struct{}{}, w.SetFormula(ctx, row)
	})
	return err
}

// Formulas gives a page of the formulas that are not put away, newest kept
// first. Each word of query must be found in the formula's name, in the name
// of one of its scents or bases, or in the name or INCI name of an ingredient of its
// newest version, whatever the case and the accents; an empty query finds all.
func (s *Studio) Formulas(ctx context.Context, query string, page Slice) (Page[Formula], error) {
	return s.formulas(ctx, query, page, false)
}

// FormulasPutAway is as Formulas, of those that were put away.
func (s *Studio) FormulasPutAway(ctx context.Context, query string, page Slice) (Page[Formula], error) {
	return s.formulas(ctx, query, page, true)
}

// maxTerms is how many words of a query count; a maker types one or two.
const maxTerms = 8

func (s *Studio) formulas(ctx context.Context, query string, page Slice, putAway bool) (Page[Formula], error) {
	page = page.sound()
	q := FormulaQuery{PutAway: putAway, Limit: page.Size, Offset: (page.Number - 1) * page.Size}
	words := strings.Fields(SearchKey(strings.ToValidUTF8(query, "")))
	if len(words) > 0 {
		cat, _, err := s.catalogue(ctx)
		if err != nil {
			return Page[Formula]{}, err
		}
		for _, word := range words[:min(len(words), maxTerms)] {
			q.Terms = append(q.Terms, Term{Key: strings.ReplaceAll(word, "\x00", ""), IngredientIDs: named(cat, word)})
		}
	}
	return read(ctx, s, func(r Reader) (Page[Formula], error) {
		rows, newest, total, err := r.FormulaPage(ctx, q)
		if err != nil {
			return Page[Formula]{}, err
		}
		out := Page[Formula]{Number: page.Number, Size: page.Size, Total: total, Items: make([]Formula, len(rows))}
		for i := range rows {
			if out.Items[i], err = whole(rows[i], newest[i]); err != nil {
				return Page[Formula]{}, err
			}
		}
		return out, nil
	})
}

// named gives the ids of the ingredients whose name or INCI name holds key.
func named(cat *catalogue.Catalogue, key string) []string {
	var out []string
	for _, in := range cat.All() {
		if strings.Contains(SearchKey(in.Name+" "+in.INCI), key) {
			out = append(out, in.ID)
		}
	}
	return out
}

// Formula gives a formula with its newest version, put away or not. Errors:
// fault.NotFound.
func (s *Studio) Formula(ctx context.Context, formulaID string) (Formula, error) {
	return read(ctx, s, func(r Reader) (Formula, error) {
		row, err := formulaRow(ctx, r, formulaID)
		if err != nil {
			return Formula{}, err
		}
		v, err := r.Version(ctx, formulaID, row.Newest)
		if err != nil {
			return Formula{}, err
		}
		return whole(row, v)
	})
}

// Version gives version n of a formula. Errors: fault.NotFound.
func (s *Studio) Version(ctx context.Context, formulaID string, n int) (Version, error) {
	return read(ctx, s, func(r Reader) (Version, error) {
		row, err := formulaRow(ctx, r, formulaID)
		if err != nil {
			return Version{}, err
		}
		return versionOf(ctx, r, row, n)
	})
}

// Versions gives all versions of a formula, newest first. Errors: fault.NotFound.
func (s *Studio) Versions(ctx context.Context, formulaID string) ([]Version, error) {
	return read(ctx, s, func(r Reader) ([]Version, error) {
		if _, err := formulaRow(ctx, r, formulaID); err != nil {
			return nil, err
		}
		rows, err := r.Versions(ctx, formulaID)
		if err != nil {
			return nil, err
		}
		return each(rows, version)
	})
}

// UsedIn says which formulas have an ingredient in any version, put away or
// not, by name. An unknown ingredient is in none.
func (s *Studio) UsedIn(ctx context.Context, ingredientID string) ([]Use, error) {
	return read(ctx, s, func(r Reader) ([]Use, error) { return usedIn(ctx, r, ingredientID) })
}

func formulaRow(ctx context.Context, r Reader, id string) (FormulaRow, error) {
	row, err := r.Formula(ctx, id)
	if errors.Is(err, ErrNone) {
		return row, fault.NotFoundf("formula", "There is no such formula in this studio. Look for it in the list of formulas.")
	}
	return row, err
}

func versionOf(ctx context.Context, r Reader, row FormulaRow, n int) (Version, error) {
	v, err := r.Version(ctx, row.ID, n)
	if errors.Is(err, ErrNone) {
		return Version{}, fault.NotFoundf("version", "“%s” has no version %d; its newest is %d.", row.Name, n, row.Newest)
	}
	if err != nil {
		return Version{}, err
	}
	return version(v)
}

func version(row VersionRow) (Version, error) {
	v := Version{FormulaID: row.FormulaID, N: row.N, KeptAt: row.KeptAt, Note: row.Note, Formula: new(formula.Formula)}
	if err := decode("formula", row.Formula, v.Formula); err != nil {
		return Version{}, err
	}
	if err := decode("result of the formula", row.Kept, &v.Kept); err != nil {
		return Version{}, err
	}
	return v, nil
}

func whole(row FormulaRow, newest VersionRow) (Formula, error) {
	v, err := version(newest)
	return Formula{ID: row.ID, Name: row.Name, Newest: v, PutAwayAt: row.PutAwayAt, FromID: row.FromID, FromN: row.FromN}, err
}
