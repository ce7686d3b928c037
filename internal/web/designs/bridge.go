package designs

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// The parts of the shell under the names that the pages in this package have for
// them. A page that moves to a room of its own says shell.Field instead.
type (
	Head     = shell.Head
	Field    = shell.Field
	Option   = shell.Option
	Select   = shell.Select
	Choices  = shell.Choices
	Check    = shell.Check
	Prose    = shell.Prose
	Link     = shell.Link
	Summary  = shell.Summary
	Button   = shell.Button
	Note     = shell.Note
	Mark     = shell.Mark
	Findings = shell.Findings
	Caution  = shell.Caution
	Figure   = shell.Figure
	Pages    = shell.Pages
	Empty    = shell.Empty
	carried  = shell.Hidden
)

const (
	Main      = shell.Main
	WorkedOut = shell.WorkedOut
)

var (
	Summarise  = shell.Summarise
	FaultAt    = shell.FaultAt
	Footnotes  = shell.Footnotes
	Pagination = shell.Pagination
	SVG        = shell.SVG
	statusOf   = shell.StatusOf
	isLive     = shell.IsLive
)

// trade is form.Faces under the name that the pages in this package have for it.
type trade struct {
	form.Faces
	set studio.Settings
	cat *catalogue.Catalogue
}

func tradeOf(f form.Faces) trade { return trade{f, f.Set, f.Cat} }

func (s *server) trade(ctx context.Context) (trade, error) {
	f, err := form.FacesOf(ctx, s.book)
	return tradeOf(f), err
}

func (t trade) faces() formula.Faces                                         { return t.Faces.Formula() }
func (t trade) division(f *formula.Formula) float64                          { return t.Division(f) }
func (t trade) limits(f *formula.Formula) soap.Limits                        { return t.Limits(f) }
func (t trade) massSaid(g, division float64) string                          { return t.Mass(g, division) }
func (t trade) volumeSaid(v quantity.Reading[float64]) (value, doubt string) { return t.Volume(v) }

var day = form.Day

// massUnitWord is the unit beside a box for a mass.
func massUnitWord(u quantity.MassUnit) string {
	if u == quantity.PoundOunce {
		return "lb"
	}
	return form.MassUnit(u)
}

// What follows reads the forms of pages that are not bound by package form yet.

var (
	readForm     = form.Posted
	parsePercent = form.ParsePercent
)

func fieldOf(v url.Values, faults fault.List, name, label, unit, hint string) Field {
	return Field{Name: name, Label: label, Unit: unit, Hint: hint, Value: v.Get(name), Fault: FaultAt(faults, name)}
}

func selectOf(v url.Values, faults fault.List, name, label string, options []Option) Select {
	return Select{Name: name, Label: label, Value: v.Get(name), Options: options, Fault: FaultAt(faults, name)}
}

// rowsIn are the numbers of a list's rows in the form, empty ones too, rising;
// 120 at most.
func rowsIn(v url.Values, list, key string) []int {
	var out []int
	for name := range v {
		rest, ok := strings.CutPrefix(name, list+".")
		if !ok {
			continue
		}
		num, k, ok := strings.Cut(rest, ".")
		if n, err := strconv.Atoi(num); ok && err == nil && k == key && n > 0 && n < 10000 && strconv.Itoa(n) == num {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out[:min(len(out), 120)]
}

// blankRow stands for the number of a row that is not there yet, for the module
// that fills it in.
const blankRow = form.Blank

// nameFaults puts before each fault in the summary which field it is about.
func nameFaults(s *Summary, labels map[string]string) {
	for i := range s.Faults {
		l := &s.Faults[i]
		if label := labels[strings.TrimPrefix(l.Href, "#")]; label != "" {
			l.Text = label + ": " + l.Text
		}
	}
}
