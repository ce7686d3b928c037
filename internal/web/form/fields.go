package form

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
)

// settings are what options say of a field.
type settings struct {
	shell.Field                // label, hint, unit and looks
	needed      string         // sentence for an empty field; "" where it may be empty
	empty       *float64       // what a number is when nothing is typed
	usual       quantity.Maybe // what a number is until something was sent for it
	low, high   float64        // bounds of a number
	bound       string         // sentence for a number outside them
	counts      bool           // a text in it makes a row more than an empty one
	answers     []string       // what else the rules call it
	shades      []string       // fields on which nothing is said while this one cannot be read
	only        func() error   // judges what was read
	unread      bool           // drawn for a choice that does not stand
}

// An Option says something about a field, where it is bound.
type Option func(*settings)

// Label is the field's name on the page and in the summary of faults.
func Label(s string) Option { return func(x *settings) { x.Field.Label = s } }

// Hint is a few words below the field.
func Hint(s string) Option { return func(x *settings) { x.Field.Hint = s } }

// Unit stands inside the box, in place of the measure's own.
func Unit(s string) Option { return func(x *settings) { x.Field.Unit = s } }

// Wide makes the field as wide as its column.
func Wide(x *settings) { x.Field.Wide = true }

// Ledger hides the label, which the row's own head shows; it is still read out.
func Ledger(x *settings) { x.Field.Ledger = true }

// Beside sets the label at the left.
func Beside(x *settings) { x.Field.Beside = true }

// Narrow sets a text field at the right, as a number is.
func Narrow(x *settings) { x.Field.Words = false }

// Suggest gives a text field the suggestions of a datalist by its id.
func Suggest(id string) Option { return func(x *settings) { x.Field.Choose = id } }

// Height is the number of lines of prose; 4 without it.
func Height(lines int) Option { return func(x *settings) { x.Rows = lines } }

// Radio draws a choice as radio buttons, all of it seen.
func Radio(x *settings) { x.Kind = shell.Choices }

// Needed refuses an empty field with a sentence.
func Needed(sentence string) Option { return func(x *settings) { x.needed = sentence } }

// Empty is what a number is when nothing is typed. Without it an empty Number is
// refused, and an empty Count is 0.
func Empty(v float64) Option { return func(x *settings) { x.empty = &v } }

// Usual is what stands in a number's box until something was sent for it: what the
// studio has set. A box that the maker emptied stays empty.
func Usual(m quantity.Maybe) Option { return func(x *settings) { x.usual = m } }

// Between refuses a number outside bounds, both of which are allowed.
func Between(low, high float64, sentence string) Option {
	return func(x *settings) { x.low, x.high, x.bound = low, high, sentence }
}

// Only judges a field that could be read, by what stands in the bound value: the
// error's sentence stands at the field.
func Only(ok func() error) Option { return func(x *settings) { x.only = ok } }

// When leaves a field unread where the choice that it is for does not stand: it is
// drawn with what was typed in it, which is neither judged nor lost. It is for
// numbers, counts and picks, the fields that a page shows for every choice at once.
func When(chosen bool) Option { return func(x *settings) { x.unread = !chosen } }

// Answers says what else the rules call the field, within its row: a fault on any
// of these paths stands at it.
func Answers(paths ...string) Option {
	return func(x *settings) { x.answers = append(x.answers, paths...) }
}

// Shades names fields, within the row, of which the rules have nothing to say
// while this one cannot be read.
func Shades(paths ...string) Option {
	return func(x *settings) { x.shades = append(x.shades, paths...) }
}

// field declares a field of the form.
func (f *Form) field(path string, base settings, opts []Option) *decl {
	d := &decl{settings: base, name: f.name(path), row: f.row}
	for _, o := range opts {
		o(&d.settings)
	}
	for _, a := range d.answers {
		f.alias[f.name(a)] = d.name
	}
	d.shades = slices.Clone(d.shades)
	for i, s := range d.shades {
		d.shades[i] = f.name(s)
	}
	f.declare(d)
	return d
}

// judge says what an option demands of a field that was read.
func (f *Form) judge(d *decl, text string) {
	switch {
	case f.write || f.bad[d.name]:
	case text == "" && d.needed != "":
		f.refuse(d.name, fault.Invalidf("", "%s", d.needed))
	case d.only != nil:
		if err := d.only(); err != nil {
			f.refuse(d.name, err)
		}
	}
}

// What fields are before their options: words, one line or several; a word that is
// chosen, which makes a row more than an empty one; and a choice that does not.
var (
	asWords  = settings{Field: shell.Field{Words: true}, counts: true}
	asProse  = settings{Field: shell.Field{Words: true, Kind: shell.Prose}, counts: true}
	asWord   = settings{Field: shell.Field{Words: true, Kind: shell.Select}, counts: true}
	asChoice = settings{Field: shell.Field{Words: true, Kind: shell.Select}}
	asNumber = settings{counts: true}
)

// Text binds one line of words, without space around it.
func (f *Form) Text(path string, to *string, opts ...Option) {
	d := f.field(path, asWords, opts)
	f.words(d, to)
}

// Prose binds several lines of words. Line ends come as "\n".
func (f *Form) Prose(path string, to *string, opts ...Option) {
	d := f.field(path, asProse, opts)
	f.words(d, to)
}

func (f *Form) words(d *decl, to *string) {
	if f.write {
		f.put(d, *to)
		return
	}
	*to = f.text(d)
	f.judge(d, *to)
}

// put writes a text into a field.
func (f *Form) put(d *decl, text string) {
	if !f.draft {
		f.v.Set(d.name, text)
	}
}

// Lines binds a list of words, one a line. Empty lines do not count.
func (f *Form) Lines(path string, to *[]string, opts ...Option) {
	Parsed(f, path, to, func(text string) ([]string, error) {
		var out []string
		for line := range strings.Lines(text) {
			if line = strings.TrimSpace(line); line != "" {
				out = append(out, line)
			}
		}
		return out, nil
	}, func(l []string) string { return strings.Join(l, "\n") }, append([]Option{AsProse}, opts...)...)
}

// AsProse gives a parsed field several lines.
func AsProse(x *settings) { x.Rows = max(x.Rows, 2) }

// longest is how many characters a text of several lines may have.
const longest = 20_000

// Entries binds a list that is typed as text, one entry a line, each with a grammar
// of its own. Empty lines do not count. What is wrong begins with the number of the
// line as the maker counts them; a fault of the rules on PATH.2 is about the line
// that the second entry came from.
func Entries[T any](f *Form, path string, to *[]T, parse func(line string) (T, error), show func(T) string, opts ...Option) {
	d := f.field(path, asProse, opts)
	d.at = []int{}
	if f.write {
		lines := make([]string, len(*to))
		for i, x := range *to {
			lines[i] = show(x)
			d.at = append(d.at, i+1)
		}
		f.put(d, strings.Join(lines, "\n"))
		return
	}
	*to = nil
	text := f.text(d)
	if n := utf8.RuneCountInString(text); n > longest {
		f.refuse(d.name, fault.Invalidf("", "This has %d characters: %d at most.", n, longest))
		return
	}
	var bad fault.List
	n := 0
	for line := range strings.Lines(strings.ToValidUTF8(f.v.Get(d.name), "\ufffd")) {
		n++
		if line = strings.Join(strings.Fields(line), " "); line == "" {
			continue
		}
		x, err := parse(line)
		for _, e := range fault.All(err) {
			bad.Add(fault.Invalidf("", "Line %d: %s", n, e.Message))
		}
		if err == nil {
			*to, d.at = append(*to, x), append(d.at, n)
		}
	}
	if len(bad) > 0 {
		f.refuse(d.name, bad)
	}
	f.judge(d, text)
}

// Parsed binds a field with a grammar of its own: water as "2 to 1", a colour as
// "mica 6 g/kg". An empty text is read by parse too; the sentence of its error
// stands at the field.
func Parsed[T any](f *Form, path string, to *T, parse func(string) (T, error), show func(T) string, opts ...Option) {
	d := f.field(path, asWords, opts)
	if d.Rows > 0 {
		d.Kind = shell.Prose
	}
	if f.write {
		f.put(d, show(*to))
		return
	}
	text := f.text(d)
	v, err := parse(text)
	if err != nil {
		var none T
		*to = none
		f.refuse(d.name, err)
		return
	}
	*to = v
	f.judge(d, text)
}

// Number binds a number that is always known. Nothing typed is refused, unless
// the option Empty says what it means.
func (f *Form) Number(path string, to *float64, in Measure, opts ...Option) {
	d := f.field(path, asNumber, opts)
	m := quantity.Some(*to)
	if f.write && d.empty != nil && *to == *d.empty && *to == 0 {
		m = quantity.Maybe{} // nothing, and an empty box says so
	}
	f.amount(d, d.name, &m, in)
	if f.write || d.unread {
		return
	}
	if text := f.text(d); text == "" && !f.bad[d.name] {
		switch {
		case d.empty != nil:
			m.V = *d.empty
		case d.needed == "":
			_, err := in.parse(f.faces, "")
			f.refuse(d.name, err)
		}
	}
	*to = m.V
	f.judge(d, f.text(d))
}

// Maybe binds a number that may be unknown: an empty box.
func (f *Form) Maybe(path string, to *quantity.Maybe, in Measure, opts ...Option) {
	d := f.field(path, asNumber, opts)
	f.amount(d, d.name, to, in)
	if !d.unread {
		f.judge(d, f.text(d))
	}
}

// amount reads or writes a number. At tells it from others that stand in the same
// box for another choice.
func (f *Form) amount(d *decl, at string, to *quantity.Maybe, in Measure) {
	if d.Field.Unit == "" {
		d.Field.Unit = in.unit(f.faces)
	}
	if f.write {
		text := ""
		if to.Known {
			text = in.show(f.faces, to.V)
			f.exact[place(at)+"="+text] = to.V
		}
		f.put(d, text)
		return
	}
	if d.usual.Known && !f.v.Has(d.name) {
		text := in.show(f.faces, d.usual.V)
		f.v.Set(d.name, text)
		f.exact[place(at)+"="+text] = d.usual.V
	}
	*to = quantity.Maybe{}
	if d.unread {
		return
	}
	text := f.text(d)
	if text != "" {
		if v, ok := f.exact[place(at)+"="+text]; ok {
			*to = quantity.Some(v)
		} else if v, err := in.parse(f.faces, pointed(text)); err != nil {
			f.refuse(d.name, err)
		} else {
			*to = quantity.Some(v)
		}
	}
	if to.Known && d.bound != "" && !(to.V >= d.low && to.V <= d.high) {
		f.refuse(d.name, fault.Invalidf("", "%s", d.bound))
		*to = quantity.Maybe{}
	}
}

var errNotWhole = fault.Invalidf("", "Write a whole number, such as 12.")

// whole reads a number that must be whole.
var whole = NewMeasure("", func(text string) (float64, error) {
	v, err := quantity.ParseNumber(text)
	if err != nil {
		return 0, errNotWhole
	}
	return v, nil
}, Digits)

// Count binds a whole number. Nothing typed is 0, unless the option Empty says
// otherwise.
func (f *Form) Count(path string, to *int, opts ...Option) {
	d := f.field(path, asNumber, opts)
	if f.write {
		text := strconv.Itoa(*to)
		if d.empty != nil && float64(*to) == *d.empty {
			text = "" // left empty it means the same
		}
		f.put(d, text)
		return
	}
	var m quantity.Maybe
	f.amount(d, d.name, &m, whole)
	if d.unread {
		return
	}
	switch {
	case !m.Known && d.empty != nil && !f.bad[d.name]:
		m.V = *d.empty
	case m.V != float64(int(m.V)):
		f.refuse(d.name, errNotWhole)
		m.V = 0
	}
	*to = int(m.V)
	f.judge(d, f.text(d))
}

// Date binds a day, without a time and in no zone: midnight in UTC. The zero time
// is no date, an empty box.
func (f *Form) Date(path string, to *time.Time, opts ...Option) {
	Parsed(f, path, to, parseDate, func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.Format(time.DateOnly)
	}, append([]Option{Narrow}, opts...)...)
}

// dateForms are how a day is typed, without doubt which number is the month.
var dateForms = []string{time.DateOnly, "2 January 2006", "2 Jan 2006", "2.1.2006"}

func parseDate(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	for _, form := range dateForms {
		if t, err := time.Parse(form, text); err == nil && t.Year() >= 1900 && t.Year() < 2200 {
			return t, nil
		}
	}
	return time.Time{}, fault.Invalidf("", "“%.40s” is not a date: write year, month and day, as 2026-12-24, or 24 December 2026.", text)
}

// Tick binds a box to tick.
func (f *Form) Tick(path string, to *bool, opts ...Option) {
	d := f.field(path, settings{Field: shell.Field{Kind: shell.Check}}, opts)
	if f.write {
		if *to && !f.draft {
			f.v.Set(d.name, "on")
		}
		return
	}
	text := f.text(d)
	if *to = !slices.Contains([]string{"", "0", "no", "off", "false"}, text); *to {
		f.chose(text, "")
	}
}

// Ticks binds a set of words, each a box of its own named PATH-WORD. The words are
// the options' values.
func (f *Form) Ticks(path string, to *[]string, options []shell.Option, opts ...Option) {
	var out []string
	for _, o := range options {
		on := slices.Contains(*to, o.Value)
		f.Tick(path+"-"+o.Value, &on, append([]Option{Label(o.Label), Hint(o.Hint)}, opts...)...)
		if on {
			out = append(out, o.Value)
		}
	}
	if !f.write {
		*to = out
	}
}

// A Case is one value that can be chosen, and its word in the form.
type Case[T comparable] struct {
	Is          T
	Word, Label string
	Hint        string // shown by radio buttons
}

// Is is the case of a value whose word in the form is its own.
func Is[T interface {
	comparable
	fmt.Stringer
}](x T, label string) Case[T] {
	return Case[T]{Is: x, Word: x.String(), Label: label}
}

// Stages are the cases of a batter's stage; any is what none is called.
func Stages(any string) []Case[formula.Stage] {
	out := []Case[formula.Stage]{Is(formula.AnyStage, any)}
	for _, s := range formula.Stages() {
		out = append(out, Is(s, s.Words()))
	}
	return out
}

// Choose binds one of a few values. Nothing sent leaves the value as it is.
func Choose[T comparable](f *Form, path string, to *T, cases []Case[T], opts ...Option) {
	d := f.field(path, asChoice, opts)
	for _, c := range cases {
		d.Options = append(d.Options, shell.Option{Value: c.Word, Label: c.Label, Hint: c.Hint})
		if c.Is == *to {
			d.Value = c.Word // until something is sent
			if f.write {
				f.put(d, c.Word)
			}
		}
	}
	if f.write {
		return
	}
	text := f.text(d)
	f.chose(text, cmp.Or(d.Value, cases[0].Word))
	switch i := slices.IndexFunc(cases, func(c Case[T]) bool { return c.Word == text }); {
	case i >= 0:
		*to = cases[i].Is
	case text != "":
		var labels, names []string
		for _, c := range cases {
			if c.Word != "" {
				labels, names = append(labels, c.Label), append(names, c.Word)
			}
		}
		end := cmp.Or(words.Meant(text, names), ".")
		f.refuse(d.name, fault.Invalidf("", "“%.40s” is not one of the choices: choose %s%s", text, strings.Join(labels, ", "), end))
	}
	f.judge(d, text)
}

// chose notes that the maker chose something in a row: anything but what stands there
// from the start.
func (f *Form) chose(text, start string) {
	if f.row != nil && text != "" && text != start {
		f.row.typed = true
	}
}

// Word binds one of a few words to a text. A word that the options lack stays
// chosen, so that a form never loses what it was sent with; gone is what the page
// calls it.
func (f *Form) Word(path string, to *string, options []shell.Option, gone string, opts ...Option) {
	d := f.field(path, asWord, opts)
	d.Options = options
	f.words(d, to)
	if *to != "" && !slices.ContainsFunc(options, func(o shell.Option) bool { return o.Value == *to }) {
		d.Options = append(slices.Clip(options), shell.Option{Value: *to, Label: gone})
	}
}

// A Way is one of several in which an amount can be given.
type Way struct {
	Word, Label string // of the choice
	Path        string // what the rules call the amount given so
	To          *quantity.Maybe
	In          Measure
}

// Ways binds one amount that is given in one of several ways: a box with the
// number, and a select of the way. The amount answers for what the rules call it
// in every way. The way that fits what was chosen, else the first, is read; the
// others become unknown. By's label is given here, the amount's by options.
func (f *Form) Ways(path, by, byLabel string, ways []Way, opts ...Option) {
	chosen := 0
	for i, w := range ways {
		if f.write && w.To.Known || !f.write && f.Typed(by) == w.Word {
			chosen = i
			break
		}
	}
	way := f.field(by, asChoice, []Option{Label(byLabel)})
	if !f.write {
		f.chose(ways[chosen].Word, ways[0].Word)
	}
	way.Value = ways[chosen].Word // what is seen is chosen, though nothing was
	if f.Has(by) && f.Typed(by) != ways[chosen].Word {
		f.Set(by, ways[chosen].Word) // a way that was chosen for another kind of thing
	}
	for _, w := range ways {
		way.Options = append(way.Options, shell.Option{Value: w.Word, Label: w.Label})
	}
	d := f.field(path, asNumber, append(slices.Clone(opts), Unit("\u200b")))
	for i, w := range ways {
		if w.Path != path {
			f.alias[f.name(w.Path)] = d.name
		}
		if i != chosen && !f.write {
			*w.To = quantity.Maybe{}
		}
	}
	if f.write {
		f.put(way, ways[chosen].Word)
	}
	f.amount(d, f.name(ways[chosen].Path), ways[chosen].To, ways[chosen].In)
	f.judge(d, f.text(d))
	d.Field.Unit = ""
}
