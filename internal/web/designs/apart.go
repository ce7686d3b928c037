package designs

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"barwright/bench"
	"barwright/design"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
)

// apart is what a number of pieces need, in the order of the work.
type apart struct {
	Stop bool // it cannot be built as it stands
	// Missing are the pours that cannot be worked out while something stops it.
	Missing  string
	First    shell.List // embeds to cast before
	Batches  shell.List
	Unit     string
	Vessels  []vesselRow
	Steps    []needStep
	Moulds   shell.List
	Items    shell.List
	Findings shell.Findings
	Alkali   bool            // a batch is made with lye
	Heat     []shell.Caution // where a batch is melted
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

// apart says what a need takes apart.
func (g *gathered) apart(n *design.Need) *apart {
	a := &apart{Unit: form.MassColumn(g.Settings.Mass), Findings: shell.Footnotes(finding.Once(n.Findings))}
	a.Stop = a.Findings.Stops()
	a.First = shell.List{Caption: "Embeds to cast before", Title: "Embed", Columns: []shell.Column{{Label: "make"}}}
	for _, e := range n.Embeds {
		a.First.Rows = append(a.First.Rows, g.firstRow(n, e))
	}
	a.Batches = shell.List{Caption: "Batches", Title: "Batch", Columns: []shell.Column{{Label: "batter, " + a.Unit}},
		Sum: &shell.ListRow{Name: "All of it", Cells: []shell.Cell{{Value: g.massNumber(n.BatterG())}}}}
	for i := range n.Batches {
		b := &n.Batches[i]
		if !(b.PartsG > 0) {
			continue // every pour of it is left out
		}
		a.Batches.Rows = append(a.Batches.Rows, g.batchRow(b))
		a.Vessels = append(a.Vessels, g.vessels(b)...)
		if !g.isMelt(b.Formula) {
			a.Alkali = true
		} else if a.Heat == nil {
			for _, c := range bench.HeatCautions()[:2] { // the rest stand at the step
				a.Heat = append(a.Heat, shell.Caution{Text: c.Text})
			}
		}
	}
	var missing []string
	a.Steps, missing = g.steps(n)
	a.Missing = strings.Join(missing, ", ")
	a.Moulds = shell.List{Caption: "Cavities needed, and those on the shelf", Title: "Mould",
		Columns: []shell.Column{{Label: "cavities"}, {Label: "on the shelf"}, {Label: "rounds"}}}
	for _, c := range n.Cavities {
		a.Moulds.Rows = append(a.Moulds.Rows, g.mouldRow(c))
	}
	a.Items = shell.List{Caption: "What is sprinkled on, and what the pieces are packed in", Title: "What", Columns: []shell.Column{{Label: "in all"}}}
	for _, wraps := range []bool{false, true} {
		for _, it := range n.Items {
			if it.Wrap == wraps {
				a.Items.Rows = append(a.Items.Rows, g.itemRow(it))
			}
		}
	}
	return a
}

// listRow is a row of a table with one large number.
func listRow(href, name, number string, aside ...string) shell.ListRow {
	return shell.ListRow{Href: href, Name: name, Aside: aside, Cells: []shell.Cell{{Value: number, Plain: true}}}
}

// whole is a number without decimals.
func whole(n int) string { return quantity.Number(float64(n), 0) }

func (g *gathered) isMelt(id string) bool {
	r := g.Results[id]
	return r != nil && r.Formula.Method == formula.Melt
}

func (g *gathered) firstRow(n *design.Need, e design.EmbedNeed) shell.ListRow {
	var said []string
	for _, w := range e.For {
		said = append(said, whole(w.Pieces)+" for "+g.name(w.Design))
	}
	if e.Stock > 0 {
		said = append(said, whole(e.Stock)+" at hand")
	}
	r := listRow("/designs/"+e.Design, g.name(e.Design), whole(e.Pieces), listed(said...))
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
	r.Aside = append(r.Aside, words.Count(p.Cavities, "cavity", "cavities")+" of "+g.name(g.design(e.Design).Mould), strings.Join(of, "; "))
	return r
}

func (g *gathered) batchRow(b *design.BatchNeed) shell.ListRow {
	return listRow("/formulas/"+b.Formula, g.name(b.Formula), g.massNumber(b.MassG),
		"about "+g.volume(b.VolumeML)+": "+listed(g.mass(b.PartsG)+" in the pieces", g.more(b.OverageG, " overage"), g.more(b.PotLossG, " stays in the pot")))
}

// more is a mass and what it is; "" for none.
func (g *gathered) more(grams float64, what string) string {
	if !(grams > 0) {
		return ""
	}
	return g.mass(grams) + what
}

func (g *gathered) mouldRow(c design.CavityNeed) shell.ListRow {
	m := g.mould(c.Mould)
	said := []string{g.volume(c.VolumeML) + " in each"}
	if bars := m.Bars(); bars > 1 {
		said = append(said, "cut into "+strconv.Itoa(bars))
	}
	if m.ReleaseHours.Known && c.Rounds > 1 {
		said = append(said, "free again "+quantity.Number(m.ReleaseHours.V, 0)+quantity.UnitSpace+"h after each pour")
	}
	return shell.ListRow{Href: "/moulds/" + c.Mould, Name: g.name(c.Mould), Aside: []string{listed(said...)},
		Cells: []shell.Cell{{Value: whole(c.Needed)}, {Value: whole(m.All())}, {Value: strconv.Itoa(c.Rounds)}}}
}

func (g *gathered) itemRow(it design.ItemNeed) shell.ListRow {
	var much []string
	if it.Count > 0 {
		much = append(much, quantity.Number(it.Count, 0))
	}
	if it.MassG > 0 {
		much = append(much, g.mass(it.MassG))
	}
	r := shell.ListRow{Name: it.Item, Cells: []shell.Cell{{Value: strings.Join(much, " and ")}}}
	if it.Wrap {
		r.Aside = []string{"packing"}
	}
	return r
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
	said := quantity.Mass(c.MassG, g.Settings.Mass, min(g.faces.Division(nil), 0.1))
	if t := c.Typed; t.GramsPerTsp > 0 {
		said += " (" + quantity.Number(c.MassG/t.GramsPerTsp, 1) + " tsp)"
	}
	return said
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
	st := needStep{Each: g.mass(p.EachG) + " each",
		Text: fmt.Sprintf("Pour %s into %s of %s", what, words.Count(p.Cavities, "cavity", "cavities"), g.name(p.Mould))}
	if p.Kind == design.Piping {
		st.Text = fmt.Sprintf("Pipe %s onto %s", what, words.Count(p.Cavities, "piece", "pieces"))
	}
	level := ""
	if p.ToPct.Known {
		level = "to " + quantity.Percent(p.ToPct.V, 0) + " of the cavity" + g.heightSaid(p.Mould, p.ToPct.V)
	}
	st.Aside = listed(part.Name, p.Stage.Words(), level, g.mass(p.TotalG)+" in all")
	return st
}

// betweenStep is what is set, strewn or wrapped between two pours.
func (g *gathered) betweenStep(p *design.PieceNeed, part *design.Part) needStep {
	cavities := words.Count(p.Cavities, "cavity", "cavities")
	onto := cavities
	if g.piped(p.Design, part) { // what is piped onto has been unmoulded
		onto = words.Count(p.Cavities, "piece", "pieces")
	}
	switch part.Kind {
	case design.Embed:
		return needStep{Text: fmt.Sprintf("Set %s into %s", g.name(part.Design), cavities), Each: quantity.Number(part.Count.V, 0) + " in each",
			Aside: listed(part.Name, lies(part))}
	case design.Wrap:
		return needStep{Text: fmt.Sprintf("Pack in %s, %s", part.Item, words.Count(p.Net, "piece", "pieces")), Each: g.eachOf(part), Aside: part.Name}
	}
	return needStep{Text: fmt.Sprintf("Strew %s onto %s", part.Item, onto), Each: g.eachOf(part), Aside: part.Name}
}

// piped reports whether something was piped onto the pieces before a part goes on.
func (g *gathered) piped(id string, part *design.Part) bool {
	parts := g.design(id).Parts
	for i := range parts {
		if &parts[i] == part {
			return false
		}
		if parts[i].Kind == design.Piping {
			return true
		}
	}
	return false
}

// heightSaid is where a level lies in the cavity, measured from its foot; ""
// where that is not known.
func (g *gathered) heightSaid(id string, pct float64) string {
	m := g.mould(id)
	if m == nil {
		return ""
	}
	mm, err := m.LevelAt(pct)
	if err != nil {
		return ""
	}
	return ", " + quantity.Length(mm, g.Settings.Length) + " up"
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
