// Package ingredients is the room of what may go into a formula: the catalogue's
// ingredients with their sources, the studio's own, and what it changed.
package ingredients

import (
	"embed"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("ingredients", files)

// rooms are the pages of the ingredients.
type rooms struct{ form.Room }

// Open registers the room.
func Open(s *shell.Shell, book *studio.Studio) {
	o := rooms{form.Room{Shell: s, Book: book}}
	s.Place("Ingredients", "/ingredients")
	o.Serve(o.list, "GET /ingredients")
	o.Serve(o.change, "GET /ingredients/new", "POST /ingredients/new", "GET /ingredients/{id}/change", "POST /ingredients/{id}/change")
	o.Serve(o.one, "GET /ingredients/{id}")
	o.Serve(o.withdraw, "POST /ingredients/{id}/withdraw")
}

// listView is the list.
type listView struct {
	Query, Kind string
	Kinds       []kindLink
	List        shell.List
	Pages       shell.Pages
	Empty       *shell.Empty
}

type kindLink struct {
	shell.Link
	Current bool
}

// kindsOfIngredient are what the list can be narrowed to.
var kindsOfIngredient = []struct {
	value, label string
	is           func(*catalogue.Ingredient) bool
}{
	{"", "Everything", func(*catalogue.Ingredient) bool { return true }},
	{"fats", "Fats", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleFat) }},
	{"extras", "Extras", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleExtra) }},
	{"colourants", "Colourants", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleColourant) }},
	{"own", "The studio’s own", func(i *catalogue.Ingredient) bool { return i.Own || i.Changed }},
}

var listPage = shell.Declare[listView](room, "ingredients")

// perPage is how many ingredients a page of the list shows.
const perPage = 40

func (o rooms) list(a *form.Ask) error {
	kind := kindsOfIngredient[0]
	for _, k := range kindsOfIngredient {
		if k.value == a.FormValue("kind") {
			kind = k
		}
	}
	v := listView{Query: strings.TrimSpace(a.FormValue("q")), Kind: kind.value}
	address := func(kind string, page int) string {
		number := ""
		if page > 1 {
			number = strconv.Itoa(page)
		}
		return shell.Address("/ingredients", "q", v.Query, "kind", kind, "page", number)
	}
	for _, k := range kindsOfIngredient {
		v.Kinds = append(v.Kinds, kindLink{shell.Link{Href: address(k.value, 1), Text: k.label}, k.value == kind.value})
	}
	found := slices.DeleteFunc(slices.Clone(a.Faces.Cat.Search(v.Query)), func(i *catalogue.Ingredient) bool { return !kind.is(i) })
	n, _ := strconv.Atoi(a.FormValue("page")) // what is no number is the first page
	pages, offset := shell.Pagination("ingredients", n, perPage, len(found), func(n int) string { return address(kind.value, n) })
	v.Pages, v.List = pages, listed(found[offset:min(offset+perPage, len(found))], kind.value == "fats")
	write := shell.Button{Label: "Add one of your own", Href: "/ingredients/new"}
	switch {
	case len(v.List.Rows) > 0:
	case v.Query == "":
		v.Empty = &shell.Empty{Do: &write, Text: "The studio has no ingredient of its own yet. " +
			"Add one when its certificate gives a closer saponification value than the catalogue."}
	default:
		v.Empty = &shell.Empty{Text: "Nothing here has “" + v.Query + "” in its name or its INCI name. Spell it another way, or add it as one of your own.",
			Do: &shell.Button{Label: "Show everything", Href: "/ingredients"}}
	}
	write.Look = shell.Main
	return form.Show(listPage, a, http.StatusOK, shell.Head{Title: "Ingredients",
		Lead:    "What may go into a formula. Each value says where it comes from.",
		Actions: []shell.Button{write}}, v)
}

// listed is a list of ingredients, with the columns of fats or of any.
func listed(all []*catalogue.Ingredient, fats bool) shell.List {
	l := shell.List{Caption: "Ingredients, by name", Title: "Ingredient",
		Columns: []shell.Column{{Label: "may be", Words: true}, {Label: "SAP, mg KOH/g", Wide: true}}}
	if fats {
		l.Columns = []shell.Column{{Label: "SAP, mg KOH/g"}, {Label: "iodine, g/100 g", Wide: true}}
	}
	for _, in := range all {
		var sap, iodine string
		if in.Fat != nil {
			sap, iodine = rangeSaid(in.Fat.SAP), rangeSaid(in.Fat.Iodine)
		}
		row := shell.ListRow{Href: "/ingredients/" + in.ID, Name: in.Name, Aside: []string{under(in)},
			Cells: []shell.Cell{{Value: strings.Join(in.Roles.Words(), ", ")}, {Value: sap}}}
		if fats {
			row.Cells = []shell.Cell{{Value: sap}, {Value: iodine}}
		}
		l.Rows = append(l.Rows, row)
	}
	return l
}

// under is what stands below an ingredient's name.
func under(in *catalogue.Ingredient) string {
	var said []string
	if in.INCI != "" {
		said = append(said, in.INCI)
	}
	switch {
	case in.Own:
		said = append(said, "the studio’s own")
	case in.Changed:
		said = append(said, "changed for this studio")
	}
	return strings.Join(said, "; ")
}

// rangeSaid is a range as a column shows it: either end may be unknown.
func rangeSaid(r quantity.Range) string {
	switch {
	case r.Known() && r.Min.V == r.Max.V:
		return form.Digits(r.Min.V)
	case r.Known():
		return form.Digits(r.Min.V) + " to " + form.Digits(r.Max.V)
	case r.Min.Known:
		return "from " + form.Digits(r.Min.V)
	case r.Max.Known:
		return "to " + form.Digits(r.Max.V)
	}
	return ""
}
