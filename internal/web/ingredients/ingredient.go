package ingredients

import (
	"cmp"
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/studio"
)

// oneView is one ingredient.
type oneView struct {
	Summary  shell.Summary
	Here     string // address of the ingredient
	Note     string
	May      string // what it may be used as
	Source   string // where the studio has its values from; "" where it has none
	Facts    []catalogue.Fact
	Groups   []groupRow
	Sources  []string // of the fatty acids
	Uses     shell.Uses
	Says     string // what the button to the form says
	Withdraw string // what the button that takes back says; "" when nothing was changed
}

type groupRow struct {
	Name, Does, Share string
	Width             float64 // of its bar, of 100
	Acids             []acidRow
}

type acidRow struct{ Name, Aside, Share string }

// groupsDo says in a few words what a group of fatty acids does in the bar:
// common practice, no source.
var groupsDo = [catalogue.NumGroups]string{
	catalogue.Quick:    "dissolves fast: early, big lather; takes more oil off the skin",
	catalogue.Slow:     "dissolves slowly: a firm bar that wears well",
	catalogue.Mellow:   "soft, mild, slow to lather",
	catalogue.Fleeting: "mild, and the first to turn rancid",
	catalogue.Holder:   "holds a lather, draws water",
}

// ofTheAcids is the unit that marks a fact as a fatty acid's share.
const ofTheAcids = "% of the fatty acids"

var onePage = shell.Declare[oneView](room, "ingredient")

func (o rooms) one(a *form.Ask) error { return o.showOne(a, nil) }

// showOne writes the page of an ingredient; refused is why it cannot be withdrawn.
func (o rooms) showOne(a *form.Ask, refused error) error {
	in, err := a.Faces.Cat.Get(a.PathValue("id"))
	if err != nil {
		return err
	}
	uses, err := o.Book.Uses(a.Context(), studio.KindIngredient, in.ID)
	if err != nil {
		return err
	}
	f := form.Of(a.Faces)
	if err := f.Take(refused); err != nil {
		return err
	}
	v := oneView{Summary: f.Summary(), Here: "/ingredients/" + in.ID, Note: in.Note, Says: "Change a value for this studio",
		Uses: record.Uses(uses, "No formula has it yet.", shell.Address("/formulas", "q", in.Name))}
	for _, f := range in.Facts {
		if f.Unit == ofTheAcids {
			if !slices.Contains(v.Sources, f.Source) {
				v.Sources = append(v.Sources, f.Source)
			}
			continue
		}
		v.Facts = append(v.Facts, f)
	}
	if in.Fat != nil && in.Fat.HasProfile {
		v.Groups = groupsOf(in.Fat)
	}
	v.May = mayBe(in)
	if in.Own || in.Changed {
		e, err := o.Book.Ingredient(a.Context(), in.ID)
		if err != nil {
			return err
		}
		v.Source = strings.TrimSuffix(e.Source, ".")
	}
	switch {
	case in.Own:
		v.Says, v.Withdraw = "Change it", "Withdraw it"
	case in.Changed:
		v.Says, v.Withdraw = "Change it further", "Take the studio’s change back"
	}
	head := shell.Head{Title: in.Name, Lead: under(in), Actions: []shell.Button{{Label: v.Says, Href: v.Here + "/change"}}}
	if !a.Posted && a.FormValue("kept") != "" && (in.Own || in.Changed) {
		head.Said = "Kept."
	}
	return form.Show(onePage, a, f.Status(), head, v)
}

// mayBe says what an ingredient may be used as; "" for what has a name alone.
func mayBe(in *catalogue.Ingredient) string {
	var said []string
	for _, role := range in.Roles.Words() {
		for _, x := range entryRoles {
			if x.Value == role {
				said = append(said, x.Label)
			}
		}
	}
	if in.Roles.Has(catalogue.RoleAlkali) {
		said = append(said, "an alkali")
	}
	if len(said) == 0 {
		return ""
	}
	return "It may be used as " + words.Either(said) + "."
}

func (o rooms) withdraw(a *form.Ask) error {
	ctx, id := a.Context(), a.PathValue("id")
	err := o.Book.WithdrawIngredient(ctx, id)
	if err != nil && fault.KindOf(err) == fault.Conflict {
		return o.showOne(a, err)
	}
	to := "/ingredients?kind=own"
	if cat, err := o.Book.Catalogue(ctx); err == nil {
		if _, err := cat.Get(id); err == nil {
			to = "/ingredients/" + id
		}
	}
	return a.GoTo(to, err)
}

// groupsOf sorts the fatty acids of a fat into what they do, largest acid first.
func groupsOf(f *catalogue.Fat) []groupRow {
	info := catalogue.AcidTable()
	var out []groupRow
	for g := range catalogue.Group(catalogue.NumGroups) {
		var acids []catalogue.Acid
		sum := 0.0
		for a := range catalogue.Acid(catalogue.NumAcids) {
			if a.Group() == g && (f.Profile[a] > 0 || f.ProfileRange[a].Max.V > 0) {
				acids = append(acids, a)
				sum += f.Profile[a]
			}
		}
		slices.SortStableFunc(acids, func(a, b catalogue.Acid) int { return cmp.Compare(f.Profile[b], f.Profile[a]) })
		row := groupRow{Name: g.String(), Does: groupsDo[g], Share: quantity.Number(sum*100, 1), Width: min(max(sum*100, 0), 100)}
		for _, a := range acids {
			said := rangeSaid(quantity.Range{Min: timesHundred(f.ProfileRange[a].Min), Max: timesHundred(f.ProfileRange[a].Max)})
			if said != "" {
				said = "published: " + said
			}
			row.Acids = append(row.Acids, acidRow{info[a].Symbol + " " + info[a].Trivial, said, quantity.Number(f.Profile[a]*100, 1)})
		}
		out = append(out, row)
	}
	return out
}

// timesHundred turns a share into percent without the fuzz of binary fractions.
func timesHundred(m quantity.Maybe) quantity.Maybe {
	return quantity.Maybe{V: form.Rounded(m.V * 100), Known: m.Known}
}
