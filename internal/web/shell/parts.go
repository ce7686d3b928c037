package shell

import (
	"html/template"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/fault"
	"barwright/finding"
	"barwright/internal/draw"
	"barwright/internal/words"
	"barwright/lye"
)

// Every part below is drawn by the template of the same name in part/, as in
// {{template "field" .Superfat}}. The page at /parts shows each in every state.

// A Kind is what a field is drawn as. The zero Kind is Entry.
type Kind string

// The kinds of field.
const (
	Entry     Kind = ""           // takes ink
	WorkedOut Kind = "worked-out" // an answer, no box: cannot be typed in
	Prose     Kind = "prose"      // takes several lines of words
	Select    Kind = "select"     // a list of which one is chosen
	Choices   Kind = "choices"    // radio buttons under one question
	Check     Kind = "check"      // one box to tick; it posts "on", or nothing
)

// Field is one labelled entry of a form: template "control", which draws it by the
// template of its kind: "field", "prose", "select", "choices" or "check".
//
// Its id is its Name. The hint, the fault and the unit are tied to it as
// NAME-hint, NAME-fault and NAME-unit.
type Field struct {
	Name  string // form name and id: letters, digits, hyphens, and dots between the numbers of rows, as in "fat.2.pct"
	Label string
	Hint  string // a few words below; may be empty
	Fault string // a sentence that says what would do; "" when nothing is wrong
	Value string // as typed, or as shown; of a choice that of the chosen option; of a box that is not ticked ""
	Unit  string // inside the box, at its right: "g", "%"
	Kind  Kind

	Words   bool     // takes words: set left and wide, where the zero value is a number, set right
	Ledger  bool     // the label is read out and not shown: the row's own head names the field
	Beside  bool     // the label stands at the left, as in a ledger's column
	Wide    bool     // as wide as its column
	Choose  string   // id of a <datalist> with suggestions
	Options []Option // of a choice
	Rows    int      // of prose; 0 means 4
}

// DescribedBy lists the ids of what else there is to know about the entry.
func (f Field) DescribedBy() string {
	var ids []string
	for _, x := range []struct{ text, suffix string }{{f.Unit, "-unit"}, {f.Hint, "-hint"}, {f.Fault, "-fault"}} {
		if x.text != "" {
			ids = append(ids, f.Name+x.suffix)
		}
	}
	return strings.Join(ids, " ")
}

// Option is one thing to choose.
type Option struct {
	Value, Label string
	Hint         string // shown by radio buttons only
}

// Hidden is a field that is carried along unseen: template "carried" takes a list
// of them.
type Hidden struct{ Name, Value string }

// Datalist is a long list of names that fields with its id as their Choose can be
// filled from: template "datalists" takes all of a page.
type Datalist struct {
	ID    string
	Names []string
}

// Address is a path with what is asked of it, in pairs of name and value. Empty values
// are left out.
func Address(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// Link is an address and its words.
type Link struct{ Href, Text string }

// Summary is the list of faults at the head of a form that was refused:
// template "summary". It draws nothing when it is empty.
type Summary struct {
	Faults []Link // Href "" where no single field is at fault
	Still  bool   // does not take the focus when the page opens
}

// Summarise makes the summary of the faults in err, each linked to its field. A
// fault inside the program is left out: return that from the handler instead.
func Summarise(err error) Summary {
	var s Summary
	for _, f := range fault.All(err) {
		if f.Kind == fault.Internal || f.Message == "" {
			continue
		}
		l := Link{Text: f.Message}
		if f.Field != "" {
			l.Href = "#" + f.Field
		}
		s.Faults = append(s.Faults, l)
	}
	return s
}

// FaultAt is the sentence of the fault in err on a field; "" when there is none.
func FaultAt(err error, field string) string {
	for _, f := range fault.All(err) {
		if f.Field == field && f.Kind != fault.Internal {
			return f.Message
		}
	}
	return ""
}

// Look is how much a button weighs. The zero Look is a plain key.
type Look string

// The looks of a button.
const (
	Plain Look = ""     // a key: on leaf, outlined
	Main  Look = "main" // the one thing to do next: ink
	Quiet Look = "text" // underlined words, for what is seldom wanted
)

// Button is something to press: template "button". With Href it is a link that
// looks like one, for going elsewhere; without, it submits its form.
type Button struct {
	Label string
	Look  Look
	Href  string
	Name  string // posted with Value when this button submits; "do" by custom
	Value string
	Form  string // id of a form that it stands outside of
}

// Note is one finding keyed by a ringed letter: template "finding".
type Note struct {
	finding.Finding
	Letter string // a, b, … z, aa
}

// Word is how the finding begins: Stop, Warn or Note.
func (n Note) Word() string { return Upper(n.Severity.String()) }

// ID is where the finding stands: "finding-a".
func (n Note) ID() string { return "finding-" + n.Letter }

// Mark is the ringed letter beside a number, which leads to the finding:
// template "mark".
type Mark struct {
	Letter string
	Word   string // Stop, Warn or Note
	Href   string
}

// Mark is the ringed letter that leads to the finding.
func (n Note) Mark() Mark { return Mark{n.Letter, n.Word(), "#" + n.ID()} }

// Findings are the footnotes of a page: template "findings", and template
// "finding-count" for its head. The letters follow the order given.
type Findings struct{ Notes []Note }

// Footnotes letters fs: a, b, c. Order them as the numbers that they are about
// stand on the page.
func Footnotes(fs []finding.Finding) Findings {
	var out Findings
	for i, f := range fs {
		out.Notes = append(out.Notes, Note{Finding: f, Letter: Letters(i)})
	}
	return out
}

// NoNotes leaves out the findings that are no more than a note.
func NoNotes(fs []finding.Finding) []finding.Finding {
	return slices.DeleteFunc(fs, func(f finding.Finding) bool { return f.Severity == finding.Note })
}

// About gives the marks of the findings on one number, as in About("fat:2").
func (f Findings) About(what string) []Mark {
	var out []Mark
	for _, n := range f.Notes {
		if n.About == what {
			out = append(out, n.Mark())
		}
	}
	return out
}

// Stops reports whether any finding is a stop.
func (f Findings) Stops() bool {
	return slices.ContainsFunc(f.Notes, func(n Note) bool { return n.Severity == finding.Stop })
}

// Count says how many of each there are: "1 stop, 2 warnings, 1 note"; "" for
// none.
func (f Findings) Count() string {
	var parts []string
	for _, x := range []struct {
		of        finding.Severity
		one, many string
	}{{finding.Stop, "stop", "stops"}, {finding.Warn, "warning", "warnings"}, {finding.Note, "note", "notes"}} {
		n := 0
		for _, note := range f.Notes {
			if note.Severity == x.of {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, strings.Replace(words.Count(n, x.one, x.many), " ", "\u00a0", 1))
		}
	}
	return strings.Join(parts, ", ")
}

// Marks are the ringed letters of all findings, as many as Count counts.
func (f Findings) Marks() []Mark {
	var out []Mark
	for _, n := range f.Notes {
		out = append(out, n.Mark())
	}
	return out
}

// Upper begins a plain word with a capital.
func Upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Letters counts a, b, … z, aa, ab.
func Letters(i int) string { return strings.ToLower(words.Letters(i)) }

// Caution stands directly above the work that it is about: template "caution".
type Caution struct {
	Strong    string // what matters most, first
	Text      string
	Points    []lye.Caution // in working order; may be none
	Emergency string        // whom to call; may be empty
}

// LyeCaution stands wherever alkali is weighed or dissolved.
// Common practice, no source; it defers to the safety data sheet of the lot.
var LyeCaution = Caution{
	Strong: "Lye goes into water, never water into lye.",
	Text: "Goggles, alkali-proof gloves, long sleeves, closed shoes. Window open, children and animals out. " +
		"No aluminium, zinc or tin, and no glass jug. Rinse a splash with running water at once, for 15 minutes or more, never with vinegar, " +
		"and get medical help. Follow the safety data sheet of your own lot.",
}

// Heading opens a section with a rule above it: template "heading".
type Heading struct {
	Title string
	ID    string // may be empty
	Aside string // at the right end, or under a long title
	First bool   // the first of its page: no rule above
}

// Figure is one large number with what it is: template "figures" draws a row of
// them.
type Figure struct{ Value, Label string }

// Pages leads through a long list: template "pages". It draws nothing when
// there is one page only.
type Pages struct {
	What           string // plural: "formulas"
	First, Last    int    // of what is shown, from 1
	All            int
	Previous, Next string // addresses; "" at an end
}

// Pagination works out what a list of all things, per to a page, shows on page
// number n (from 1), and keeps n inside the list. Href gives the address of a
// page.
func Pagination(what string, n, per, all int, href func(page int) string) (p Pages, offset int) {
	per = max(per, 1)
	count := max((all+per-1)/per, 1)
	n = min(max(n, 1), count)
	offset = (n - 1) * per
	p = Pages{What: what, First: min(offset+1, all), Last: min(offset+per, all), All: all}
	if n > 1 {
		p.Previous = href(n - 1)
	}
	if n < count {
		p.Next = href(n + 1)
	}
	return p, offset
}

// Empty stands where a list has nothing yet, and says how it gets something:
// template "empty".
type Empty struct {
	Text string
	Do   *Button
}

// Swatch is a stratum of the bar, large, as the key to all pictures: template
// "swatch-large". The page must hold {{patterns}} once. Beside a table's row
// stands the small one: {{swatch "table" .Stratum}}, whose first word must
// differ for each table of a page.
type Swatch struct{ draw.Look }

// Ref is the stratum's pattern as a paint; "" for a plain one.
func (s Swatch) Ref() string {
	if !s.HasPattern() {
		return ""
	}
	return "url(#" + s.PatternID(swatchPrefix) + ")"
}

// swatchPrefix is that of the patterns which {{patterns}} writes.
const swatchPrefix = "key"

// patterns is a drawing of no size that holds the patterns of large swatches.
func patterns() (template.HTML, error) {
	var b strings.Builder
	b.WriteString(`<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false"><defs>`)
	if err := draw.WritePatterns(&b, swatchPrefix); err != nil {
		return "", err
	}
	b.WriteString(`</defs></svg>`)
	return SVG(b.String()), nil
}

// Lines are one group of what is weighed, as a bench sheet has it.
type Lines struct {
	Title, Unit string
	Lines       []bench.Line
}

// vesselLines are what goes into one vessel: the batter that is tipped in, and
// its colourants.
func vesselLines(v bench.Vessel, unit string) Lines {
	tip := v.Tip
	tip.Name = "Batter"
	return Lines{"Vessel " + strconv.Itoa(v.N) + ", " + v.Name, unit, append([]bench.Line{tip}, v.Colourants...)}
}

// SVG marks a drawing made by package draw as ready for a page. Nothing else
// may pass through it: what a maker typed must have been escaped by its drawer.
func SVG(s string) template.HTML { return template.HTML(s) } //nolint:gosec // see above

// Picture is a drawing for a wide page, and the same for a phone, its words as large.
type Picture struct{ Wide, Phone template.HTML }

// Draw makes a picture by a drawer, at a width in px for either page. What is drawn
// for the phone has the id with a p at its end.
func Draw(id string, wide, phone float64, drawer func(id string, width float64) (string, error)) (Picture, error) {
	w, err := drawer(id, wide)
	if err != nil {
		return Picture{}, err
	}
	p, err := drawer(id+"p", phone)
	return Picture{SVG(w), SVG(p)}, err
}

// funcs are what templates can call.
func funcs(a *assets) template.FuncMap {
	return template.FuncMap{
		"asset":    a.url,
		"patterns": patterns,
		"mark":     func(size int) template.HTML { return SVG(draw.Mark(size)) },
		"swatch": func(prefix string, s draw.Stratum) template.HTML {
			return SVG(draw.Swatch(prefix, s, draw.Page))
		},
		"heading": func(title, id, aside string) Heading { return Heading{Title: title, ID: id, Aside: aside} },
		"opening": func(title, id, aside string) Heading {
			return Heading{Title: title, ID: id, Aside: aside, First: true}
		},
		"lyeCaution": func() Caution { return LyeCaution },

		"vessel": vesselLines,
		"source": catalogue.SourceSaid,
		// A field may have a colon in its name, which would be taken for the end of a
		// scheme. What follows # is none.
		"href": func(to string) any {
			if strings.HasPrefix(to, "#") {
				return template.URL(to) //nolint:gosec // it stays on the page
			}
			return to
		},
		"lines": func(title, unit string, l []bench.Line) Lines { return Lines{title, unit, l} },
	}
}
