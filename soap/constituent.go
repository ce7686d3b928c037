package soap

import (
	"cmp"
	"slices"
	"strings"

	"barwright/catalogue"
)

// ConstituentMass is a substance that certificates state, added up over all
// scents of a batter.
type ConstituentMass struct {
	// Name is what a label prints if the substance is on the list of fragrance
	// allergens. Otherwise it is the name that the certificate states.
	Name   string
	Stated []string // names on certificates that differ from Name
	Scents []int    // the lines of scents that state it, from 0
	MassG  float64
	// PctOfBar is its share of the bar when sold, and PctDry its share when all
	// water has gone, both in % by mass.
	PctOfBar, PctDry float64
	// Listed means that it is on the list of allergens. Declarable means that
	// its share when sold is above the threshold for products that are rinsed
	// off. Prohibited means that it may not be in a cosmetic product.
	Listed, Declarable, Prohibited bool
	// Note is what the list adds, for example that a number stands for two
	// entries.
	Note string
}

// Constituents returns what the certificates of the scents state, heaviest
// first: the grams of each substance over all scents, and its share of the bar.
// Members of a group add up under the group's name, which is how Annex III of
// Reg. (EC) 1223/2009 is read.
func (r *Result) Constituents() []ConstituentMass {
	var out []ConstituentMass
	var entries []catalogue.Allergen
	at := map[string]int{}
	for i := range r.Scents {
		for _, c := range r.Formula.Scents[i].Constituents {
			a, listed := catalogue.AllergenOf(c.Name)
			name := strings.TrimSpace(c.Name)
			if listed {
				name = a.Name
			}
			key := strings.ToLower(name)
			k, ok := at[key]
			if !ok {
				k = len(out)
				at[key] = k
				out = append(out, ConstituentMass{Name: name, Listed: listed, Prohibited: a.Prohibited, Note: a.Note})
				entries = append(entries, a)
			}
			m := &out[k]
			m.MassG += r.Scents[i].MassG * c.Pct / 100
			if stated := strings.TrimSpace(c.Name); !strings.EqualFold(stated, name) && !slices.Contains(m.Stated, stated) {
				m.Stated = append(m.Stated, stated)
			}
			if !slices.Contains(m.Scents, i) {
				m.Scents = append(m.Scents, i)
			}
		}
	}
	for k := range out {
		m := &out[k]
		m.PctOfBar = pct(m.MassG, r.Bar.MassG)
		m.PctDry = pct(m.MassG, r.Bar.MassG-r.Bar.Water)
		m.Declarable = m.Listed && entries[k].MustName(m.PctOfBar)
	}
	slices.SortStableFunc(out, func(a, b ConstituentMass) int { return cmp.Compare(b.MassG, a.MassG) })
	return out
}
