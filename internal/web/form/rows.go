package form

import (
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Blank is the number of the empty row that the script fills in.
const Blank = "__i__"

// maxRows bounds how many rows of a list are read and shown, however many a form
// sends: more than any record may have.
const maxRows = 220

// maxNumber bounds the numbers of rows.
const maxNumber = 9999

// list is a list of rows as it was declared.
type list struct {
	rowSettings
	name  string
	rows  []*row
	lines []*row // those that became a line of the domain value, in order
	blank *Form
}

func (l *list) byN(n int) *row {
	for _, r := range l.rows {
		if r.n == n {
			return r
		}
	}
	return nil
}

// row is one row of a list.
type row struct {
	list  *list
	n     int // its number in the form; 0 for the empty row
	at    int // its place among the rows shown, from 1
	line  int // its place in the domain value, from 0; -1 when it is empty
	form  *Form
	typed bool
}

type rowSettings struct {
	noun   string
	least  int
	anchor string
	called []string
	counts []string
}

// A RowOption says something about a list of rows.
type RowOption func(*rowSettings)

// Each is what one row is called, with a capital: "Part". Faults say "Part 2, how
// much: …".
func Each(noun string) RowOption { return func(x *rowSettings) { x.noun = noun } }

// AtLeast is how many rows are shown, empty ones to make up for what is missing.
func AtLeast(n int) RowOption { return func(x *rowSettings) { x.least = n } }

// LedTo is the id on the page where a fault of the whole list leads: its table, or
// the heading above it.
func LedTo(id string) RowOption { return func(x *rowSettings) { x.anchor = id } }

// Called says what else the rules call the whole list.
func Called(paths ...string) RowOption {
	return func(x *rowSettings) { x.called = append(x.called, paths...) }
}

// Counting names fields whose text makes a row more than an empty one even while
// another choice hides them.
func Counting(paths ...string) RowOption {
	return func(x *rowSettings) { x.counts = append(x.counts, paths...) }
}

// Rows binds a list: one row of the form for each element of to. Rows may have
// gaps in their numbers, and rows in which nothing was typed are skipped: a choice
// counts only where it is another than stands in every row from the start. A fault on
// line 2 of the value stands in the row that became line 2.
//
// Bind is called once for every row, empty ones too, and once for the empty row of
// the script. It must not look at anything but its row.
func Rows[T any](f *Form, name string, to *[]T, bind func(f *Form, x *T), opts ...RowOption) {
	l := &list{name: f.name(name)}
	for _, o := range opts {
		o(&l.rowSettings)
	}
	f.lists[l.name] = l
	f.order = append(f.order, l.name)
	for _, c := range l.called {
		f.alias[f.name(c)] = l.name
	}
	var nums []int
	if f.write {
		for i := range *to {
			nums = append(nums, i+1)
		}
	} else {
		nums = rowsIn(f.v, l.name)
	}
	kept := len(nums)
	for n := 1; len(nums) < l.least; n++ {
		if !slices.Contains(nums, n) {
			nums = append(nums, n)
		}
	}
	if f.adding == l.name && len(nums) < maxRows {
		n := 1
		if len(nums) > 0 {
			n = slices.Max(nums) + 1
		}
		nums = append(nums, n)
	}
	slices.Sort(nums)
	var out []T
	for i, n := range nums {
		r := &row{list: l, n: n, at: i + 1, line: -1}
		l.rows = append(l.rows, r)
		r.form = &Form{state: f.state, scope: l.name + "." + strconv.Itoa(n) + ".", row: r, write: f.write}
		var x T
		if f.write && i < kept {
			x = (*to)[i]
		}
		r.form.draft = f.write && i >= kept
		before := len(f.faults)
		bind(r.form, &x)
		for _, k := range l.counts {
			r.typed = r.typed || r.form.Typed(k) != ""
		}
		switch {
		case f.write && i < kept, !f.write && r.typed:
			r.line = len(out)
			l.lines = append(l.lines, r)
			out = append(out, x)
		default:
			// Nothing stands in it: nothing can be wrong with it.
			for _, e := range f.faults[before:] {
				delete(f.bad, e.Field)
			}
			f.faults = f.faults[:before]
		}
	}
	if !f.write {
		*to = out
	}
	blank := &row{list: l, line: -1}
	l.blank = &Form{state: f.state, scope: l.name + "." + Blank + ".", row: blank, write: true, draft: true}
	blank.form = l.blank
	bind(l.blank, new(T))
}

// rowsIn are the numbers of a list's rows in a form, empty ones too, rising.
func rowsIn(v map[string][]string, list string) []int {
	var out []int
	for name := range v {
		rest, ok := strings.CutPrefix(name, list+".")
		if !ok {
			continue
		}
		num, _, _ := strings.Cut(rest, ".")
		if n, err := strconv.Atoi(num); err == nil && n > 0 && n <= maxNumber && strconv.Itoa(n) == num && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out[:min(len(out), maxRows)]
}

// Rows are the forms of a list's rows, in the order of the page.
func (f *Form) Rows(name string) []*Form {
	var out []*Form
	if l := f.lists[f.name(name)]; l != nil {
		for _, r := range l.rows {
			out = append(out, r.form)
		}
	}
	return out
}

// Empty is the form of the empty row, for the script.
func (f *Form) Empty(name string) *Form {
	if l := f.lists[f.name(name)]; l != nil {
		return l.blank
	}
	return nil
}

// Num is a row's number in the form, or Blank: what its names have.
func (f *Form) Num() string {
	switch {
	case f.row == nil:
		return ""
	case f.row.n == 0:
		return Blank
	}
	return strconv.Itoa(f.row.n)
}

// Line is which line of the domain value a row became, from 0; -1 for a row in
// which nothing is typed.
func (f *Form) Line() int {
	if f.row == nil {
		return -1
	}
	return f.row.line
}

// Name is the full name of a field, for an id that a page makes of it.
func (f *Form) Name(path string) string { return f.name(path) }

// Focus reports whether the button of a row that was pressed ("up", "down") is to
// have the focus, so that the next press moves the row on.
func (f *Form) Focus(what string) bool {
	return f.row != nil && f.focus == what+" "+strings.TrimSuffix(f.scope, ".")
}

// Reshaped is what Do gives after it changed rows: there is nothing left to do but
// to show the form.
const Reshaped = "reshaped"

// Do carries out the button that was pressed where it changes rows, before the
// form is bound: "add part", "remove part.3", "up part.3", "down part.3". It gives
// the button's name where it is another, as "keep", and "" where none was pressed.
func (f *Form) Do() string {
	pressed := f.v.Get("do")
	f.v.Del("do")
	what, at, ok := strings.Cut(pressed, " ")
	if !ok {
		// A browser that still shows an older page sends add-part.
		if what, at, ok = strings.Cut(pressed, "-"); !ok || what != "add" {
			return pressed
		}
	}
	if what == "add" {
		f.adding = at
		return Reshaped
	}
	i := strings.LastIndexByte(at, '.')
	n, err := strconv.Atoi(at[i+1:])
	if i < 0 || err != nil {
		return pressed
	}
	name := at[:i]
	rows := rowsIn(f.v, name)
	k := slices.Index(rows, n)
	switch what {
	case "remove":
		f.renumber(name, n, 0)
	case "up", "down":
		to := k - 1
		if what == "down" {
			to = k + 1
		}
		if k < 0 {
			return Reshaped
		}
		f.focus = what + " " + at
		if to < 0 || to >= len(rows) {
			return Reshaped
		}
		const spare = maxNumber + 1
		f.renumber(name, n, spare)
		f.renumber(name, rows[to], n)
		f.renumber(name, spare, rows[to])
		f.focus = what + " " + name + "." + strconv.Itoa(rows[to])
	default:
		return pressed
	}
	return Reshaped
}

// renumber gives a row another number; 0 takes it out.
func (f *Form) renumber(list string, from, to int) {
	was := list + "." + strconv.Itoa(from)
	for _, name := range slices.Collect(maps.Keys(f.v)) {
		key, ok := strings.CutPrefix(name, was)
		if !ok || key != "" && key[0] != '.' {
			continue
		}
		x := f.v[name]
		delete(f.v, name)
		if to > 0 {
			f.v[list+"."+strconv.Itoa(to)+key] = x
		}
	}
}
