package studio

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/soap"
)

// Formula is the document of a formula of the studio: what the maker wrote, and
// what was worked out when it was kept.
type Formula struct {
	*formula.Formula
	Kept Kept
}

// FormulaVersion is one version of a formula.
type FormulaVersion = Version[Formula]

// Kept is what was worked out when a version of a formula was kept. The studio
// never works it out again: when an ingredient's values change later, a version
// still shows the figures that the maker saw when keeping it. The zero Kept says
// that nothing was worked out.
type Kept struct {
	// Superfat is the superfat and its doubt, by Monte Carlo: its Draws and Seed
	// say how it was found, and find it again.
	Superfat soap.Superfat `json:"superfat"`
	// Engine is the version of the program that worked it out.
	Engine string `json:"engine,omitempty"`
	// Figures is whatever else the caller keeps with the version, as JSON; may be empty.
	Figures json.RawMessage `json:"figures,omitempty"`
}

// The roles in which a formula stands on an ingredient.
const (
	AsFat   = "fat"   // it stands among the fats
	AsExtra = "extra" // it stands among the extras, or colours a portion
)

// formulas is the nature of formulas.
type formulas struct{ plain[Formula] }

func (formulas) kind() Kind            { return KindFormula }
func (formulas) name(f Formula) string { return f.Name }
func (formulas) figures(f Formula) any { return f.Kept }

func (formulas) under(f Formula, _, name string) Formula {
	named := *f.Formula
	named.Name = name
	f.Formula = &named
	return f
}

func (formulas) check(f Formula, cat *catalogue.Catalogue) fault.List {
	l := f.Validate(true)
	if len(l) == 0 {
		l = f.CheckIDs(cat)
	}
	return l
}

func (formulas) words(f Formula) []string {
	var out []string
	for i := range f.Scents {
		out = append(out, f.Scents[i].Name)
	}
	for i := range f.Bases {
		out = append(out, f.Bases[i].Name)
	}
	return out
}

// links gathers which ingredients f has, under the ids that the catalogue has
// them under.
func (formulas) links(f Formula, cat *catalogue.Catalogue) []Link {
	var out []Link
	add := func(id, role string) {
		if in, err := cat.Get(id); err == nil {
			id = in.ID
		}
		if l := (Link{KindIngredient, id, role}); !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	for i := range f.Fats {
		add(f.Fats[i].ID, AsFat)
	}
	for i := range f.Extras {
		add(f.Extras[i].ID, AsExtra)
	}
	for i := range f.Portions {
		for _, c := range f.Portions[i].Colourants {
			add(c.ID, AsExtra)
		}
	}
	return out
}

// finds gives the ingredients whose name or INCI name holds the word.
func (formulas) finds(word string, ingredients []foldedName) []string {
	var out []string
	for _, in := range ingredients {
		if strings.Contains(in.key, word) {
			out = append(out, in.id)
		}
	}
	return out
}

// MarshalJSON writes the formula alone: its figures are stored beside it.
func (f Formula) MarshalJSON() ([]byte, error) { return json.Marshal(f.Formula) }

func (formulas) read(doc, figures Document) (Formula, error) {
	f := Formula{Formula: new(formula.Formula)}
	if err := decode("formula", doc, f.Formula); err != nil {
		return Formula{}, err
	}
	return f, decode("result of the formula", figures, &f.Kept)
}

// hasPortion reports that the newest version of a formula has a portion of that name.
func hasPortion(ctx context.Context, r Reader, row RecordRow, portion string) (bool, error) {
	v, err := r.Version(ctx, row.ID, row.Newest)
	if err != nil {
		return false, err
	}
	f, err := formulas{}.read(v.Document, v.Figures)
	if err != nil {
		return false, err
	}
	return slices.ContainsFunc(f.Portions, func(p formula.Portion) bool { return strings.EqualFold(p.Name, portion) }), nil
}
