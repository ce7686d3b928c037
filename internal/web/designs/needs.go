package designs

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

func (s *server) needRoutes() {
	s.Handle("GET /designs/{id}/need", s.need)
	s.Handle("POST /designs/{id}/need", s.postNeed)
}

// defaultPieces is how many the page asks for until the maker says.
const defaultPieces = "36"

// needView is what so many pieces need, taken apart, in the order of the work.
type needView struct {
	Picks   *picks
	Action  string
	RunID   string // of the run to be, so that a form sent twice takes one down
	Pieces  string // as typed, for the heading
	Summary Summary
	Fields  []Field
	Also    []alsoRow
	Blank   alsoRow
	Have    []Field // what is at hand of each embed
	OK      bool
	Stop    bool // it cannot be built as it stands
	// Missing are the pours that cannot be worked out while something stops it.
	Missing  string
	Why      []string
	First    []firstRow
	Batches  []batchRow
	Total    string
	Unit     string
	Vessels  []vesselRow
	Steps    []needStep
	Moulds   []mouldNeed
	Items    []itemNeed
	Wraps    []itemNeed
	Findings Findings
	Alkali   bool      // a batch is made with lye
	Heat     []Caution // where a batch is melted
}

// alsoRow is a further design to make in the same run.
type alsoRow struct {
	Num    string
	Design shell.Control
	Pieces Field
}

func (r alsoRow) blank() alsoRow {
	r.Num = blankRow
	blankControl(&r.Design)
	asBlank(&r.Pieces.Name, &r.Pieces.Label)
	return r
}

// firstRow is an embed to cast before.
type firstRow struct {
	Href, Name, Make, Aside, Batches, Mould string
}

type batchRow struct {
	Href, Name, Mass, Aside string
}

// vesselRow is one vessel of a batch, or the pot that is not divided.
type vesselRow struct {
	Of, Name, Aside, Mass string
	Colours               []colourRow
}

type colourRow struct{ Name, Mass string }

// needStep is one thing to do, in order.
type needStep struct {
	Wait      string // what must pass before it
	Text      string
	Each      string // large: how much goes into each
	Aside     string
	Note      string // the maker's own
	Reminders []string
	Design    string // a new piece begins: its name; "" while it goes on
}

type mouldNeed struct {
	Href, Name, Needed, Own, Rounds, Aside string
	Short                                  bool // more than one round
}

type itemNeed struct{ Name, Much string }

var needPage = shell.Declare[needView](room, "need")

// needFragments are what a live answer renews.
var needFragments = []string{"need-have", "need-work"}

func (s *server) need(w http.ResponseWriter, r *http.Request) error {
	v := r.URL.Query()
	if len(v) == 0 {
		v.Set("pieces", defaultPieces)
	}
	v = reshapeAlso(v, v.Get("do"))
	return s.showNeed(w, r, http.StatusOK, v, nil)
}

// postNeed answers while the maker types, and takes the run down.
func (s *server) postNeed(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	v, err := readForm(r)
	if err != nil {
		return err
	}
	if isLive(r) {
		t, err := s.trade(ctx)
		if err != nil {
			return err
		}
		view, _, err := s.needView(ctx, t, r.PathValue("id"), v, nil)
		if err != nil {
			return err
		}
		return needPage.Fragments(s.Shell, w, http.StatusOK, view, needFragments...)
	}
	if v.Get("do") == "take" {
		return s.takeRunDown(w, r, v)
	}
	return s.showNeed(w, r, http.StatusOK, reshapeAlso(v, v.Get("do")), nil)
}

// reshapeAlso adds a row for a further design, or takes one away.
func reshapeAlso(v url.Values, do string) url.Values {
	return reshapeRows(v, "also", "design", do)
}

// reshapeRows adds a row of a list to a form ("add"), or takes one away
// ("remove also.2").
func reshapeRows(v url.Values, list, key, do string) url.Values {
	rows := rowsIn(v, list, key)
	switch {
	case do == "add":
		n := 1
		if len(rows) > 0 {
			n = rows[len(rows)-1] + 1
		}
		v.Set(list+"."+strconv.Itoa(n)+"."+key, "")
	case strings.HasPrefix(do, "remove "+list+"."):
		row := strings.TrimPrefix(do, "remove ") + "."
		for name := range v {
			if strings.HasPrefix(name, row) {
				delete(v, name)
			}
		}
	}
	v.Del("do")
	return v
}

func (s *server) showNeed(w http.ResponseWriter, r *http.Request, status int, v url.Values, faults fault.List) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	view, name, err := s.needView(ctx, t, id, v, faults)
	if err != nil {
		return err
	}
	if len(faults) == 0 && !view.OK && status == http.StatusOK && len(view.Summary.Faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	pieces := cmp.Or(strings.TrimSpace(view.Pieces), "so many")
	if r := []rune(pieces); len(r) > 12 {
		pieces = "so many"
	}
	return needPage.Write(s.Shell, w, r, status, Head{Title: "What " + pieces + " need", Lead: name + ", taken apart, in the order of the work.",
		Actions: []Button{{Label: "The design", Href: "/designs/" + id}}}, view)
}

// wants reads the form: what is asked for, how the run is made.
func (g *gathered) wants(v url.Values, id string) (wants []design.Want, o design.Options, faults fault.List) {
	in := typed{v: v}
	count := func(field, what string) int {
		m := in.number(field, quantity.ParseNumber)
		if in.has(field) {
			return 0
		}
		if n := int(m.V); m.Known && m.V == float64(n) && n >= 0 && n <= 1_000_000 {
			return n
		}
		in.at(field, fault.Invalidf(field, "%s", what))
		return 0
	}
	// asked is a number of pieces; what cannot be read is told once.
	asked := func(field string) int {
		n := count(field, "Write how many pieces to make: a whole number from 1 to 1 000 000, as 36.")
		if n == 0 && !in.has(field) {
			in.at(field, fault.Invalidf(field, "Nothing is made of 0 pieces: write 1 or more."))
		}
		return n
	}
	if n := asked("pieces"); n > 0 {
		wants = append(wants, design.Want{Design: id, Pieces: n})
	}
	for _, n := range rowsIn(v, "also", "design") {
		d, p := v.Get(alsoField(n, "design")), strings.TrimSpace(v.Get(alsoField(n, "pieces")))
		switch {
		case d == "" && p == "":
		case d == "":
			in.at(alsoField(n, "design"), fault.Invalidf("", "Choose the design that is made beside, or take the row away."))
		default:
			if p := asked(alsoField(n, "pieces")); p > 0 {
				wants = append(wants, design.Want{Design: d, Pieces: p})
			}
		}
	}
	if in.text("over") != "" {
		o.OveragePct = in.number("over", parsePercent).V
		if !in.has("over") && !(o.OveragePct >= 0 && o.OveragePct <= 100) {
			in.at("over", fault.Invalidf("over", "Write from 0 to 100 %% of batter beyond what the pieces take."))
			o.OveragePct = 0
		}
	}
	o.Faces, o.Stock = g.t.faces(), map[string]int{}
	for name := range v {
		if e, ok := strings.CutPrefix(name, "have."); ok && g.design(e) != nil && in.text(name) != "" {
			o.Stock[e] = count(name, "Write how many are at hand: a whole number, as 12, or nothing.")
		}
	}
	return wants, o, sentences(in.faults)
}

func alsoField(n int, key string) string { return "also." + strconv.Itoa(n) + "." + key }

// needView works the form out; name is the design's.
func (s *server) needView(ctx context.Context, t trade, id string, v url.Values, refused fault.List) (view needView, name string, err error) {
	d, err := s.book.Designs.Get(ctx, id)
	if err != nil {
		return view, "", err
	}
	if !v.Has("over") && t.set.OveragePct.Known {
		v.Set("over", plainNumber(t.set.OveragePct.V))
	}
	view = needView{Action: "/designs/" + id + "/need", RunID: v.Get("run"), Pieces: v.Get("pieces"), Unit: form.MassColumn(t.set.Mass)}
	if view.RunID == "" {
		view.RunID = studio.NewID()
	}
	c, err := s.picks(ctx, t, v, id)
	if err != nil {
		return view, "", err
	}
	ids := []string{id}
	for _, n := range rowsIn(v, "also", "design") {
		if e := v.Get(alsoField(n, "design")); e != "" && FaultAt(c.faults, alsoField(n, "design")) == "" {
			ids = append(ids, e)
		}
	}
	g, err := s.gather(ctx, t, nil, ids...)
	if err != nil {
		return view, "", err
	}
	wants, o, faults := g.wants(v, id)
	faults = append(slices.Clone(c.faults), faults...)
	readable := len(faults) == 0 // what was refused of it is to be seen, all the same
	faults = append(faults, refused...)
	view.fields(t, v, faults, c)
	if readable {
		n, err := design.Explode(g.Set, wants, o)
		if err != nil {
			for _, f := range g.refused(err, id) {
				if f.Kind == fault.Internal {
					return view, "", err
				}
				view.Why = append(view.Why, partWhere(f.Field)+f.Message)
			}
			view.Why = append(g.unworked(), view.Why...)
		} else {
			view.fill(g, n)
		}
		view.have(g, v, faults, wants)
	} else {
		for _, f := range faults {
			view.Why = append(view.Why, f.Message)
		}
		view.have(g, v, faults, []design.Want{{Design: id, Pieces: 1}})
	}
	view.Summary = Summarise(faults)
	nameFaults(&view.Summary, map[string]string{"pieces": "Pieces", "over": "Beyond"})
	return view, d.Name, nil
}

// unworked says which formulas cannot be worked out.
func (g *gathered) unworked() []string {
	var out []string
	for id := range g.Faults {
		out = append(out, "“"+g.name(id)+"” cannot be worked out as it stands: open the formula and see what it needs.")
	}
	slices.Sort(out)
	return out
}

func (view *needView) fields(t trade, v url.Values, faults fault.List, c *picks) {
	view.Fields = []Field{fieldOf(v, faults, "pieces", "Pieces", "", ""), fieldOf(v, faults, "over", "Beyond that", "%", "of each batter, what spatula and jug keep")}
	row := func(n int) alsoRow {
		r := alsoRow{Num: strconv.Itoa(n), Design: c.control(alsoField(n, "design"), faults),
			Pieces: fieldOf(v, faults, alsoField(n, "pieces"), "Pieces of it, "+strconv.Itoa(n), "", "")}
		r.Pieces.Ledger = true
		return r
	}
	for _, n := range rowsIn(v, "also", "design") {
		view.Also = append(view.Also, row(n))
	}
	view.Blank, view.Picks = row(0).blank(), c
}

// have gives a field for every embed that is reached.
func (view *needView) have(g *gathered, v url.Values, faults fault.List, wants []design.Want) {
	n, err := design.Explode(g.Set, wants, design.Options{Faces: g.t.faces()})
	if err != nil {
		return
	}
	for _, e := range n.Embeds {
		f := fieldOf(v, faults, "have."+e.Design, g.name(e.Design), "", "")
		view.Have = append(view.Have, f)
	}
}

// fill writes what a need says.
func (view *needView) fill(g *gathered, n *design.Need) {
	view.OK = true
	for _, e := range n.Embeds {
		view.First = append(view.First, g.firstRow(n, e))
	}
	total := 0.0
	for i := range n.Batches {
		b := &n.Batches[i]
		if !(b.PartsG > 0) {
			continue // every pour of it is left out
		}
		total += b.MassG
		said := []string{g.mass(b.PartsG) + " in the pieces"}
		if b.OverageG > 0 {
			said = append(said, g.mass(b.OverageG)+" beyond")
		}
		if b.PotLossG > 0 {
			said = append(said, g.mass(b.PotLossG)+" stays in the pot")
		}
		view.Batches = append(view.Batches, batchRow{Href: "/formulas/" + b.Formula, Name: g.name(b.Formula), Mass: g.massNumber(b.MassG),
			Aside: "about " + g.volume(b.VolumeML) + ": " + strings.Join(said, ", ")})
		view.Vessels = append(view.Vessels, g.vessels(b)...)
		if !g.isMelt(b.Formula) {
			view.Alkali = true
		} else if view.Heat == nil {
			for i, c := range bench.HeatCautions() {
				if i < 2 { // the rest stand at the step
					view.Heat = append(view.Heat, Caution{Text: c.Text})
				}
			}
		}
	}
	view.Total = g.massNumber(total)
	var missing []string
	view.Steps, missing = g.steps(n)
	view.Missing = strings.Join(missing, ", ")
	for _, c := range n.Cavities {
		view.Moulds = append(view.Moulds, g.mouldNeed(c))
	}
	for _, it := range n.Items {
		row := itemNeed{Name: it.Item}
		var much []string
		if it.Count > 0 {
			much = append(much, quantity.Number(it.Count, 0))
		}
		if it.MassG > 0 {
			much = append(much, g.mass(it.MassG))
		}
		row.Much = strings.Join(much, " and ")
		if it.Wrap {
			view.Wraps = append(view.Wraps, row)
		} else {
			view.Items = append(view.Items, row)
		}
	}
	view.Findings = Footnotes(finding.Once(n.Findings))
	view.Stop = view.Findings.Stops()
}

func (g *gathered) isMelt(id string) bool {
	r := g.Results[id]
	return r != nil && r.Formula.Method == formula.Melt
}

func (g *gathered) firstRow(n *design.Need, e design.EmbedNeed) firstRow {
	r := firstRow{Href: "/designs/" + e.Design, Name: g.name(e.Design), Make: quantity.Number(float64(e.Pieces), 0)}
	var said []string
	for _, w := range e.For {
		said = append(said, quantity.Number(float64(w.Pieces), 0)+" for "+g.name(w.Design))
	}
	if e.Stock > 0 {
		said = append(said, quantity.Number(float64(e.Stock), 0)+" at hand")
	}
	r.Aside = strings.Join(said, ", ")
	if e.Pieces == 0 {
		return r
	}
	p := n.Piece(e.Design)
	var of []string
	for _, q := range p.Parts {
		if q.Kind.Batter() {
			of = append(of, g.mass(q.MassG*float64(p.Net))+" of "+listed(g.name(q.Formula), q.Portion))
		}
	}
	r.Batches = strings.Join(of, "; ")
	r.Mould = countOf(p.Cavities, "cavity", "cavities") + " of " + g.name(g.design(e.Design).Mould)
	return r
}

func countOf(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return quantity.Number(float64(n), 0) + " " + many
}

// vessels are what a batch is divided into, in pour order.
func (g *gathered) vessels(b *design.BatchNeed) []vesselRow {
	var out []vesselRow
	for i, v := range b.Vessels {
		if !(v.BatterG > 0) {
			continue
		}
		r := vesselRow{Name: v.Portion, Mass: g.massNumber(v.BatterG), Aside: listed(v.Stage.Words(), "about "+g.volume(v.VolumeML))}
		if v.Portion == "" {
			r.Name, r.Aside = g.name(b.Formula), listed("undivided, from the pot", r.Aside)
		} else if i == 0 || b.Vessels[i-1].Portion == "" {
			r.Of = g.name(b.Formula)
		}
		for _, c := range v.Colourants {
			r.Colours = append(r.Colours, colourRow{Name: c.Name, Mass: doseSaid(g, c)})
		}
		out = append(out, r)
	}
	return out
}

// doseSaid is a dose in the maker's own measure, and in grams.
func doseSaid(g *gathered, c design.DoseNeed) string {
	said := quantity.Mass(c.MassG, g.t.set.Mass, min(g.t.division(nil), 0.1))
	if t := c.Typed; t.GramsPerTsp > 0 {
		said += " (" + quantity.Number(c.MassG/t.GramsPerTsp, 1) + " tsp)"
	}
	return said
}

func (g *gathered) mouldNeed(c design.CavityNeed) mouldNeed {
	r := mouldNeed{Href: "/moulds/" + c.Mould, Name: g.name(c.Mould), Needed: quantity.Number(float64(c.Needed), 0)}
	m := g.mould(c.Mould)
	r.Own = quantity.Number(float64(m.All()), 0)
	r.Rounds, r.Short = strconv.Itoa(c.Rounds), c.Rounds > 1
	said := []string{g.volume(c.VolumeML) + " in each"}
	if bars := m.Bars(); bars > 1 {
		said = append(said, "cut into "+strconv.Itoa(bars))
	}
	if m.ReleaseHours.Known && c.Rounds > 1 {
		said = append(said, "free again "+quantity.Number(m.ReleaseHours.V, 0)+quantity.UnitSpace+"h after each pour")
	}
	r.Aside = strings.Join(said, ", ")
	return r
}

// steps are what is done, in order. Missing are the pours of which nothing can be
// said, as the levels of their piece contradict each other.
func (g *gathered) steps(n *design.Need) (out []needStep, missing []string) {
	last := ""
	for _, x := range n.Steps(g.Set) {
		part := &g.design(x.Design).Parts[x.Part-1]
		if x.Pour != nil && !(x.Pour.EachG > 0) {
			missing = append(missing, cmp.Or(part.Name, listed(g.name(part.Formula), part.Portion))+" of "+g.name(x.Design))
			continue
		}
		var st needStep
		if x.Pour != nil {
			st = g.pourStep(x.Pour, part)
		} else {
			st = g.betweenStep(n.Piece(x.Design), part)
		}
		st.Wait, st.Note, st.Reminders = part.Wait.Words(), part.Note, part.Reminders
		if x.Design != last {
			st.Design, last = g.name(x.Design), x.Design
		}
		out = append(out, st)
	}
	return out, missing
}

// pourStep is one batter going into its cavities, or onto the pieces.
func (g *gathered) pourStep(p *design.PourStep, part *design.Part) needStep {
	what := listed(g.name(p.Formula), p.Portion)
	st := needStep{Each: g.mass(p.EachG) + " each", Text: fmt.Sprintf("Pour %s into %s of %s", what, countOf(p.Cavities, "cavity", "cavities"), g.name(p.Mould))}
	if p.Kind == design.Piping {
		st.Text = fmt.Sprintf("Pipe %s onto %s", what, countOf(p.Cavities, "piece", "pieces"))
	}
	level := ""
	if p.ToPct.Known {
		level = "to " + quantity.Percent(p.ToPct.V, 0) + " of the cavity" + heightSaid(g.t, g.mould(p.Mould), p.ToPct.V)
	}
	st.Aside = listed(part.Name, p.Stage.Words(), level, g.mass(p.TotalG)+" in all")
	return st
}

// betweenStep is what is set, strewn or wrapped between two pours.
func (g *gathered) betweenStep(p *design.PieceNeed, part *design.Part) needStep {
	cavities := countOf(p.Cavities, "cavity", "cavities")
	switch part.Kind {
	case design.Embed:
		return needStep{Text: fmt.Sprintf("Set %s into %s", g.name(part.Design), cavities), Each: quantity.Number(part.Count.V, 0) + " in each",
			Aside: listed(part.Name, lies(part))}
	case design.Wrap:
		return needStep{Text: fmt.Sprintf("Pack in %s, %s", part.Item, countOf(p.Net, "piece", "pieces")), Each: g.eachOf(part), Aside: part.Name}
	}
	return needStep{Text: fmt.Sprintf("Strew %s, %s", part.Item, cavities), Each: g.eachOf(part), Aside: part.Name}
}

// heightSaid is where a level lies in the cavity, measured from its foot; ""
// where that is not known.
func heightSaid(t trade, m *mould.Mould, pct float64) string {
	if m == nil {
		return ""
	}
	mm, err := m.LevelAt(pct)
	if err != nil {
		return ""
	}
	return ", " + quantity.Length(mm, t.set.Length) + " up"
}

func (g *gathered) eachOf(p *design.Part) string {
	switch {
	case p.MassG.Known:
		return g.mass(p.MassG.V) + " each"
	case p.Count.Known:
		return quantity.Number(p.Count.V, 0) + " each"
	}
	return ""
}
