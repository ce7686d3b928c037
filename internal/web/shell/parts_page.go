package shell

import (
	"net/http"

	"barwright/fault"
	"barwright/finding"
	"barwright/internal/draw"
)

// partsView shows every part in every state, for who sets a page and for who
// checks one.
type partsView struct {
	Swatches                           []Swatch
	Strata                             []draw.Stratum
	Papers                             []paperView
	Fields                             []Field
	Words                              Field
	Controls                           []Field
	Refused                            Summary
	RefusedField                       Field
	Findings                           Findings
	Figures                            []Figure
	List                               List
	Uses, NoUses                       Uses
	Pages                              Pages
	Empty                              Empty
	MainKey, PlainKey, QuietKey, GoKey Button
}

type paperView struct{ Name, Hex, Use, Class string }

var partsPage = Declare[partsView](own, "parts")

func (s *Shell) parts(w http.ResponseWriter, r *http.Request) error {
	return partsPage.Write(s, w, r, http.StatusOK, Head{
		Title: "Parts",
		Lead:  "The pieces that every page is set from, in every state. All that stands in them is made up.",
		Actions: []Button{
			{Label: "What it never says", Href: "/about"},
			{Label: "To the foot", Look: Main, Href: "#foot-of-parts"},
		},
		Foot: "Weighed on the bench scale, 0.1 g divisions",
	}, partsShown())
}

// partsShown is a made-up example of each part.
func partsShown() partsView {
	v := partsView{
		Papers: []paperView{
			{"paper", "#F3ECDE", "the page", "paper"},
			{"leaf", "#FBF7EE", "what takes ink: fields, keys", "leaf"},
			{"rule", "#CDC1AB", "feint lines, decoration only", "rule"},
			{"edge", "#83775F", "a field’s outline, 3.7 to 1", "edge"},
			{"ink", "#1B2633", "all that is said, 13.0 to 1", "ink"},
			{"ink-2", "#4B5563", "asides, 6.4 to 1", "ink-2"},
			{"stop", "#9C1C1C", "do not go on, 6.9 to 1", "stop"},
			{"stop-wash", "#F5DAD2", "ground of the cross-hatch", "stop-wash"},
			{"warn", "#744600", "on its wash, 6.3 to 1", "warn"},
			{"warn-wash", "#F4E2BC", "only under the word Warn", "warn-wash"},
			{"doubt", "#E4D4B0", "bands of doubt; ink on it 10.5 to 1", "doubt"},
		},
		Fields: []Field{
			{Name: "superfat", Label: "Superfat", Value: "3.0", Unit: "%", Hint: "share of the saponifiable fat left free"},
			{Name: "fats-share", Label: "Olive oil", Value: "138.0", Unit: "%", Fault: "The fats add up to 200 %. Take 100 away."},
			{Name: "water", Label: "Water", Value: "459.7", Unit: "g", Kind: WorkedOut, Hint: "worked out, cannot be typed in"},
		},
		Words: Field{Name: "name", Label: "Name", Value: "Storm lantern", Words: true, Hint: "what the bar is called at the bench"},
		Controls: []Field{
			{Name: "method", Label: "Method", Value: "cold", Kind: Select, Options: []Option{
				{Value: "cold", Label: "cold process"}, {Value: "hot", Label: "hot process"}}},
			{Name: "unit", Label: "Mass is shown in", Value: "g", Kind: Choices, Options: []Option{
				{Value: "g", Label: "grams"}, {Value: "oz", Label: "ounces"}, {Value: "lb oz", Label: "pounds and ounces", Hint: "as in 3 lb 4.2 oz"}}},
			{Name: "cooked", Label: "Stirred in after the cook", Hint: "stays free fat, as itself", Value: "on", Kind: Check},
			{Name: "remarks", Label: "Remarks", Value: "Thickened early at 41 °C.", Rows: 3, Kind: Prose}},
		Figures: []Figure{
			{Value: "3.0\u00a0%", Label: "asked for"},
			{Value: "0.7 to 5.2\u00a0%", Label: "95 in 100"},
			{Value: "1 in 390", Label: "alkali in excess"},
			{Value: "3.2\u00a0%", Label: "would make it 1 in 1000"},
		},
		Empty: Empty{Text: "There is no formula yet. The first one needs a name, one fat, and a superfat; the rest can wait.",
			Do: &Button{Label: "Write a formula", Look: Main, Href: "/"}},
		MainKey:  Button{Label: "Keep as version 7", Look: Main, Name: "do", Value: "keep"},
		PlainKey: Button{Label: "Bench sheet", Name: "do", Value: "sheet"},
		QuietKey: Button{Label: "Something went wrong", Look: Quiet, Name: "do", Value: "wrong"},
		GoKey:    Button{Label: "Weighed", Look: Main, Name: "do", Value: "weighed"},
	}
	for s := range draw.NumStrata {
		v.Swatches = append(v.Swatches, Swatch{s.Look()})
		v.Strata = append(v.Strata, s)
	}

	var wrong fault.List
	wrong.Add(fault.Invalidf("lye-concentration", "A lye concentration lies between 0 and 100 %%: 105 leaves no water. Most formulas have 25 to 40."))
	wrong.Add(fault.Invalidf("", "The fats add up to 98 %%. Add 2 to one of them."))
	v.Refused = Summarise(wrong)
	v.Refused.Still = true
	v.RefusedField = Field{Name: "lye-concentration", Label: "Lye concentration", Value: "105", Unit: "%", Fault: FaultAt(wrong, "lye-concentration")}

	v.Findings = Footnotes([]finding.Finding{
		{Rule: "alkali-in-excess", Severity: finding.Stop, About: "alkali",
			Message: "At 240.0 g of sodium hydroxide the superfat is −0.8 %: more alkali than the fats can take.",
			Remedy:  "take 8.8 g out while it is still dry, into the labelled waste cup.", Source: "from the masses as weighed"},
		{Rule: "superfat-interval", Severity: finding.Warn, About: "fat:1",
			Message: "The chance of alkali in excess is 1 in 390, from the ranges of SAP, purity and scale. A third of the doubt is the shea butter’s.",
			Remedy:  "a superfat of 3.2 % brings it to 1 in 1000. A certificate for its lot does more.", Source: "CXS 210-1999; 200 000 draws"},
		{Rule: "scent-limit", Severity: finding.Note, About: "scent:0",
			Message: "When sold, the scent is 3.4 % of the bar: the water has left and the scent, it is assumed, has not. Its limit is 6.2 %.",
			Remedy:  "nothing; look again when the dose or the cure changes.", Source: "certificate of the scent’s lot"},
	})
	v.List = List{Caption: "Formulas, newest first", Title: "Formula", Columns: []Column{{Label: "superfat"}, {Label: "95 % interval", Wide: true},
		{Label: "findings", Marks: true}},
		Rows: []ListRow{
			{Href: "/parts", Name: "Storm lantern", Aside: []string{"3 versions"}, Links: []Link{{"/parts", "as a file"}}, Narrow: "0.7 to 5.2\u00a0%",
				Cells: []Cell{{Value: "3.0\u00a0%", Plain: true}, {Value: "0.7 to 5.2\u00a0%"}, {Marks: v.Findings.About("alkali")}}},
			{Href: "/parts", Name: "Night watch", Aside: []string{"archived"}, Back: "/parts", Cells: []Cell{{Value: "5.0\u00a0%", Under: "assumed"}}},
			{Name: "one that leads nowhere", Cells: []Cell{{Value: "4.0\u00a0%"}}},
		}, Sum: &ListRow{Name: "All of them", Cells: []Cell{{Value: "4.0\u00a0%"}}}}
	v.Uses = Uses{Rows: []ListRow{{Href: "/parts", Name: "Storm lantern", Aside: []string{"last in version 2; the newest is without it"}}},
		More: Link{"/parts", "and 12 more"}}
	v.NoUses.None = "No formula has it yet."
	v.Pages, _ = Pagination("formulas", 2, 20, 5000, func(int) string { return "/parts#pages" })
	return v
}
