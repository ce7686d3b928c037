package web

import (
	"context"
	"net/url"

	"barwright/catalogue"
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
	f, err := form.FacesOf(ctx, s.cfg.Book)
	return tradeOf(f), err
}

func (t trade) faces() formula.Faces                                         { return t.Faces.Formula() }
func (t trade) division(f *formula.Formula) float64                          { return t.Division(f) }
func (t trade) limits(f *formula.Formula) soap.Limits                        { return t.Limits(f) }
func (t trade) massSaid(g, division float64) string                          { return t.Mass(g, division) }
func (t trade) tempSaid(c float64) string                                    { return t.Temp(c) }
func (t trade) degreesSaid(k float64) string                                 { return t.Degrees(k) }
func (t trade) volumeSaid(v quantity.Reading[float64]) (value, doubt string) { return t.Volume(v) }

var day = form.Day

// massUnitWord is the unit beside a box for a mass.
func massUnitWord(u quantity.MassUnit) string {
	if u == quantity.PoundOunce {
		return "lb"
	}
	return form.MassUnit(u)
}

// testSize asks the bench for a test batch.
func (t trade) testSize() url.Values {
	amount, unit := soap.TestBatch(t.set.Mass)
	text := plainNumber(amount)
	if unit != quantity.Gram {
		text += " " + unit.String()
	}
	return url.Values{"by": {"fats"}, "amount": {text}}
}
