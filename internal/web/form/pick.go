package form

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/studio"
)

// shortList is how many records a select shows; more are typed into to find.
const shortList = 30

// A List is what a field can pick a record from: ids and names, sent once per page
// however many fields pick from it.
type List struct {
	ID   string // of the datalist, unique on the page: "formulas"
	Noun string // what one of them is called: "formula"
	None string // the words for nothing chosen: "choose a formula"

	// Find gives the name of a record that the options lack, as one that is
	// archived; nil looks nothing up. An error means that there is none.
	Find func(id string) (name string, err error)

	options []shell.Option // those used last on top; labels are unique
	folded  []string       // their labels, for comparing; made when a name is first looked for
	byID    map[string]string
}

// NewList makes a list of records, each option's value being an id and its label a
// name. Those used last stand on top, the newest first. Records of one name are
// told apart by the beginning of their ids.
func NewList(id, noun string, options []shell.Option, usedLast ...string) *List {
	l := &List{ID: id, Noun: noun, None: "choose a " + noun, byID: make(map[string]string, len(options))}
	if strings.ContainsAny(noun[:1], "aeiou") {
		l.None = "choose an " + noun
	}
	l.options = slices.Clone(options)
	named := make(map[string]int, len(options))
	folded := make([]string, len(options))
	for i, o := range options {
		folded[i] = fold(o.Label)
		named[folded[i]]++
	}
	for i := range l.options {
		o := &l.options[i]
		if named[folded[i]] > 1 {
			o.Label += " (" + o.Value[:min(len(o.Value), 8)] + ")"
		}
		l.byID[o.Value] = o.Label
	}
	if len(usedLast) == 0 {
		return l
	}
	rank := map[string]int{}
	for i, id := range usedLast {
		rank[id] = len(usedLast) - i
	}
	slices.SortStableFunc(l.options, func(a, b shell.Option) int { return rank[b.Value] - rank[a.Value] })
	return l
}

// Any reports whether there is anything to choose.
func (l *List) Any() bool { return len(l.options) > 0 }

// Records lists the living records of a kind, those used last on top. An archived one
// that a field still holds keeps its name. Those of but are no choice.
func Records[Doc any](ctx context.Context, id, noun string, of studio.Records[Doc], but ...string) (*List, error) {
	return RecordsAs(ctx, id, noun, of, func(n studio.Name) string { return n.Name }, but...)
}

// RecordsAs is Records with labels of their own. What stands in brackets at the end of
// a label is no part of the name that is typed to find it.
func RecordsAs[Doc any](ctx context.Context, id, noun string, of studio.Records[Doc], label func(studio.Name) string, but ...string) (*List, error) {
	names, err := of.Names(ctx)
	if err != nil {
		return nil, err
	}
	options := make([]shell.Option, 0, len(names))
	for _, n := range names {
		if !slices.Contains(but, n.ID) {
			options = append(options, shell.Option{Value: n.ID, Label: label(n)})
		}
	}
	l := NewList(id, noun, options)
	l.Find = func(id string) (string, error) {
		rec, err := of.Get(ctx, id)
		return rec.Name, err
	}
	return l, nil
}

// Long reports whether the list is typed into to find.
func (l *List) Long() bool { return len(l.options) > shortList }

// name is what the list calls a record, by its id.
func (l *List) name(id string) (string, bool) {
	if n, ok := l.byID[id]; ok {
		return n, true
	}
	if l.Find != nil && id != "" {
		if n, err := l.Find(id); err == nil {
			return n, true
		}
	}
	return "", false
}

// read finds the one record that a text means: its id, its name in any case, or a
// part of one name alone.
func (l *List) read(text string) (id string, err error) {
	if _, ok := l.name(text); ok {
		return text, nil
	}
	want := fold(text)
	if l.folded == nil {
		l.folded = make([]string, len(l.options))
		for i, o := range l.options {
			l.folded[i] = fold(o.Label)
		}
	}
	var same, part []shell.Option
	for i, o := range l.options {
		label := l.folded[i]
		switch {
		case label == want:
			return o.Value, nil
		case strings.HasPrefix(label, want+" ("): // what tells it from others, or its version
			same = append(same, o)
		case strings.Contains(label, want):
			part = append(part, o)
		}
	}
	switch found := slices.Concat(same, part); {
	case len(same) == 1:
		return same[0].Value, nil
	case len(found) == 1:
		return found[0].Value, nil
	case len(found) > 1:
		names := make([]string, min(len(found), 4))
		for i := range names {
			names[i] = "“" + found[i].Label + "”"
		}
		if more := len(found) - len(names); more > 0 {
			names = append(names, strconv.Itoa(more)+" others")
		}
		return "", fault.Invalidf("", "“%.60s” could be %s: write which.", text, words.Either(names))
	}
	names := make([]string, len(l.options))
	for i, o := range l.options {
		names[i], _, _ = strings.Cut(o.Label, " (")
	}
	return "", fault.Invalidf("", "There is no %s called “%.60s”: choose one of the list%s", l.Noun, text, cmp.Or(words.Meant(text, names), "."))
}

// fold is a name for comparing: in any case, with single spaces.
func fold(s string) string {
	if s = strings.ToLower(strings.TrimSpace(s)); strings.Contains(s, "  ") || strings.ContainsAny(s, "\t\n\u00a0") {
		s = strings.Join(strings.Fields(s), " ")
	}
	return s
}

// Pick binds the id of a record. A short list is a select; a long one is a box
// that is typed into, with the list's names to choose from (a datalist, which
// template "datalists" writes once per page: see Datalists). Without a script too
// a name is read: one that is exactly one record's is taken, and one that could be
// several is asked about at the field.
func (f *Form) Pick(path string, to *string, l *List, opts ...Option) {
	d := f.field(path, asWord, opts)
	d.list = l
	if l.Long() {
		d.Kind, d.Choose = shell.Entry, l.ID
		if d.Field.Hint == "" && !d.Field.Ledger {
			d.Field.Hint = "type a part of its name"
		}
		if !slices.Contains(f.picks, l) {
			f.picks = append(f.picks, l)
		}
	} else {
		d.Options = append([]shell.Option{{Label: l.None}}, l.options...)
	}
	if f.write {
		f.picked(d, *to)
		return
	}
	if d.unread {
		f.picked(d, f.Typed(path))
		return
	}
	text := f.text(d)
	*to = text
	if text != "" {
		id, err := l.read(text)
		if err != nil {
			f.picked(d, text)
			f.refuse(d.name, err)
			return
		}
		*to = id
		f.picked(d, id)
	}
	f.judge(d, text)
}

// picked writes a record into its field: by its id in a select, by its name in a
// box. What the list lacks stays, so that a form loses nothing.
func (f *Form) picked(d *decl, id string) {
	name, known := d.list.name(id)
	switch {
	case id == "" || f.draft:
		f.put(d, id)
	case d.Kind == shell.Entry && known:
		f.put(d, name)
	case d.Kind == shell.Entry:
		f.put(d, id)
	default:
		f.put(d, id)
		if _, ok := d.list.byID[id]; !ok {
			if !known {
				name = "one that is not there any more"
			}
			d.Options = append(d.Options, shell.Option{Value: id, Label: name})
		}
	}
}

// Datalists are the long lists that the page's fields pick from, each once:
//
//	{{template "datalists" .Form.Datalists}}
//
// It stands outside of what a live answer renews, so that they are sent once.
func (f *Form) Datalists() []shell.Datalist {
	var out []shell.Datalist
	for _, l := range f.picks {
		d := shell.Datalist{ID: l.ID}
		for _, o := range l.options {
			d.Names = append(d.Names, o.Label)
		}
		out = append(out, d)
	}
	return out
}
