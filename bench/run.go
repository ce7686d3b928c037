package bench

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

// Judge returns the superfat of a batch at its size, and the findings about it.
type Judge func(formulaID string, r *soap.Result) (soap.Superfat, []finding.Finding)

// RunInput is what the sheets of a whole run are made from.
type RunInput struct {
	Need *design.Need
	Set  *design.Set // what Need was worked out from: names, moulds, parts
	// Results are the formulas by id, worked out at any size. Each is worked out
	// again at the mass of its batch.
	Results   map[string]*soap.Result
	Catalogue *catalogue.Catalogue // the studio's; nil takes the built-in one
	// Judge is asked for each batch. nil takes the first-order superfat and
	// soap's own limits.
	Judge    Judge
	Findings []finding.Finding // about the whole, in addition to those of Need
	Versions map[string]int    // of the formulas, by id
	Items    map[string]string // names of what is strewn or wrapped, by id; otherwise the catalogue's

	// Head is what the caller knows of it: the code of the run (its batches are
	// CODE-A, CODE-B …), date, studio and units.
	Head
}

// Run is a run as a finished value: what to have ready, what to do in which
// order, and the sheet of each batch.
type Run struct {
	Head
	What                []Thing // the pieces asked for
	Stops, Warns, Notes []finding.Finding
	// Ready lists what to have ready, by kind; no group is empty.
	Ready   []Group
	Days    []Day // in order; none is empty
	Batches []RunBatch
	// Cautions are those about lye, Heat those about hot melts, as far as the run
	// needs them.
	Cautions, Heat []lye.Caution
	Foot           string
}

// Group is one kind of thing to have ready.
type Group struct {
	Key    string // moulds, embeds, vessels, items, packaging, tools, reminders
	Title  string
	Things []Thing
}

// Thing is one thing to have ready, or to make.
type Thing struct {
	ID    string // id of a mould, design or item; may be empty
	Name  string
	N     float64 // how many; 0 if it is not counted
	Text  string  // the whole as one line
	Aside string  // small, next to it; may be empty
}

// Day is a part of the run that is done at one time.
type Day struct {
	Key     string // … earlier-2, earlier, day, later
	Title   string
	Aside   string
	Batches []string // letters of the batches made in it
	Steps   []RunStep
}

// RunStep is one step of a run.
type RunStep struct {
	N int // counted through all days, from 1
	// Kind is make, pour, topping, piping, embed, sprinkle, cover, unmould, cut,
	// cure, test or wrap.
	Kind       string
	Batch      string // letter of the batch that is made or poured
	Vessel     string // the portion that is poured; "" for undivided batter
	Design     string // id
	DesignName string
	Part       int // number within its design, from 1; 0 for none
	PartName   string
	Text       string
	Amount     *Amount
	Wait       string // what must pass before it; may be empty
	WaitMin    quantity.Maybe
	Cautions   []lye.Caution // shown above the step
	Reminders  []string      // the maker's own
	Note       string        // the maker's own
	Read       string        // what to read and fill in
	Unit       string
}

// Amount is how much goes into or onto each.
type Amount struct {
	Each, Total   string // with their unit
	EachG, TotalG float64
	EachML        float64
	Of            int // cavities or pieces
	LevelPct      quantity.Maybe
	Level         string // "to 80 %, about 51 mm deep"; may be empty
}

// RunBatch is one batch of the run with its sheet.
type RunBatch struct {
	Letter  string
	Formula string // id
	Name    string
	Day     string  // key of its day
	MassG   float64 // g, as it was asked for
	Mass    string  // with its unit, as its sheet weighs it
	Split   string  // "2 340 g for the pieces, 70 g overage, 15 g stays in the pot"
	Lye     bool    // made with lye
	Sheet   *Sheet
}

// SetCode gives the run its code, and each batch the code that follows from it.
func (r *Run) SetCode(code string) {
	r.Code = code
	for i := range r.Batches {
		b := &r.Batches[i]
		if b.Sheet != nil {
			b.Sheet.Code = BatchCode(code, b.Letter)
		}
	}
}

// BatchCode is the code of a batch of a run, such as 0042-A.
func BatchCode(code, letter string) string {
	if code == "" {
		return letter
	}
	return code + "-" + letter
}

// batch is one batch of one day.
type batch struct {
	at     int // index into Run.Batches
	result *soap.Result
}

type batchKey struct {
	formula string
	level   int
}

// runner works out one run.
type runner struct {
	in     *RunInput
	r      *Run
	set    *design.Set
	pieces map[string]*design.PieceNeed
	// level is how many days before the day itself a design is cast: 0 on that
	// day, 1 for an embed of such a design, 2 for an embed of that embed.
	level   map[string]int
	batches map[batchKey]*batch
	raw     map[string]bool // batches with a warning about raw batter
	out     map[string]bool // designs that were unmoulded before their last part
}

// NewRun makes the sheets of a run.
//
// Errors: fault.Invalid on "need" if there is nothing to make or if it was not
// worked out from the set, on "results" if a formula is not worked out, and what
// soap.Work and New report for a batch at its size.
func NewRun(in RunInput) (*Run, error) {
	if in.Need == nil || in.Set == nil || len(in.Need.Wants) == 0 {
		return nil, fault.Invalidf("need", "There is nothing asked for to make a run of.")
	}
	if in.Catalogue == nil {
		c, err := catalogue.Default()
		if err != nil {
			return nil, err
		}
		in.Catalogue = c
	}
	m := &runner{in: &in, r: &Run{Head: in.Head}, set: in.Set, pieces: map[string]*design.PieceNeed{}, level: map[string]int{},
		batches: map[batchKey]*batch{}, raw: map[string]bool{}, out: map[string]bool{}}
	for i := range in.Need.Pieces {
		p := &in.Need.Pieces[i]
		m.pieces[p.Design] = p
		if d := in.Set.Design(p.Design); d == nil || in.Set.Mould(d.Mould) == nil || len(p.Parts) != len(d.Parts) {
			return nil, fault.Invalidf("need", "The need of “%s” was not worked out from this set. Work it out again.", p.Design)
		}
	}
	m.levels()
	if err := m.makeBatches(); err != nil {
		return nil, err
	}
	m.judge()
	m.what()
	m.ready()
	m.days()
	m.lastWords()
	return m.r, nil
}

func (m *runner) keyOf(p design.PourStep) batchKey { return batchKey{p.Formula, m.level[p.Design]} }

// levels finds on which day each design is cast. An embed is cast at least one
// day before the design that takes it, because it must be firm by then.
func (m *runner) levels() {
	cast := map[string]bool{}
	for _, e := range m.in.Need.Embeds {
		cast[e.Design] = e.Pieces > 0
	}
	// Embeds come before what takes them. So, from the last to the first, the
	// level of each design is known when it is reached.
	for i := len(m.in.Need.Pieces) - 1; i >= 0; i-- {
		p := &m.in.Need.Pieces[i]
		if p.Net <= 0 {
			continue
		}
		d := m.set.Design(p.Design)
		for k := range d.Parts {
			if e := d.Parts[k].Design; d.Parts[k].Kind == design.Embed && cast[e] {
				m.level[e] = max(m.level[e], m.level[p.Design]+1)
			}
		}
	}
}

func (m *runner) deepest() int {
	n := 0
	for _, l := range m.level {
		n = max(n, l)
	}
	return n
}

// dayKey names a day: "day", "earlier" for the one before it, "earlier-2" for the
// one before that.
func dayKey(level int) string {
	switch level {
	case 0:
		return "day"
	case 1:
		return "earlier"
	}
	return fmt.Sprintf("earlier-%d", level)
}

func (m *runner) volume(ml float64) string {
	d := 0
	if m.r.Units.Volume != quantity.Millilitre || ml < 10 {
		d = 1
	}
	return quantity.Volume(ml, m.r.Units.Volume, d)
}

func (m *runner) designName(id string) string  { return cmp.Or(m.set.Design(id).Name, inWords(id)) }
func (m *runner) mouldName(id string) string   { return cmp.Or(m.set.Mould(id).Name, inWords(id)) }
func (m *runner) formulaName(id string) string { return cmp.Or(m.set.Batter(id).Name, inWords(id)) }
func (m *runner) itemName(id string) string {
	return cmp.Or(m.in.Items[id], nameOf(m.in.Catalogue, id))
}

// mouldOf is the mould of a design.
func (m *runner) mouldOf(id string) *mould.Mould { return m.set.Mould(m.set.Design(id).Mould) }

// partName is what the maker calls the part, or else what it is.
func partName(p *design.Part) string { return cmp.Or(p.Name, p.Kind.String()) }

// partOf is a part within its design: "sky of Lighthouse". For a pour without a
// name it is only "Lamp".
func partOf(p *design.Part, of string) string {
	if p.Name == "" {
		if p.Kind == design.Pour {
			return of
		}
		return p.Kind.String() + " of " + of
	}
	return p.Name + " of " + of
}

func (m *runner) part(designID string, n int) *design.Part { return &m.set.Design(designID).Parts[n-1] }

// makeBatches works out every batch at its mass. A batch that is wanted on two
// days is made twice, because neither batter nor melt keeps. Each has its own
// pot, so what stays in the pot is lost twice.
func (m *runner) makeBatches() error {
	pours := map[batchKey]map[string]float64{} // by portion, g
	for _, p := range m.in.Need.Pours {
		k := m.keyOf(p)
		if pours[k] == nil {
			pours[k] = map[string]float64{}
		}
		pours[k][strings.ToLower(p.Portion)] += p.TotalG
	}
	wanted := map[string]design.BatchNeed{}
	for _, b := range m.in.Need.Batches {
		wanted[b.Formula] = b
	}
	// Batches get their letters in the order in which they are made.
	var keys []batchKey
	needs := map[batchKey]design.BatchNeed{}
	days := map[string]int{}
	for level := m.deepest(); level >= 0; level-- {
		for _, p := range m.sequence(level) {
			k, b := m.keyOf(p), wanted[p.Formula]
			if _, made := needs[k]; made || !(b.MassG > 0) {
				continue
			}
			keys = append(keys, k)
			needs[k] = b
			days[k.formula]++
		}
	}
	for _, k := range keys {
		n := days[k.formula]
		if n < 2 {
			continue
		}
		all := map[string]float64{}
		for _, p := range m.in.Need.Pours {
			if p.Formula == k.formula {
				all[strings.ToLower(p.Portion)] += p.TotalG
			}
		}
		needs[k] = shareOf(needs[k], pours[k], all)
		if wanted[k.formula].Formula != "" {
			delete(wanted, k.formula) // so that it is said only once
			m.r.Notes = append(m.r.Notes, finding.Finding{Rule: "made-twice", Severity: finding.Note, About: "batches", Source: practice,
				Message: fmt.Sprintf("%s is wanted on %d days, so it is made %s, and what stays in the pot is lost %s.",
					m.formulaName(k.formula), n, times(n), times(n)),
				Remedy: "Cast the embeds from another formula, or cast enough of them now for several runs."})
		}
	}
	m.r.DivisionG = math.Inf(1)
	for i, k := range keys {
		b := needs[k]
		base := m.in.Results[k.formula]
		if base == nil || base.Formula == nil || !(base.Batter.MassG > 0) {
			return fault.Invalidf("results",
				"%s is not worked out, so there is nothing to weigh for it: keep the formula with its fats or its base first.", m.formulaName(k.formula))
		}
		r, err := soap.WorkAt(base.Formula, base.SizedByBatter(b.MassG), m.in.Catalogue)
		if err != nil {
			return fmt.Errorf("%s at %g g: %w", m.formulaName(k.formula), b.MassG, err)
		}
		rb := RunBatch{Letter: words.Letters(i), Formula: k.formula, Name: m.formulaName(k.formula), Day: dayKey(k.level), MassG: b.MassG,
			Lye: r.Formula.Method != formula.Melt}
		in := Input{Result: r, Head: m.in.Head, Version: m.in.Versions[k.formula], Catalogue: m.in.Catalogue, vessels: b.Vessels}
		in.Code = BatchCode(m.in.Code, rb.Letter)
		if len(in.vessels) == 0 {
			in.vessels = []design.VesselNeed{{Stage: r.Formula.Stage, BatterG: b.MassG}}
		}
		in.vessels = m.staged(k, in.vessels)
		if m.in.Judge != nil {
			in.Superfat, in.Findings = m.in.Judge(k.formula, r)
		} else {
			in.Superfat = r.Superfat
			in.Findings = soap.Findings(r, r.Superfat, soap.DefaultLimits())
		}
		in.into = func(s *Sheet) map[string]poured { return m.into(k, s) }
		s, err := New(in)
		if err != nil {
			return err
		}
		rb.Sheet, rb.Mass = s, s.near(s.Batter.MassG)
		rb.Split = m.split(k, b, s)
		if s.DivisionG < m.r.DivisionG {
			m.r.DivisionG, m.r.Scale = s.DivisionG, s.Scale
		}
		m.batches[k] = &batch{at: i, result: r}
		m.r.Batches = append(m.r.Batches, rb)
	}
	if math.IsInf(m.r.DivisionG, 1) {
		m.r.DivisionG = AssumedDivisionG
		m.r.Scale = m.r.near(m.r.DivisionG)
	}
	return nil
}

// split says how the batter of a sheet is divided: what its pours weigh on this
// scale, and what is left of it.
func (m *runner) split(k batchKey, b design.BatchNeed, s *Sheet) string {
	pieces := 0.0
	for _, p := range m.in.Need.Pours {
		if m.keyOf(p) == k {
			pieces += s.weighed(p.EachG) * float64(p.Cavities)
		}
	}
	left := s.Batter.MassG - pieces
	t := s.near(pieces) + " for the pieces"
	if over := left - b.PotLossG; b.OverageG > 0 && s.weighed(over) > 0 {
		t += ", " + s.near(over) + " overage"
		left = b.PotLossG
	}
	if b.PotLossG > 0 && left > 0 {
		t += ", " + s.near(left) + " stays in the pot"
	}
	return t
}

// pieceG is what a piece of a design weighs, g, if each of its parts is weighed to
// a step of the scale. Parts whose mass is not weighed count as planned.
func (m *runner) pieceG(id string) float64 {
	need, d := m.pieces[id], m.set.Design(id)
	off := 0.0 // what rounding adds in one cavity
	for _, p := range m.in.Need.Pours {
		if p.Design == id {
			h := &m.r.Head
			if b := m.batches[m.keyOf(p)]; b != nil {
				h = &m.r.Batches[b.at].Sheet.Head
			}
			off += h.weighed(p.EachG) - p.EachG
		}
	}
	for i := range d.Parts {
		switch p := &d.Parts[i]; {
		case p.Kind == design.Embed && m.pieces[p.Design] != nil:
			off += p.Count.Or(1) * (m.pieceG(p.Design) - m.pieces[p.Design].PieceG)
		case p.Kind == design.Sprinkle && p.MassG.Known:
			off += m.r.weighed(p.MassG.V) - p.MassG.V
		}
	}
	return need.PieceG + off/float64(max(m.mouldOf(id).Bars(), 1))
}

// staged gives a vessel without a set stage the stage of its first pour.
func (m *runner) staged(k batchKey, vessels []design.VesselNeed) []design.VesselNeed {
	out := slices.Clone(vessels)
	for i := range out {
		if out[i].Stage != formula.AnyStage {
			continue
		}
		for _, p := range m.sequence(k.level) {
			if p.Formula == k.formula && strings.EqualFold(p.Portion, out[i].Portion) {
				out[i].Stage = p.Stage
				break
			}
		}
	}
	return out
}

// shareOf is what one of several days needs of a batch. mine and all are in g as
// poured, by portion.
func shareOf(b design.BatchNeed, mine, all map[string]float64) design.BatchNeed {
	var own, sum float64
	// The order is fixed, so that the same run weighs the same to the last bit.
	for _, portion := range slices.Sorted(maps.Keys(all)) {
		own += mine[portion]
		sum += all[portion]
	}
	share := 1.0
	if sum > 0 {
		share = own / sum
	}
	out := b
	out.PartsG, out.OverageG = b.PartsG*share, b.OverageG*share
	out.MassG = (b.MassG-b.PotLossG)*share + b.PotLossG
	out.VolumeML = b.VolumeML * out.MassG / b.MassG
	out.Vessels = nil
	tipped := 0.0
	for _, v := range b.Vessels {
		at := strings.ToLower(v.Portion) // upper and lower case do not distinguish portions
		if !(mine[at] > 0) {
			continue
		}
		v = scaled(v, mine[at]/all[at])
		tipped += v.BatterG
		out.Vessels = append(out.Vessels, v)
	}
	for i, v := range out.Vessels {
		if tipped > 0 {
			out.Vessels[i] = scaled(v, out.MassG/tipped)
		}
	}
	return out
}

func scaled(v design.VesselNeed, by float64) design.VesselNeed {
	v.BatterG *= by
	v.VolumeML *= by
	v.MassG *= by
	v.Colourants = slices.Clone(v.Colourants)
	for i := range v.Colourants {
		v.Colourants[i].MassG *= by
	}
	return v
}

// poured is where a portion of a batch goes.
type poured struct {
	into        []string
	pour, piped bool // some of it is poured, some of it is piped
}

// verb says what is done with a portion.
func (p poured) verb(s formula.Stage) string {
	switch {
	case s == formula.Dough:
		return "Press"
	case p.pour && p.piped:
		return "Pour and pipe"
	case p.piped:
		return "Pipe"
	}
	return "Pour"
}

// into lists where each portion of a batch goes.
func (m *runner) into(k batchKey, s *Sheet) map[string]poured {
	out := map[string]poured{}
	for _, p := range m.in.Need.Pours {
		if m.keyOf(p) != k {
			continue
		}
		at := strings.ToLower(p.Portion)
		q := out[at]
		q.into = append(q.into, fmt.Sprintf("%d × %s, %s", p.Cavities, s.near(p.EachG),
			partOf(m.part(p.Design, p.Part), m.designName(p.Design))))
		q.pour, q.piped = q.pour || p.Kind != design.Piping, q.piped || p.Kind == design.Piping
		out[at] = q
	}
	return out
}

// judge collects the findings about the whole run.
func (m *runner) judge() {
	r := m.r
	// The run knows by itself whether a batch is made twice, and has said so.
	// About the heat of moulds, a finding of the need is enough.
	heated := false
	var all []finding.Finding
	for _, f := range slices.Concat(m.in.Need.Findings, m.in.Findings) {
		heated = heated || f.Rule == "mould-heat"
		if f.Rule != "made-twice" {
			all = append(all, f)
		}
	}
	for _, b := range r.Batches {
		// What stops a batch stops the run, so the front page shows it as well.
		for _, f := range b.Sheet.Stops {
			f.Message = "Batch " + b.Letter + ", " + b.Name + ": " + f.Message
			all = append(all, f)
		}
	}
	for _, p := range m.in.Need.Pours {
		b := m.batches[m.keyOf(p)]
		if heated || b == nil || p.Kind == design.Piping { // it is piped on top of what is in the mould
			continue
		}
		ceiling := ceilingC(b.result)
		if t := m.set.Batter(p.Formula); t.CeilingC.Known {
			ceiling = t.CeilingC
		}
		if f, ok := mouldHeat(m.set.Mould(p.Mould), m.formulaName(p.Formula), pourC(b.result), ceiling, m.r.temp); ok {
			all = append(all, f)
		}
	}
	stops, warns, notes := bySeverity(finding.Once(all))
	r.Stops, r.Warns, r.Notes = append(r.Stops, stops...), append(r.Warns, warns...), append(r.Notes, notes...)
}

func (m *runner) what() {
	var names []string
	for _, w := range m.in.Need.Wants {
		name := m.designName(w.Design)
		m.r.What = append(m.r.What, Thing{ID: w.Design, Name: name, N: float64(w.Pieces), Text: fmt.Sprintf("%d × %s", w.Pieces, name),
			Aside: m.r.near(m.pieceG(w.Design)) + " each as poured, in " + m.mouldName(m.set.Design(w.Design).Mould)})
		names = append(names, name)
	}
	m.r.Name = words.List(names)
}
