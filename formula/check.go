package formula

import (
	"barwright/catalogue"
	"barwright/fault"
)

// Ingredients is where ids are looked up. A *catalogue.Catalogue is one. An id
// that it does not hold is an error of kind fault.NotFound whose Message is a
// sentence.
type Ingredients interface {
	Get(id string) (*catalogue.Ingredient, error)
}

// CheckIDs returns what the ingredients in cat say is wrong with f: ids that
// cat does not hold, a line of fats that is not a fat, a line of extras that
// cannot be dosed, a colour that is neither a colourant nor an extra, fat in an
// extra whose saponification value nobody knows, and an extra that holds more
// than 100 % of fat and water. The fields are those of Validate.
func (f *Formula) CheckIDs(cat Ingredients) fault.List {
	var l fault.List
	look := func(field, id string) *catalogue.Ingredient {
		if id == "" {
			return nil // Validate reports it
		}
		x, err := cat.Get(id)
		if err == nil {
			return x
		}
		for _, e := range fault.All(err) {
			if e.Kind == fault.Internal {
				l.Add(&fault.Error{Field: field, Err: err})
				continue
			}
			l.Add(fault.Invalidf(field, "%s", e.Message))
		}
		return nil
	}
	for i, x := range f.Fats {
		field := Path("fat", i, "id")
		if c := look(field, x.ID); c != nil && (c.Fat == nil || !c.Roles.Has(catalogue.RoleFat)) {
			l.Add(fault.Invalidf(field, "No alkali can be worked out for %s, since it is no fat: list it among the extras.", x.ID))
		}
	}
	for i, x := range f.Extras {
		field := Path("extra", i, "id")
		c := look(field, x.ID)
		if c == nil {
			continue
		}
		if c.Extra == nil {
			if c.Roles.Has(catalogue.RoleFat) {
				l.Add(fault.Invalidf(field, "List %s among the fats, where its lye is counted: it is a fat.", x.ID))
			} else {
				l.Add(fault.Invalidf(field, "Only the name of %s is known, so it cannot be dosed: add it to the studio's own ingredients with its "+
					"fat, water and density.", x.ID))
			}
			continue
		}
		if x.FatPct.Known && x.FatPct.V > 0 && !x.SAP.Known && !c.Extra.FatSAP.Known {
			l.Add(fault.Invalidf(Path("extra", i, "fat_pct"), "The saponification value of the fat in %s is not known: write sap_mg_koh_g too.", x.ID))
		}
		fat, water := x.FatPct.Or(c.Extra.FatPct), x.WaterPct.Or(c.Extra.WaterPct)
		if both := x.FatPct.Known && x.WaterPct.Known; !both && fat >= 0 && water >= 0 && fat+water > 100+1e-9 {
			key := "water_pct"
			if x.FatPct.Known {
				key = "fat_pct"
			}
			l.Add(fault.Invalidf(Path("extra", i, key), "With what the catalogue says, fat and water come to %s %% of %s: give both, 100 %% at most.",
				Plain(round(fat+water, 4)), x.ID))
		}
	}
	for i, p := range f.Portions {
		field := Path("portion", i, "colours")
		for k, x := range p.Colourants {
			field := entry(field, k)
			if c := look(field, x.ID); c != nil && !c.Roles.Has(catalogue.RoleColourant) && !c.Roles.Has(catalogue.RoleExtra) {
				l.Add(fault.Invalidf(field, "The ingredient %s neither colours nor can it be stirred in: write a colourant or an extra.", x.ID))
			}
		}
	}
	return l
}
