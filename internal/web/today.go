package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"barwright/fault"
	"barwright/finding"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

func (s *server) todayRoutes() {
	s.Place("Today", "/")
	s.Handle("GET /{$}", s.today)
}

// todayView is the first page: what is to hand, and what is still to be set.
type todayView struct {
	Steps    []todayStep // what the first evening still needs; none when all is done
	Formulas []todayFormula
	More     string     // address of all formulas, when not all are shown
	Sheets   []sheetRow // of single batches and of whole runs
	Bench    string     // address of the bench; "" where there is none
	Moulds   string     // how many moulds are on the shelf, in words; "" where there is no page of them
	Findings Findings
	Names    []todayGroup
}

// todayStep is one thing that a studio needs before its first batch.
type todayStep struct {
	Done bool
	Text string
	Why  string
	Do   Button
}

type todayFormula struct {
	Href, Name, Aside  string
	Superfat, Interval string
	Marks              []Mark
}

// todayGroup is what there is to say about one formula.
type todayGroup struct {
	Name, Href string
	Notes      []Note
}

var todayPage = shell.Declare[todayView](room, "today")

// How much of the book lies open.
const (
	todayFormulas = 6
	todaySheets   = 5
)

func (s *server) today(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	list, err := s.cfg.Book.Formulas.List(ctx, "", studio.Slice{Size: todayFormulas})
	if err != nil {
		return err
	}
	shelf, err := s.cfg.Book.Moulds.All(ctx)
	if err != nil {
		return err
	}
	taken, err := s.cfg.Book.Runs(ctx, studio.RunsOf{}, studio.Slice{Size: todaySheets})
	if err != nil {
		return err
	}
	loc := t.set.Location()
	v := todayView{Steps: s.firstSteps(t.set, list.Total, len(shelf), taken.Total)}

	// One run of letters through the page, as the rows stand.
	var about []int
	var fs []finding.Finding
	for i, f := range list.Items {
		row := todayFormula{Href: "/formulas/" + f.ID, Name: f.Name,
			Aside: listed(words.Count(f.Newest.N, "version", "versions"), strings.Join(f.Newest.Doc.Formula.Traits(), "; "), "kept "+day(f.Newest.KeptAt, loc))}
		sf := f.Newest.Doc.Kept.Superfat
		res, err := soap.Work(f.Newest.Doc.Formula, t.cat)
		switch {
		case err != nil && fault.KindOf(err) == fault.Internal:
			return err
		case err != nil:
			// An ingredient has changed since it was kept, and the formula cannot be
			// worked out any more: its own page says what would do.
			fs, about = append(fs, finding.Finding{Rule: "formula.works", Severity: finding.Stop, Message: fault.All(err)[0].Message,
				Source: "the sums", Remedy: "Open the formula and mend the line."}), append(about, i)
		default:
			if sf.Draws == 0 {
				sf = res.Superfat
			}
			for _, one := range soap.Findings(res, sf, t.set.SoapLimits()) {
				if one.Severity != finding.Note {
					fs, about = append(fs, one), append(about, i)
				}
			}
		}
		if sf.Draws > 0 || err == nil && !res.Melts() {
			row.Superfat = quantity.Percent(sf.NominalPct, 1)
			row.Interval = quantity.Interval(sf.LowPct, sf.HighPct, 1)
		}
		v.Formulas = append(v.Formulas, row)
	}
	v.Findings = Footnotes(fs)
	for j, note := range v.Findings.Notes {
		i := about[j]
		row := &v.Formulas[i]
		row.Marks = append(row.Marks, note.Mark())
		if n := len(v.Names); n == 0 || v.Names[n-1].Href != row.Href {
			v.Names = append(v.Names, todayGroup{Name: row.Name, Href: row.Href})
		}
		g := &v.Names[len(v.Names)-1]
		g.Notes = append(g.Notes, note)
	}
	if list.Total > len(list.Items) {
		v.More = "All " + strconv.Itoa(list.Total) + " formulas"
	}
	if s.Has("/bench") {
		v.Bench = "/bench"
		for _, x := range taken.Items {
			v.Sheets = append(v.Sheets, takenRow(x, loc))
		}
	}
	if s.Has("/moulds") && len(shelf) > 0 {
		v.Moulds = "1 mould on the shelf"
		if len(shelf) > 1 {
			v.Moulds = strconv.Itoa(len(shelf)) + " moulds on the shelf"
		}
	}
	return todayPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: longDay(s.Now(), loc), Lead: "What is to hand in the book.",
		Actions: []Button{{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}}, v)
}

// longDay is the date with its day of the week, in the maker's own time zone.
func longDay(t time.Time, loc *time.Location) string {
	return t.In(loc).Format("Monday 2 January 2006")
}

// firstSteps are what a studio needs before its first batch, in the order of
// the hand: none once each is done.
func (s *server) firstSteps(set studio.Settings, formulas, moulds, sheets int) []todayStep {
	scale := set.ScaleDivisionG.Known && set.NaOHPurityPct.Known
	var steps []todayStep
	add := func(done bool, path, text, why, label, href string) {
		if s.Has(path) {
			steps = append(steps, todayStep{done, text, why, Button{Label: label, Href: href}})
		}
	}
	add(scale, "/studio", "Set the step of your scale and the purity of your alkali.",
		"Both stand on the thing itself: the scale's label, the container's label. Until then sheets assume a step of 0.1 g, and alkali counts as pure.", "Set them", "/studio")
	add(formulas > 0, "/formulas/new", "Write a formula.",
		"The fats, how much is to stay free, and how strong the lye is.", "Write a formula", "/formulas/new")
	mould := "/moulds"
	if s.Has("/moulds/new") {
		mould = "/moulds/new"
	}
	add(moulds > 0, mould, "Measure a mould.",
		"Its inside with a rule, or the water that fills it on the scale. Then a batch can be made to fit.", "Measure a mould", mould)
	add(sheets > 0, "/bench", "Take a bench sheet down.",
		"What to weigh, in the order of the hand, to print and lay beside the scale.", "To the bench", "/bench")
	// A maker without a mould, or who never prints, is not reminded for ever: the
	// steps go once a formula can be weighed out.
	if scale && formulas > 0 && (moulds > 0 || sheets > 0) {
		return nil
	}
	return steps
}
