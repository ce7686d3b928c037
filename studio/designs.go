package studio

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"barwright/design"
	"barwright/fault"
	"barwright/formula"
)

// Design is a design of the studio: its newest version, and where it stands.
//
// What the newest version of a design that is not put away stands on (its
// mould, its formulas, the designs that it embeds) is never put away: neither
// can be done to the other while that is so. A formula may lose a portion that a
// design pours, and a mould may change under it; the design then says so where
// it is worked out.
type Design struct {
	ID        string
	Name      string
	Newest    DesignVersion
	PutAwayAt time.Time // zero when it was not put away
	FromID    string    // the design that it was duplicated from; "" when it was drawn up here
	FromN     int       // and the version
}

// PutAway reports that the design was put away.
func (d Design) PutAway() bool { return !d.PutAwayAt.IsZero() }

// DesignVersion is one version of a design, as it was kept. It never changes;
// what it stands on is meant in its newest version.
type DesignVersion struct {
	DesignID string
	N        int       // from 1
	KeptAt   time.Time // UTC
	Note     string    // the maker's, what changed and why; may be empty
	Design   *design.Design
}

// BuiltOn is a kind of thing that a design stands on. The words are stored.
type BuiltOn string

const (
	// OnFormula is a formula that it pours or pipes.
	OnFormula BuiltOn = "formula"
	// OnMould is its mould.
	OnMould BuiltOn = "mould"
	// OnDesign is a design that it embeds.
	OnDesign BuiltOn = "design"
)

// DesignUse says that a design stands on something, in at least one version.
type DesignUse struct {
	DesignID string
	Name     string
	N        int  // the newest version that does
	Newest   bool // that is the design's newest version
	PutAway  bool // the design was put away
}

// designDraft is a design that was checked by itself and written down, before
// it has a number.
type designDraft struct {
	design    *design.Design
	document  Document
	note      string
	nameKey   string
	searchKey string
	links     []DesignLink
}

func draftDesign(id string, d *design.Design, note string) (*designDraft, error) {
	var l fault.List
	name, e := line("name", "design's name", d.Name, true)
	l.Add(e)
	named := *d
	named.ID, named.Name = id, name
	for _, e := range named.Validate(true) {
		if e.Field != "name" || name != "" {
			l.Add(e)
		}
	}
	note, e = text("note", "note", note)
	l.Add(e)
	if err := l.Err(); err != nil {
		return nil, err
	}
	return writtenDesign(&named, note)
}

// writtenDesign writes a design down.
func writtenDesign(d *design.Design, note string) (*designDraft, error) {
	words := []string{d.Name}
	for i := range d.Parts {
		words = append(words, d.Parts[i].Name, d.Parts[i].Item)
	}
	out := &designDraft{
		design: d, note: note, links: links(d), nameKey: NameKey(d.Name),
		searchKey: strings.ReplaceAll(SearchKey(strings.Join(words, " ")), "\x00", ""),
	}
	var err error
	out.document, err = document("design", d)
	return out, err
}

// links gathers what d stands on, each once.
func links(d *design.Design) []DesignLink {
	out := []DesignLink{{OnMould, d.Mould}}
	add := func(l DesignLink) {
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	for i := range d.Parts {
		switch p := &d.Parts[i]; {
		case p.Kind.Batter():
			add(DesignLink{OnFormula, p.Formula})
		case p.Kind == design.Embed:
			add(DesignLink{OnDesign, p.Design})
		}
	}
	return out
}

// stands gives what is wrong with d in the light of the studio: what it names
// that is not there or was put away, a portion that its formula does not have,
// a design that comes back to itself.
func stands(ctx context.Context, r Reader, d *design.Design) error {
	var l fault.List
	away := func(field, what, name string) {
		l.Add(fault.Invalidf(field, "The %s “%s” was put away. Bring it back, or choose another.", what, name))
	}
	m, err := r.Mould(ctx, d.Mould)
	switch {
	case errors.Is(err, ErrNone):
		l.Add(fault.Invalidf("mould", "There is no such mould in this studio. Choose one of the list."))
	case err != nil:
		return err
	case !m.PutAwayAt.IsZero():
		away("mould", "mould", m.Name)
	}
	portions := map[string][]formula.Portion{} // of the formulas that were looked at
	for i := range d.Parts {
		p := &d.Parts[i]
		switch {
		case p.Kind.Batter():
			field := formula.Path("part", i, "formula")
			row, err := r.Formula(ctx, p.Formula)
			if errors.Is(err, ErrNone) {
				l.Add(fault.Invalidf(field, "There is no such formula in this studio. Choose one of the list."))
				continue
			}
			if err != nil {
				return err
			}
			if !row.PutAwayAt.IsZero() {
				away(field, "formula", row.Name)
			}
			if p.Portion == "" {
				continue
			}
			has, seen := portions[p.Formula]
			if !seen {
				v, err := versionOf(ctx, r, row, row.Newest)
				if err != nil {
					return err
				}
				has = v.Formula.Portions
				portions[p.Formula] = has
			}
			if !slices.ContainsFunc(has, func(q formula.Portion) bool { return strings.EqualFold(q.Name, p.Portion) }) {
				l.Add(fault.Invalidf(formula.Path("part", i, "portion"), "Version %d of “%s” has no portion called “%s”. Choose one that it has, or its batter undivided.", row.Newest, row.Name, p.Portion))
			}
		case p.Kind == design.Embed:
			field := formula.Path("part", i, "design")
			row, err := r.Design(ctx, p.Design)
			if errors.Is(err, ErrNone) {
				// A design that is being made cannot embed itself: nobody has its id.
				l.Add(fault.Invalidf(field, "There is no such design in this studio. Choose one of the list."))
				continue
			}
			if err != nil {
				return err
			}
			if !row.PutAwayAt.IsZero() {
				away(field, "design", row.Name)
			}
			way, err := wayTo(ctx, r, p.Design, d.ID, map[string]bool{})
			if err != nil {
				return err
			}
			switch {
			case len(way) == 1:
				l.Add(fault.Invalidf(field, "“%s” cannot be embedded in itself. Choose another design.", d.Name))
			case len(way) > 1:
				l.Add(fault.Invalidf(field, "“%s” cannot be embedded here: it is made with %s, and so would be made of itself. Choose another design.", row.Name, through(way[1:len(way)-1], d.Name)))
			}
		}
	}
	return l.Err()
}

// wayTo walks from a design down its embeds and gives the names of those passed
// on the way to another, both ends included; none when it is not reached.
func wayTo(ctx context.Context, r Reader, from, to string, seen map[string]bool) ([]string, error) {
	if seen[from] {
		return nil, nil
	}
	seen[from] = true
	row, err := r.Design(ctx, from)
	if err != nil {
		return nil, err
	}
	if from == to {
		return []string{row.Name}, nil
	}
	on, err := r.DesignLinks(ctx, from)
	if err != nil {
		return nil, err
	}
	for _, l := range on {
		if l.Kind != OnDesign {
			continue
		}
		way, err := wayTo(ctx, r, l.ID, to, seen)
		if err != nil || len(way) > 0 {
			return append([]string{row.Name}, way...), err
		}
	}
	return nil, nil
}

// through names the designs between, outermost first, and the last.
func through(between []string, last string) string {
	out := "“" + last + "”"
	for _, name := range slices.Backward(between) {
		out += ", by way of “" + name + "”"
	}
	return out
}

func (s *Studio) addDesign(ctx context.Context, w Writer, d *designDraft, n int) (DesignVersion, error) {
	v := DesignVersionRow{DesignID: d.design.ID, N: n, KeptAt: s.instant(), Note: d.note, Design: d.document}
	if err := w.AddDesignVersion(ctx, v, d.links); err != nil {
		return DesignVersion{}, err
	}
	return DesignVersion{DesignID: v.DesignID, N: n, KeptAt: v.KeptAt, Note: d.note, Design: d.design}, nil
}

// freeDesign refuses a name that another living design has.
func freeDesign(ctx context.Context, r Reader, nameKey, id string) error {
	other, err := r.LivingDesign(ctx, nameKey)
	switch {
	case errors.Is(err, ErrNone):
		return nil
	case err != nil:
		return err
	case other.ID == id:
		return nil
	}
	return fault.Conflictf("name", "There is a design called “%s” already. Give this one another name, or put that one away first.", other.Name)
}

// NewDesign keeps d as version 1 of a design of its own; its ID is given here.
//
// Errors: fault.Invalid by the field, for what cannot be made and for a mould,
// formula, portion or design that the studio does not have or that was put away;
// fault.Conflict on "name" when a design that is not put away has that name.
func (s *Studio) NewDesign(ctx context.Context, d *design.Design, note string) (DesignVersion, error) {
	draft, err := draftDesign(s.newID(), d, note)
	if err != nil {
		return DesignVersion{}, err
	}
	return write(ctx, s, func(w Writer) (DesignVersion, error) { return s.startDesign(ctx, w, draft, "", 0) })
}

// startDesign keeps version 1 of a design that comes from another, or from none.
func (s *Studio) startDesign(ctx context.Context, w Writer, d *designDraft, fromID string, fromN int) (DesignVersion, error) {
	if err := stands(ctx, w, d.design); err != nil {
		return DesignVersion{}, err
	}
	if err := freeDesign(ctx, w, d.nameKey, d.design.ID); err != nil {
		return DesignVersion{}, err
	}
	row := DesignRow{ID: d.design.ID, Name: d.design.Name, NameKey: d.nameKey, SearchKey: d.searchKey, Newest: 1, KeptAt: s.instant(), FromID: fromID, FromN: fromN}
	if err := w.AddDesign(ctx, row); err != nil {
		return DesignVersion{}, err
	}
	return s.addDesign(ctx, w, d, 1)
}

// KeepDesign adds a version to a design. Base is the version that was being
// edited; the version kept is base + 1. Sending the very same again (a form sent
// twice) gives the version that is there already.
//
// Errors: fault.Invalid by the field, as of NewDesign, and for a design that
// would be made of itself; fault.NotFound for an unknown design; fault.Conflict
// without a field when another version was kept since base, or the design was
// put away; fault.Conflict on "name" when another has that name. After a
// conflict nothing has changed: show the maker what was typed again.
func (s *Studio) KeepDesign(ctx context.Context, designID string, base int, d *design.Design, note string) (DesignVersion, error) {
	draft, err := draftDesign(designID, d, note)
	if err != nil {
		return DesignVersion{}, err
	}
	return write(ctx, s, func(w Writer) (DesignVersion, error) {
		row, err := designRow(ctx, w, designID)
		if err != nil {
			return DesignVersion{}, err
		}
		if base < 1 || base > row.Newest {
			return DesignVersion{}, fault.NotFoundf("base", "“%s” has no version %d to build on; its newest is %d.", row.Name, base, row.Newest)
		}
		if !row.PutAwayAt.IsZero() {
			return DesignVersion{}, fault.Conflictf("", "“%s” was put away meanwhile. Nothing was kept, and what you typed is still here: bring the design back, then keep this again.", row.Name)
		}
		if base == row.Newest-1 {
			v, err := w.DesignVersion(ctx, designID, row.Newest)
			if err != nil {
				return DesignVersion{}, err
			}
			if v.Note == draft.note && bytes.Equal(v.Design.Body, draft.document.Body) {
				return designVersion(v)
			}
		}
		if base != row.Newest {
			return DesignVersion{}, fault.Conflictf("", "Version %d of “%s” was kept while you were working from version %d. Nothing is lost, and what you typed is still here: look at version %d, then keep yours on top of it, or as a design of its own.", row.Newest, row.Name, base, row.Newest)
		}
		if err := stands(ctx, w, draft.design); err != nil {
			return DesignVersion{}, err
		}
		if err := freeDesign(ctx, w, draft.nameKey, designID); err != nil {
			return DesignVersion{}, err
		}
		v, err := s.addDesign(ctx, w, draft, row.Newest+1)
		if err != nil {
			return DesignVersion{}, err
		}
		row.Name, row.NameKey, row.SearchKey = draft.design.Name, draft.nameKey, draft.searchKey
		row.Newest, row.KeptAt = v.N, v.KeptAt
		return v, w.SetDesign(ctx, row)
	})
}

// DuplicateDesign makes a design called name from version n of another; n 0 is
// its newest. Its note says where it came from.
//
// Errors: fault.NotFound; fault.Invalid or fault.Conflict on "name";
// fault.Invalid by the field when the version stands on something that was put
// away, or on a portion that its formula no longer has.
func (s *Studio) DuplicateDesign(ctx context.Context, designID string, n int, name string) (DesignVersion, error) {
	name, e := line("name", "design's name", name, true)
	if e != nil {
		return DesignVersion{}, e
	}
	id := s.newID()
	return write(ctx, s, func(w Writer) (DesignVersion, error) {
		row, err := designRow(ctx, w, designID)
		if err != nil {
			return DesignVersion{}, err
		}
		at := cmp.Or(n, row.Newest)
		from, err := designVersionOf(ctx, w, row, at)
		if err != nil {
			return DesignVersion{}, err
		}
		from.Design.ID, from.Design.Name = id, name
		d, err := writtenDesign(from.Design, "From “"+row.Name+"”, version "+strconv.Itoa(at)+".")
		if err != nil {
			return DesignVersion{}, err
		}
		return s.startDesign(ctx, w, d, designID, at)
	})
}

// PutAwayDesign takes a design off the list. Nothing is deleted: its versions
// stay, and runs taken down from them go on working. Its name becomes free.
// Putting away what is put away does nothing.
//
// Errors: fault.NotFound; fault.Conflict naming the designs that embed it.
func (s *Studio) PutAwayDesign(ctx context.Context, designID string) error {
	_, err := write(ctx, s, func(w Writer) (struct{}, error) {
		row, err := designRow(ctx, w, designID)
		if err != nil || !row.PutAwayAt.IsZero() {
			return struct{}{}, err
		}
		if err := unbuilt(ctx, w, DesignLink{OnDesign, designID}, row.Name); err != nil {
			return struct{}{}, err
		}
		row.PutAwayAt = s.instant()
		return struct{}{}, w.SetDesign(ctx, row)
	})
	return err
}

// BringBackDesign puts a design that was put away on the list again.
//
// Errors: fault.NotFound; fault.Conflict on "name" when another design took its
// name meanwhile, and without a field when its mould, a formula or an embed of
// it was put away.
func (s *Studio) BringBackDesign(ctx context.Context, designID string) error {
	_, err := write(ctx, s, func(w Writer) (struct{}, error) {
		row, err := designRow(ctx, w, designID)
		if err != nil || row.PutAwayAt.IsZero() {
			return struct{}{}, err
		}
		other, err := w.LivingDesign(ctx, row.NameKey)
		if err == nil {
			return struct{}{}, fault.Conflictf("name", "Another design is called “%s” now. Give that one another name or put it away, then bring this one back.", other.Name)
		}
		if !errors.Is(err, ErrNone) {
			return struct{}{}, err
		}
		away, err := awayBeneath(ctx, w, designID)
		if err != nil {
			return struct{}{}, err
		}
		if len(away) > 0 {
			return struct{}{}, fault.Conflictf("", "“%s” stands on what was put away: %s. Bring that back first.", row.Name, some(away, "more"))
		}
		row.PutAwayAt = time.Time{}
		return struct{}{}, w.SetDesign(ctx, row)
	})
	return err
}

// awayBeneath names what a design's newest version stands on that was put away.
func awayBeneath(ctx context.Context, r Reader, designID string) ([]string, error) {
	on, err := r.DesignLinks(ctx, designID)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, l := range on {
		var name string
		var at time.Time
		var err error
		switch l.Kind {
		case OnFormula:
			var row FormulaRow
			row, err = r.Formula(ctx, l.ID)
			name, at = row.Name, row.PutAwayAt
		case OnMould:
			var row MouldRow
			row, err = r.Mould(ctx, l.ID)
			name, at = row.Name, row.PutAwayAt
		case OnDesign:
			var row DesignRow
			row, err = r.Design(ctx, l.ID)
			name, at = row.Name, row.PutAwayAt
		}
		if err != nil {
			return nil, err
		}
		if !at.IsZero() {
			out = append(out, "the "+string(l.Kind)+" “"+name+"”")
		}
	}
	slices.Sort(out)
	return out, nil
}

// unbuilt refuses to put away what the newest version of a living design stands
// on.
func unbuilt(ctx context.Context, r Reader, on DesignLink, name string) error {
	uses, err := designsUsing(ctx, r, on)
	if err != nil {
		return err
	}
	var names []string
	for _, u := range uses {
		if u.Newest && !u.PutAway {
			names = append(names, "“"+u.Name+"”")
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fault.Conflictf("", "“%s” cannot be put away: it is used in %s. Put away what uses it first, or make that with another %s.",
		name, some(names, "more designs"), on.Kind)
}

// Designs gives a page of the designs that are not put away, newest kept first.
// Each word of query must be found in the design's name, or in the name or the
// item of one of its parts, whatever the case and the accents; an empty query
// finds all.
func (s *Studio) Designs(ctx context.Context, query string, page Slice) (Page[Design], error) {
	return s.designs(ctx, query, page, false)
}

// DesignsPutAway is as Designs, of those that were put away.
func (s *Studio) DesignsPutAway(ctx context.Context, query string, page Slice) (Page[Design], error) {
	return s.designs(ctx, query, page, true)
}

func (s *Studio) designs(ctx context.Context, query string, page Slice, putAway bool) (Page[Design], error) {
	page = page.sound()
	q := DesignQuery{PutAway: putAway, Limit: page.Size, Offset: (page.Number - 1) * page.Size}
	words := strings.Fields(SearchKey(strings.ToValidUTF8(query, "")))
	for _, word := range words[:min(len(words), maxTerms)] {
		q.Terms = append(q.Terms, strings.ReplaceAll(word, "\x00", ""))
	}
	return read(ctx, s, func(r Reader) (Page[Design], error) {
		rows, newest, total, err := r.DesignPage(ctx, q)
		if err != nil {
			return Page[Design]{}, err
		}
		out := Page[Design]{Number: page.Number, Size: page.Size, Total: total, Items: make([]Design, len(rows))}
		for i := range rows {
			if out.Items[i], err = wholeDesign(rows[i], newest[i]); err != nil {
				return Page[Design]{}, err
			}
		}
		return out, nil
	})
}

// Design gives a design with its newest version, put away or not. Errors:
// fault.NotFound.
func (s *Studio) Design(ctx context.Context, designID string) (Design, error) {
	return read(ctx, s, func(r Reader) (Design, error) {
		row, err := designRow(ctx, r, designID)
		if err != nil {
			return Design{}, err
		}
		v, err := r.DesignVersion(ctx, designID, row.Newest)
		if err != nil {
			return Design{}, err
		}
		return wholeDesign(row, v)
	})
}

// DesignVersion gives version n of a design. Errors: fault.NotFound.
func (s *Studio) DesignVersion(ctx context.Context, designID string, n int) (DesignVersion, error) {
	return read(ctx, s, func(r Reader) (DesignVersion, error) {
		row, err := designRow(ctx, r, designID)
		if err != nil {
			return DesignVersion{}, err
		}
		return designVersionOf(ctx, r, row, n)
	})
}

// DesignVersions gives all versions of a design, newest first. Errors:
// fault.NotFound.
func (s *Studio) DesignVersions(ctx context.Context, designID string) ([]DesignVersion, error) {
	return read(ctx, s, func(r Reader) ([]DesignVersion, error) {
		if _, err := designRow(ctx, r, designID); err != nil {
			return nil, err
		}
		rows, err := r.DesignVersions(ctx, designID)
		if err != nil {
			return nil, err
		}
		return each(rows, designVersion)
	})
}

// DesignsUsing says which designs stand on a formula, a mould or an embedded
// design in any version, put away or not, by name. Nothing stands on what is
// unknown.
func (s *Studio) DesignsUsing(ctx context.Context, kind BuiltOn, id string) ([]DesignUse, error) {
	return read(ctx, s, func(r Reader) ([]DesignUse, error) { return designsUsing(ctx, r, DesignLink{kind, id}) })
}

func designsUsing(ctx context.Context, r Reader, on DesignLink) ([]DesignUse, error) {
	rows, err := r.DesignUses(ctx, on)
	if err != nil {
		return nil, err
	}
	out := make([]DesignUse, len(rows))
	keys := make(map[string]string, len(rows))
	for i, u := range rows {
		out[i] = DesignUse{DesignID: u.DesignID, Name: u.Name, N: u.N, Newest: u.N == u.Newest, PutAway: u.PutAway}
		keys[u.DesignID] = NameKey(u.Name)
	}
	slices.SortFunc(out, func(a, b DesignUse) int {
		return cmp.Or(cmp.Compare(keys[a.DesignID], keys[b.DesignID]), cmp.Compare(a.DesignID, b.DesignID))
	})
	return out, nil
}

func designRow(ctx context.Context, r Reader, id string) (DesignRow, error) {
	row, err := r.Design(ctx, id)
	if errors.Is(err, ErrNone) {
		return row, fault.NotFoundf("design", "There is no such design in this studio. Look for it in the list of designs.")
	}
	return row, err
}

func designVersionOf(ctx context.Context, r Reader, row DesignRow, n int) (DesignVersion, error) {
	v, err := r.DesignVersion(ctx, row.ID, n)
	if errors.Is(err, ErrNone) {
		return DesignVersion{}, fault.NotFoundf("version", "“%s” has no version %d; its newest is %d.", row.Name, n, row.Newest)
	}
	if err != nil {
		return DesignVersion{}, err
	}
	return designVersion(v)
}

func designVersion(row DesignVersionRow) (DesignVersion, error) {
	v := DesignVersion{DesignID: row.DesignID, N: row.N, KeptAt: row.KeptAt, Note: row.Note, Design: new(design.Design)}
	return v, decode(fmt.Sprintf("version %d of the design", row.N), row.Design, v.Design)
}

func wholeDesign(row DesignRow, newest DesignVersionRow) (Design, error) {
	v, err := designVersion(newest)
	return Design{ID: row.ID, Name: row.Name, Newest: v, PutAwayAt: row.PutAwayAt, FromID: row.FromID, FromN: row.FromN}, err
}
