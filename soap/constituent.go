package soap

import (
	"cmp"
	"slices"
	"strings"

	"barwright/catalogue"
)

// ConstituentMass is a substance that certificates state, over all scents of a
// batter.
type ConstituentMass struct {
	// Name is the one that a label prints where the substance is on the list of
	// fragrance allergens; else it is as the certificate states it.
	Name   string
	Stated []string // the names by which it was stated, where they are others
	Scents []int    // the lines of scents that state it, from 0
	MassG  float64
	// PctOfBar is its share of the bar when sold, PctDry that of the bar when all
	// water has gone, % by mass.
	PctOfBar, PctDry float64
	// Listed: it is on the list of allergens. Declarable: its share when sold is
	// above the threshold of what is rinsed off. Prohibited: it may not be in a
	// cosmetic product.
	Listed, Declarable, Prohibited bool
	// Note is what the list says beside, as that a number stands for two entries.
	Note string
}

// Constituents are what the certificates of the scents state, heaviest first:
// grams of each over all scents, and its share of the bar. Members of a group add
// up under the group's name, as Annex III of Reg. (EC) 1223/2009 is read.
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
