package bench

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/quantity"
)

// longWait, in min, is a wait before a pour that is so long that the batch is
// made after it and not before. Common practice, no source.
const longWait = 240.0

// dayMin is a day in min. A wait of that or more begins a new day.
const dayMin = 24 * 60.0

// rawWait, in min, is how long raw batter may stand between two of its pours
// before the run warns. Common practice, no source.
const rawWait = 45.0

var (
	rawBatter = lye.Caution{Key: "raw-batter", When: lye.Pouring,
		Text: "Raw batter is still lye: goggles and gloves stay on until everything is washed up.", Source: practice}
	freshSoap = lye.Caution{Key: "fresh-soap", When: lye.Pouring,
		Text: "Fresh soap can still burn skin: unmould, cut and stack it in gloves.", Source: practice}
)

// lyeAt are the cautions above the step that makes a batch with lye. The others
// are on the batch's own sheet.
func lyeAt() []lye.Caution {
	these, _ := byKey(lye.Cautions(), "wear", "air", "others", "sheet", "water-first", "splash-skin", "splash-eye")
	return these
}

// day is a part of the run as it is being written.
type day struct {
	*runner
	Day
	level int
	made  map[string]bool // batches by letter
	next  map[string]int  // by design: the next part, from 1
	// waited is how long each design has been left so far, min; only waits of a
	// day or more count. at has, for every step, how many days after this day it
	// is done.
	waited map[string]float64
	closed map[string]bool // designs that were covered
	// under is the caution about what lies in or under a design so far: raw batter,
	// or soap that is still fresh.
	under map[string]lye.Caution
	at    []int
}

func (m *runner) days() {
	deep := m.deepest()
	for level := deep; level >= 0; level-- {
		d := Day{Key: dayKey(level), Title: "On the day"}
		if level > 0 {
			d.Title, d.Aside = "On an earlier day", "Cast the embeds now, so that they are firm when you set them in."
			if deep > 1 {
				d.Title += fmt.Sprintf(", %d of %d", deep-level+1, deep)
			}
		}
		m.r.Days = append(m.r.Days, m.oneDay(d, level)...)
	}
	if later := m.later(); len(later.Steps) > 0 {
		m.r.Days = append(m.r.Days, later)
	}
	n := 0
	for i := range m.r.Days {
		d := &m.r.Days[i]
		for k := range d.Steps {
			n++
			d.Steps[k].N = n
		}
		for k := range m.r.Batches {
			if slices.Contains(d.Batches, m.r.Batches[k].Letter) {
				m.r.Batches[k].Day = d.Key
			}
		}
	}
}

// add appends a step, on the day that its design has reached.
func (d *day) add(s RunStep) { d.addFor(s.Design, s) }

// addFor appends a step that serves a design but is not one of its own steps.
func (d *day) addFor(id string, s RunStep) {
	s.Text = words.Sentence(s.Text)
	if s.WaitMin.V >= dayMin && s.WaitMin.Known {
		d.waited[id] += s.WaitMin.V
	}
	d.Steps = append(d.Steps, s)
	d.at = append(d.at, daysAfter(d.waited[id]))
}

// beware adds to a step the caution about what its design consists of so far.
func (d *day) beware(s *RunStep) {
	c, ok := d.under[s.Design]
	if !ok || slices.ContainsFunc(s.Cautions, func(o lye.Caution) bool { return o.Key == rawBatter.Key || o.Key == c.Key }) {
		return
	}
	s.Cautions = append(s.Cautions, c)
}

// daysAfter is how many days after the beginning something is done that waits so
// many minutes. They are whole days, because work continues in the morning.
func daysAfter(minutes float64) int { return int(math.Ceil(minutes/dayMin - 1e-9)) }

// parted divides the steps by the days on which they are done.
func (d *day) parted() []Day {
	after := map[int]*Day{}
	for i, s := range d.Steps {
		n := d.at[i]
		to := after[n]
		if to == nil {
			to = &Day{Key: d.Key, Title: d.Title, Aside: d.Aside}
			if n > 0 {
				to.Key, to.Title, to.Aside = fmt.Sprintf("%s-after-%d", d.Key, n), "The day after", ""
				if n > 1 {
					to.Title = quantity.Number(float64(n), 0) + " days later"
				}
				if d.level > 0 {
					to.Aside = "Still the embeds. They are set in on a later day."
				}
			}
			after[n] = to
		}
		if s.Kind == "make" {
			to.Batches = append(to.Batches, s.Batch)
		}
		to.Steps = append(to.Steps, s)
	}
	var out []Day
	for _, n := range slices.Sorted(maps.Keys(after)) {
		out = append(out, *after[n])
	}
	return out
}

// daysOf is how many days after the beginning of its design a pour is done.
func (m *runner) daysOf(p design.PourStep) int {
	sum := 0.0
	for _, q := range m.set.Design(p.Design).Parts[:p.Part] {
		if w := q.Wait.Minutes; w.Known && w.V >= dayMin && q.Kind != design.Wrap {
			sum += w.V
		}
	}
	return daysAfter(sum)
}

// sequence is every pour of one day, and of the days that follow it after long
// waits, in working order.
func (m *runner) sequence(level int) []design.PourStep {
	var left, out []design.PourStep
	for _, p := range m.in.Need.Pours {
		if m.level[p.Design] == level {
			left = append(left, p)
		}
	}
	for len(left) > 0 {
		at, days := 0, math.MaxInt
		for i, p := range left {
			if n := m.daysOf(p); n < days && m.may(p, left) {
				at, days = i, n
			}
		}
		out = append(out, left[at])
		left = append(left[:at:at], left[at+1:]...)
	}
	return out
}

// oneDay is every pour of one day in the order of the need. Each design's parts
// are in their own order, and embeds of the same day come before what takes them.
// What waits for a day or more, and what follows it, is on a day of its own.
func (m *runner) oneDay(of Day, level int) []Day {
	d := &day{runner: m, Day: of, level: level, made: map[string]bool{}, next: map[string]int{}, waited: map[string]float64{},
		closed: map[string]bool{}, under: map[string]lye.Caution{}}
	seq := m.sequence(level)
	for i, p := range seq {
		d.between(p.Design, p.Part)
		d.pour(p)
		d.next[p.Design] = p.Part + 1
		d.between(p.Design, math.MaxInt)
		if !d.out[p.Design] && d.rests(p, seq[i+1:]) {
			d.close(p.Design)
		}
	}
	// A design without batter is built from embeds alone.
	on := m.toMake(func(l int) bool { return l == level })
	for _, p := range on {
		if d.next[p.Design] == 0 {
			d.between(p.Design, math.MaxInt)
		}
	}
	for _, p := range on {
		if level > 0 && !d.out[p.Design] {
			d.unmould(p, nil)
		}
	}
	return d.parted()
}

// toMake are the pieces to make of the designs that are cast on some level.
func (m *runner) toMake(on func(level int) bool) (out []*design.PieceNeed) {
	for i := range m.in.Need.Pieces {
		if p := &m.in.Need.Pieces[i]; p.Net > 0 && on(m.level[p.Design]) {
			out = append(out, p)
		}
	}
	return out
}

// rests reports whether a design is left alone after a pour. It is if it is
// finished, or if the next part is piped onto it, out of its mould, on another
// day.
func (d *day) rests(p design.PourStep, left []design.PourStep) bool {
	for _, q := range left {
		if q.Design == p.Design {
			return q.Kind == design.Piping && d.daysOf(q) > d.daysOf(p) && d.releases(q.Design, q.Wait.Minutes)
		}
	}
	return true
}

// may reports whether p may be poured now: nothing that must come before it is
// still to be poured.
func (m *runner) may(p design.PourStep, left []design.PourStep) bool {
	before := m.set.Design(p.Design).Parts[:p.Part-1]
	return !slices.ContainsFunc(left, func(q design.PourStep) bool {
		return q.Design == p.Design && q.Part < p.Part ||
			slices.ContainsFunc(before, func(b design.Part) bool { return b.Kind == design.Embed && b.Design == q.Design })
	})
}

// between adds the steps of parts that are not batter, from where the design
// stands up to the part before upTo or the next batter.
func (d *day) between(id string, upTo int) {
	e, n := d.set.Design(id), d.pieces[id]
	for i := max(d.next[id], 1); i <= len(e.Parts) && i < upTo; i++ {
		p := &e.Parts[i-1]
		if p.Kind.Batter() {
			return
		}
		d.next[id] = i + 1
		switch p.Kind {
		case design.Embed:
			d.embed(id, i, p, n)
		case design.Sprinkle:
			d.sprinkle(id, i, p, n)
		}
	}
}

func (d *day) step(kind, id string, part int, p *design.Part) RunStep {
	s := RunStep{Kind: kind, Design: id, DesignName: d.designName(id), Part: part}
	if p != nil {
		s.PartName, s.Note, s.Reminders = partName(p), p.Note, p.Reminders
		s.Wait, s.WaitMin = waitWords(p.Wait), p.Wait.Minutes
	}
	return s
}

// waitWords is a wait as a sentence, or "" if there is none.
func waitWords(w design.Wait) string {
	until := strings.TrimSpace(w.Until)
	switch least := w.Minutes.Known && w.Minutes.V > 0; {
	case least && until != "":
		return "Wait at least " + lasting(w.Minutes.V) + ", until " + until
	case least:
		return "Wait at least " + lasting(w.Minutes.V)
	case until != "":
		return "Wait until " + until
	}
	return ""
}

// lasting is a time in the unit that a clock shows.
func lasting(minutes float64) string {
	minutes = math.Ceil(minutes) // round first: otherwise 179.5 would be 2 h 60 min
	switch {
	case minutes < 60:
		return quantity.Number(minutes, 0) + quantity.UnitSpace + "min"
	case minutes < 48*60:
		h := math.Floor(minutes / 60)
		t := quantity.Number(h, 0) + quantity.UnitSpace + "h"
		if left := minutes - 60*h; left > 0 {
			t += " " + quantity.Number(left, 0) + quantity.UnitSpace + "min"
		}
		return t
	}
	return quantity.Number(math.Ceil(minutes/60/24*10)/10, decimalsOf(minutes/60/24)) + " days"
}

func decimalsOf(v float64) int {
	if v == math.Floor(v) {
		return 0
	}
	return 1
}

// each is the amount that goes into or onto each of a number of cavities or
// pieces. Each is weighed to a step of the scale, and the total is that many of it.
func (h *Head) each(g float64, of int) *Amount {
	g = h.weighed(g)
	total := g * float64(of)
	return &Amount{Each: h.near(g), Total: h.near(total), EachG: g, TotalG: total, Of: of}
}

func (d *day) pour(p design.PourStep) {
	part := d.part(p.Design, p.Part)
	b := d.batches[d.keyOf(p)]
	s := d.step(p.Kind.String(), p.Design, p.Part, part)
	if s.Wait == "" {
		s.Wait, s.WaitMin = waitWords(p.Wait), p.Wait.Minutes
	}
	if p.Kind == design.Piping {
		d.release(p.Design, &s)
	}
	s.Vessel = p.Portion
	head := &d.r.Head
	if b != nil {
		rb := &d.r.Batches[b.at]
		s.Batch, head = rb.Letter, &rb.Sheet.Head
		d.make(rb, &s, p.Stage == formula.Dough)
		switch {
		case rb.Lye && rb.Sheet.Method == formula.Cold:
			s.Cautions = append(s.Cautions, rawBatter)
		case !rb.Lye:
			s.Cautions = append(s.Cautions, heatFor("heat-wear", "heat-spirit")...)
		}
		d.beware(&s)
		switch raw := rb.Sheet.Method == formula.Cold; {
		case rb.Lye && raw:
			d.under[p.Design] = rawBatter
		case rb.Lye && d.under[p.Design].Key == "":
			d.under[p.Design] = freshSoap
		}
	}
	s.Amount = head.each(p.EachG, p.Cavities)
	s.Amount.EachML = p.EachML
	s.Read, s.Unit = "at", ""
	from := d.formulaName(p.Formula)
	if s.Batch != "" {
		from = s.Batch + ", " + from
	}
	if p.Portion != "" {
		from += ", vessel " + p.Portion
	}
	if p.Kind == design.Piping {
		s.Text = fmt.Sprintf("Pipe: %s, from %s. %s onto %s", partOf(part, s.DesignName), from, s.Amount.Each, d.eachOf(p.Design, p.Cavities))
	} else {
		verb := "Pour"
		if p.Stage == formula.Dough {
			verb = "Press"
		}
		in := " in each"
		if p.Cavities == 1 {
			in = " in it"
		}
		s.Text = fmt.Sprintf("%s: %s, from %s. %s of %s, %s%s", verb, partOf(part, s.DesignName), from,
			words.Count(p.Cavities, "cavity", "cavities"), d.mouldName(p.Mould), s.Amount.Each, in)
	}
	if b != nil && p.Stage != formula.Dough {
		if stage := at(d.r.Batches[b.at].Sheet.Method, p.Stage); stage != "" {
			s.Text += ", " + stage
		}
	}
	if p.ToPct.Known && p.Kind != design.Piping {
		s.Amount.LevelPct = p.ToPct
		s.Amount.Level = "to " + quantity.Percent(p.ToPct.V, decimalsOf(quantity.RoundTo(p.ToPct.V, 0.1))) + d.deep(p.Mould, p.ToPct.V)
		s.Text += ", " + s.Amount.Level
	}
	if p.Cavities > 1 {
		s.Text += "; " + s.Amount.Total + " in all"
	}
	d.add(s)
}

// eachOf is "each of 36 cavities", or of pieces once the design is out of its mould.
func (d *day) eachOf(id string, n int) string {
	one, several := "the cavity", "cavities"
	if d.out[id] {
		one, several = "the piece", "pieces"
	}
	if n == 1 {
		return one
	}
	return "each of " + quantity.Number(float64(n), 0) + " " + several
}

// ofEach is "each of 36", or "the one".
func ofEach(n int) string {
	if n == 1 {
		return "the one"
	}
	return "each of " + quantity.Number(float64(n), 0)
}

// deep is the depth of a level as words, if the depth of the mould is known.
func (d *day) deep(id string, pct float64) string {
	mo := d.set.Mould(id)
	mm, err := mo.LevelAt(min(pct, 100))
	if err != nil {
		return ""
	}
	return d.r.deep(mm, mo.Proportional())
}

// make adds the making of a batch before its first pour. If that pour waits for
// long, the batch is made only after the wait. A dough is the exception: it is
// made first, and then it waits.
func (d *day) make(rb *RunBatch, pour *RunStep, dough bool) {
	wait := pour.WaitMin.Or(0)
	if d.made[rb.Letter] {
		if rb.Lye && rb.Sheet.Method == formula.Cold && wait > rawWait && !dough && !d.raw[rb.Letter] {
			d.raw[rb.Letter] = true
			d.r.Warns = append(d.r.Warns, waits(rb, pour, wait))
		}
		return
	}
	d.made[rb.Letter] = true
	s := RunStep{Kind: "make", Batch: rb.Letter, Read: "ready at"}
	what := "Make"
	if rb.Lye {
		s.Cautions = lyeAt()
	} else {
		what = "Melt"
		s.Cautions = heatFor("heat-wear", "heat-gentle", "heat-burn")
	}
	if wait >= longWait && !dough {
		s.Wait, s.WaitMin = pour.Wait, pour.WaitMin
		pour.Wait, pour.WaitMin = "", quantity.Maybe{}
	}
	s.Text = fmt.Sprintf("%s batch %s by its own sheet: %s, %s", what, rb.Letter, rb.Name, rb.Mass)
	switch n := len(rb.Sheet.Vessels); {
	case !rb.Sheet.portioned():
	case n == 1:
		s.Text += ", all of it into one vessel, " + rb.Sheet.Vessels[0].Name
	default:
		s.Text += ", divided into " + words.Count(n, "vessel", "vessels")
	}
	d.addFor(pour.Design, s)
}

func (d *day) embed(id string, n int, p *design.Part, need *design.PieceNeed) {
	s := d.step("embed", id, n, p)
	count := int(p.Count.Or(1))
	e := d.designName(p.Design)
	if p.Name == "" {
		s.PartName = e
	}
	if need.Cavities == 1 {
		s.Text = fmt.Sprintf("Set in: %s, %d in the cavity of %s", e, count, s.DesignName)
	} else {
		s.Text = fmt.Sprintf("Set in: %s, %d in each of %d cavities of %s, %d in all", e, count, need.Cavities, s.DesignName, count*need.Cavities)
	}
	proud := 100 - p.SunkPct - p.CoveredPct
	pc := func(v float64) string { return quantity.Percent(v, decimalsOf(quantity.RoundTo(v, 0.1))) }
	switch {
	case p.SunkPct >= 100-1e-9:
		s.Text += ". Sink it whole"
	case p.SunkPct > 0:
		s.Text += ". Sink " + pc(p.SunkPct) + " of it" + d.sunk(p)
	case d.poured(id, n):
		s.Text += ". Set it on top and do not sink it"
	default:
		s.Text += ". Set it on the bottom of the empty cavity"
	}
	if p.CoveredPct > 0 {
		s.Text += "; what follows covers " + pc(p.CoveredPct)
	}
	if proud > 1e-9 && p.SunkPct > 0 {
		s.Text += "; " + pc(proud) + " stands proud"
	}
	s.Amount = &Amount{Of: need.Cavities}
	d.beware(&s)
	s.Read = "at"
	d.add(s)
}

// poured reports whether there is batter in a design's cavity before its part n.
func (m *runner) poured(id string, n int) bool {
	return slices.ContainsFunc(m.set.Design(id).Parts[:n-1], func(p design.Part) bool { return p.Kind.Level() })
}

// sunk says how deep an embed sinks, in mm, taking it as it lay in its own mould.
func (d *day) sunk(p *design.Part) string {
	n, mo := d.pieces[p.Design], d.mouldOf(p.Design)
	if mo.Bars() > 1 {
		return ""
	}
	whole, err := mo.LevelFor(n.VolumeML)
	if err != nil {
		return ""
	}
	below, err := mo.LevelFor(n.VolumeML * p.SunkPct / 100)
	if err != nil {
		return ""
	}
	return ", about " + d.r.length(below) + " of its " + d.r.length(whole) + " as it was cast"
}

func (d *day) sprinkle(id string, n int, p *design.Part, need *design.PieceNeed) {
	s := d.step("sprinkle", id, n, p)
	d.release(id, &s)
	item := d.itemName(p.Item)
	if p.Name == "" {
		s.PartName = item
	}
	switch {
	case p.MassG.Known:
		s.Amount = d.r.each(p.MassG.V, need.Cavities)
		each := s.Amount.Each
		if p.MassG.V < d.r.DivisionG {
			each = little(p.MassG.V, d.r.Units.Mass)
		}
		s.Text = fmt.Sprintf("Strew: %s on %s, %s onto %s", item, s.DesignName, each, d.eachOf(id, need.Cavities))
		if need.Cavities > 1 {
			s.Text += ", " + s.Amount.Total + " in all"
		}
	default:
		c := p.Count.Or(1)
		s.Amount = &Amount{Of: need.Cavities}
		s.Text = fmt.Sprintf("Set on: %s on %s, %s onto %s", item, s.DesignName, quantity.Number(c, 0), d.eachOf(id, need.Cavities))
		if need.Cavities > 1 {
			s.Text += ", " + quantity.Number(c*float64(need.Cavities), 0) + " in all"
		}
	}
	d.beware(&s)
	d.add(s)
}

// raws reports whether a design has raw batter of a cold process, and whether any
// of its batter is made with lye.
func (m *runner) raws(id string) (cold, made bool) {
	for _, p := range m.in.Need.Pours {
		b := m.batches[m.keyOf(p)]
		if p.Design != id || b == nil {
			continue
		}
		rb := &m.r.Batches[b.at]
		made = made || rb.Lye
		cold = cold || rb.Sheet.Method == formula.Cold
	}
	return cold, made
}

// close covers a design that has been poured completely.
func (d *day) close(id string) {
	d.closed[id] = true
	s := d.step("cover", id, 0, nil)
	s.Read = "at"
	if cold, _ := d.raws(id); cold {
		s.Text = "Cover " + s.DesignName + " and leave it still. Look in after an hour, and uncover it if it swells or cracks"
	} else {
		s.Text = "Leave " + s.DesignName + " still until it has set all through"
	}
	d.add(s)
}

// releases reports whether a wait is at least as long as the design's mould
// needs.
func (m *runner) releases(id string, wait quantity.Maybe) bool {
	mo := m.mouldOf(id)
	return wait.Known && mo.Cut == nil && mo.ReleaseHours.Known && wait.V >= mo.ReleaseHours.V*60
}

// release unmoulds a design before a part that goes on top, if that part waits
// for as long as the mould needs: it is then piped or strewn onto the piece on
// the bench. A block that is to be cut stays whole until then.
func (d *day) release(id string, next *RunStep) {
	if d.out[id] || !d.releases(id, next.WaitMin) {
		return
	}
	d.out[id] = true
	if !d.closed[id] {
		d.close(id)
	}
	d.unmould(d.pieces[id], next)
	next.Wait, next.WaitMin = "", quantity.Maybe{}
}

// unmould takes a design out of its mould, and cuts it if its mould has a cutting
// plan. If the step after it waits for as long as the mould needs, that wait is
// written here and only here.
func (d *day) unmould(n *design.PieceNeed, next *RunStep) {
	mo := d.mouldOf(n.Design)
	_, made := d.raws(n.Design)
	s := d.step("unmould", n.Design, 0, nil)
	s.Read, s.Text = "at", "Unmould "+s.DesignName
	s.Amount = &Amount{Of: n.Cavities}
	if next != nil {
		s.Wait, s.WaitMin = next.Wait, next.WaitMin
	} else if mo.ReleaseHours.Known {
		s.Text += ", no sooner than " + lasting(mo.ReleaseHours.V*60) + " after the pour"
	}
	if made {
		s.Cautions = []lye.Caution{freshSoap}
		d.under[n.Design] = freshSoap
	}
	d.add(s)
	c := mo.Cut
	if c == nil {
		return
	}
	s = d.step("cut", n.Design, 0, nil)
	s.Read, s.Unit = "bars", ""
	s.Amount = &Amount{Of: n.Net}
	s.Text = fmt.Sprintf("Cut each block of %s into %s: %d along, %d across, %s", s.DesignName,
		words.Count(mo.Bars(), "bar", "bars"), c.Along, c.Across, words.Count(c.Layers, "layer", "layers"))
	var off []string
	for _, t := range []struct {
		what string
		mm   float64
	}{{"each end", c.EndMM}, {"each side", c.SideMM}, {"the top", c.TopMM}} {
		if t.mm > 0 {
			off = append(off, d.r.length(t.mm)+" off "+t.what)
		}
	}
	if len(off) > 0 {
		s.Text += ". Trim " + words.List(off)
	}
	d.add(s)
}

// later is what comes after the day: unmoulding, curing and wrapping.
func (m *runner) later() Day {
	d := &day{runner: m, Day: Day{Key: "later", Title: "Afterwards"}, waited: map[string]float64{}, under: map[string]lye.Caution{}}
	on := m.toMake(func(level int) bool { return level == 0 })
	for _, p := range on {
		if !m.out[p.Design] {
			d.unmould(p, nil)
		}
		if _, made := m.raws(p.Design); made {
			s := d.step("cure", p.Design, 0, nil)
			s.Text, s.Read = "Set "+s.DesignName+" to cure, open and apart, with the code on the tray", "on"
			d.add(s)
		}
	}
	for _, b := range m.r.Batches {
		if b.Sheet.Test {
			d.add(RunStep{Kind: "test", Batch: b.Letter, Text: "Batch " + b.Letter + ", " + b.Name + ". " + TestNote, Read: "found"})
		}
	}
	for _, n := range append(on, m.toMake(func(level int) bool { return level > 0 })...) {
		e := m.set.Design(n.Design)
		for i := range e.Parts {
			p := &e.Parts[i]
			if p.Kind != design.Wrap {
				continue
			}
			s := d.step("wrap", n.Design, i+1, p)
			item := m.itemName(p.Item)
			each := quantity.Number(p.Count.Or(1), 0)
			if p.MassG.Known {
				s.Amount = m.r.each(p.MassG.V, n.Net)
				each = s.Amount.Each
			} else {
				s.Amount = &Amount{Of: n.Net}
			}
			when := "Wrap once it has set all through"
			if _, made := m.raws(n.Design); made {
				when = "Wrap when it has cured"
			}
			s.Text = fmt.Sprintf("%s: %s, %s for %s %s", when, item, each, ofEach(n.Net), s.DesignName)
			if p.Closed {
				s.Text += "; it keeps moisture in"
			}
			d.add(s)
		}
	}
	return d.Day
}
