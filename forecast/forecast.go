package forecast

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"barwright/fault"
	"barwright/quantity"
	"barwright/reorder"
)

// Method is a way to forecast.
type Method uint8

const (
	// Naive expects every week to be like the last one.
	Naive Method = iota
	// SeasonalNaive expects every week to be like the same week of the last year.
	SeasonalNaive
	// Smoothing is simple exponential smoothing.
	Smoothing
	// CrostonRate is Croston's forecast.
	CrostonRate
	// SBA is Croston's forecast as corrected by Syntetos and Boylan.
	SBA
	// SBJ is Croston's forecast as corrected by Shale, Boylan and Johnston.
	SBJ
	// Fading is the method of Teunter, Syntetos and Babai.
	Fading
	// Pooled is simple exponential smoothing with a yearly profile that similar
	// products share.
	Pooled
	// Like is simple exponential smoothing with the yearly profile of a product
	// that the maker named.
	Like
	// Winters is the method of Holt and Winters with a damped trend.
	Winters
)

var methods = [...]struct{ id, name string }{
	{"naive", "Naive"}, {"seasonal-naive", "Seasonal naive"}, {"ses", "SES"}, {"croston", "Croston"}, {"sba", "SBA"}, {"sbj", "SBJ"},
	{"tsb", "TSB"}, {"pooled", "Pooled profile"}, {"like", "Like"}, {"holt-winters", "Holt-Winters"},
}

// String is the method's id, as in JSON.
func (m Method) String() string { return methods[m].id }

// Name is the method as written in a sentence.
func (m Method) Name() string { return methods[m].name }

// MarshalText writes the id.
func (m Method) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// The order of preference among methods that did about equally well: the simpler
// ones first, and for demand that does not come every week, the more common ones
// first.
var (
	oftenOrder = []Method{Naive, SeasonalNaive, Smoothing, Pooled, Like, Winters}
	rareOrder  = []Method{SBA, Fading, SBJ, CrostonRate, Smoothing, Pooled, Like}
)

// band is how much worse than the best a method may have done and still be
// preferred. This is a judgement. On simulated demand of six kinds it cost less
// than half a per cent of the error on weeks not seen, where 5 % cost twice as
// much. It also keeps the method from changing with every new week.
const band = 0.02

// Options say what to forecast.
type Options struct {
	Weeks       int     // weeks to forecast, 1 to 104
	LeadWeeks   int     // from pour to sale: the cure, and the wait for the next bench day; 0 to 104
	ReviewWeeks int     // between two looks at the stock, 0 to 52; together with LeadWeeks at least 1
	ServicePct  float64 // chance of no stock-out during lead and review, above 0 and below 100
	Seed        uint64  // for the bootstrap
	// Like gives, for a new product, the product whose yearly profile it shares.
	// The new one need not have sold yet.
	Like map[string]string
	// Figures are the maker's own for coming weeks. They replace the forecast.
	Figures []Figure
}

// Score is how well a method did in the past: its mean absolute error divided by
// that of a naive forecast. It is unknown if there was nothing to score.
type Score struct {
	Method Method         `json:"method"`
	MASE   quantity.Maybe `json:"mase"`
}

// Week is the forecast for one week.
type Week struct {
	Week quantity.Date `json:"week"` // its Monday
	Mean float64       `json:"mean"`
	P10  int           `json:"p10"` // 10 % and 90 % quantiles of that week's demand, in whole units
	P90  int           `json:"p90"`
	Own  bool          `json:"-"` // the mean is the maker's own figure
}

// Safety is the stock that a lead time needs.
type Safety struct {
	LeadWeeks  int     `json:"lead_weeks"`
	ServicePct float64 `json:"service_pct"`
	Mean       float64 `json:"-"` // units wanted during lead and review
	// Stock is what to keep beyond the mean. ReorderLevel is Mean and Stock
	// together: pour again when what is on hand and curing falls to it.
	Stock        float64 `json:"stock"`
	ReorderLevel int     `json:"reorder_level"`
}

// Result is the forecast of one product. Its keys as JSON are stable and in this
// order; nothing is rounded, and what does not exist is null.
type Result struct {
	Product    string         `json:"product"`
	Weeks      int            `json:"weeks"` // in its series
	OutWeeks   int            `json:"-"`     // how many of these weeks the product ran out in
	ADI        quantity.Maybe `json:"adi"`
	CV2        quantity.Maybe `json:"cv2"`
	Class      Class          `json:"class"`
	Candidates []Score        `json:"candidates"` // in the order of Method
	Chosen     Method         `json:"chosen"`
	Starts     int            `json:"-"` // past weeks from which the methods were started to be scored
	// Reason is a sentence: which method, why, and how wrong it has been.
	Reason   string `json:"reason"`
	Forecast []Week `json:"forecast"`
	Safety   Safety `json:"safety"`
}

const (
	maxAhead   = 104
	maxReview  = 52
	draws      = 2000 // random draws of the sum over lead and review
	mostFaults = 5    // of the maker's own figures, told at once
	enough     = 20   // past starts, and errors, that are enough to make intervals from
	ample      = 40   // with this many past errors, none are borrowed from other distances
)

func (o *Options) check() error {
	var l fault.List
	whole := func(field string, v, low, high int) {
		if v < low || v > high {
			l.Add(fault.Invalidf(field, "%d weeks cannot be used: write a whole number from %d to %d", v, low, high))
		}
	}
	whole("weeks", o.Weeks, 1, maxAhead)
	whole("lead", o.LeadWeeks, 0, maxAhead)
	whole("review", o.ReviewWeeks, 0, maxReview)
	if o.LeadWeeks == 0 && o.ReviewWeeks == 0 {
		l.Add(fault.Invalidf("review", "with no lead and no review there is no time to keep stock for: write 1 week or more for one of the two"))
	}
	if !(o.ServicePct > 0 && o.ServicePct < 100) {
		l.Add(fault.Invalidf("service", "%v %% cannot be used: write a chance above 0 and below 100, such as 95", o.ServicePct))
	}
	return l.Err()
}

// Make forecasts every product, in the order of their names.
//
// The same sales and options give the same results. A product's result depends on
// other products only through the yearly profile that they share.
//
// Errors: fault.Invalid on the options' fields "weeks", "lead", "review",
// "service"; on "like", for a name that is not in the file or a product that has
// not sold for a year; on "overrides", with the figure's line, for a product that
// is not in the file or a week that is not forecast.
func Make(s *Sales, o Options) ([]Result, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	reach := max(o.Weeks, o.LeadWeeks+o.ReviewWeeks)
	ahead := max(reach, horizons)
	all := make([]*course, len(s.Series))
	place := map[string]int{}
	most := 0
	for i := range s.Series {
		all[i] = newCourse(&s.Series[i], ahead)
		place[s.Series[i].Product] = i
		most = max(most, all[i].starts(0))
	}
	pools := tables(all, most)
	fresh, err := o.fresh(s, place, all)
	if err != nil {
		return nil, err
	}
	figures, err := o.figures(s, place, reach)
	if err != nil {
		return nil, err
	}
	out := make([]Result, 0, len(all)+len(fresh))
	for i, c := range all {
		out = append(out, o.one(c, c.Product, pools, i, place, figures))
	}
	for _, name := range fresh {
		// It has no sales yet, so it is forecast as the product that it is like.
		i := place[o.Like[name]]
		r := o.one(all[i], name, pools, i, place, figures)
		r.Weeks, r.OutWeeks, r.Starts = 0, 0, 0
		r.ADI, r.CV2 = quantity.Maybe{}, quantity.Maybe{}
		r.Candidates = []Score{{Method: Like}}
		r.Chosen = Like
		r.Reason = fmt.Sprintf("Like %s, because nothing of it is sold yet: these are the figures of %s%s.", o.Like[name], o.Like[name], ownFigures(r.Forecast))
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Result) int { return strings.Compare(a.Product, b.Product) })
	return out, nil
}

// fresh lists the new products that have not sold yet, in order.
func (o *Options) fresh(s *Sales, place map[string]int, all []*course) ([]string, error) {
	year := func(i int) bool {
		_, ok := all[i].ownYear(0)
		return ok
	}
	var l fault.List
	var out []string
	for name, old := range o.Like {
		i, ok := place[old]
		switch {
		case name == old:
			l.Add(fault.Invalidf("like", "%s cannot borrow from itself: write --like NEW=OLD", quoted(name)))
		case !ok:
			l.Add(fault.Invalidf("like", "%s is no product of the file, so %s cannot borrow from it%s", quoted(old), quoted(name), nearest(s, old)))
		case all[i].n < season:
			l.Add(fault.Invalidf("like", "%s has sold for %d weeks only, and a year can be borrowed from %d on: name an older product",
				quoted(old), all[i].n, season))
		case !year(i):
			l.Add(fault.Invalidf("like", "%s has sold nothing in its last year, so %s cannot borrow from it: name another product", quoted(old), quoted(name)))
		case s.Find(name) == nil:
			if bad := badProduct(strings.TrimSpace(name)); bad != nil {
				bad.Field = "like"
				l.Add(bad)
			}
			out = append(out, name)
		}
	}
	slices.SortFunc(l, func(a, b *fault.Error) int { return strings.Compare(a.Message, b.Message) })
	slices.Sort(out)
	return out, l.Err()
}

// nearest suggests which product may have been meant.
func nearest(s *Sales, name string) string {
	for i := range s.Series {
		if strings.EqualFold(s.Series[i].Product, name) {
			return "; did you mean " + quoted(s.Series[i].Product) + "?"
		}
	}
	for i := range s.Series {
		p := s.Series[i].Product
		if len(name) >= 3 && strings.HasPrefix(strings.ToLower(p), strings.ToLower(name[:3])) {
			return "; did you mean " + quoted(p) + "?"
		}
	}
	return ": write a name as it stands there"
}

// figures are the maker's own figures, by product and by weeks from the end.
func (o *Options) figures(s *Sales, place map[string]int, reach int) (map[string]map[int]int, error) {
	out := map[string]map[int]int{}
	var l fault.List
	from := s.Last.AddDays(7)
	for _, f := range o.Figures {
		h := weeks(from, f.Week)
		var e *fault.Error
		_, known := place[f.Product]
		if !known {
			_, known = o.Like[f.Product]
		}
		switch {
		case !known:
			e = fault.Invalidf("product", "%s is no product of the file of sales%s", quoted(f.Product), nearest(s, f.Product))
		case h < 0 || h >= reach:
			e = fault.Invalidf("week", "the week of %s is not forecast: the weeks from %s to %s are", f.Week, from, from.AddDays(7*(reach-1)))
		default:
			if out[f.Product] == nil {
				out[f.Product] = map[int]int{}
			}
			out[f.Product][h] = f.Units
			continue
		}
		e.Line = f.Line
		l.Add(e)
		if len(l) == mostFaults {
			break
		}
	}
	return out, l.Err()
}

// one is the forecast, under its name, of a product that sells as c does.
func (o *Options) one(c *course, name string, pools [][]*[season]float64, i int, place map[string]int, figures map[string]map[int]int) Result {
	r := Result{Product: name, Weeks: c.n}
	for _, out := range c.Out {
		if out {
			r.OutWeeks++
		}
	}
	r.ADI, r.CV2, r.Class = Classify(c.Units, c.Out)
	rolls := c.plain()
	if p := c.profiled(Pooled, pools, i); p != nil && !flatYear(pools[0][i]) {
		rolls = append(rolls, p)
	}
	old, borrowed := o.Like[name]
	if borrowed {
		if p := c.profiled(Like, pools, place[old]); p != nil {
			rolls = append(rolls, p)
		}
	}
	slices.SortFunc(rolls, func(a, b *rolled) int { return int(a.method) - int(b.method) })
	if len(rolls) == 0 {
		// There are too few weeks to start from anywhere but the end.
		end := newRolled(Smoothing, c, 0)
		var index *[season]float64
		if borrowed {
			end.method, index = Like, pools[0][place[old]]
		}
		end.run(c, levels(c, index), 1, 0, 0)
		rolls = append(rolls, end)
	}
	r.Starts = c.wanted()
	for _, p := range rolls {
		r.Candidates = append(r.Candidates, scoreOf(p.method, p.score(c)))
	}
	var why string
	r.Chosen, why = choose(&r, c.n, old)
	chosen := rolls[slices.IndexFunc(rolls, func(p *rolled) bool { return p.method == r.Chosen })]
	mean := slices.Clone(chosen.at(0))
	e := c.misses(chosen, !r.Class.Often())
	own := figures[name]
	for h, units := range own {
		mean[h] = float64(units)
		e.shut[h] = units == 0 // a figure of 0 is meant literally
	}
	for h := range o.Weeks {
		w := Week{Week: c.First.AddDays(7 * (c.n + h)), Mean: mean[h]}
		_, w.Own = own[h]
		w.P10, w.P90 = e.interval(h, mean[h])
		r.Forecast = append(r.Forecast, w)
	}
	r.Safety = o.safety(e, mean, name)
	r.Reason = why + ownFigures(r.Forecast) + "."
	return r
}

func scoreOf(m Method, mase float64) Score {
	if math.IsNaN(mase) {
		return Score{Method: m}
	}
	return Score{m, quantity.Some(mase)}
}

func ownFigures(weeks []Week) string {
	n := 0
	for _, w := range weeks {
		if w.Own {
			n++
		}
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "; one week is your own figure"
	}
	return fmt.Sprintf("; %d weeks are your own figures", n)
}

var classWords = [...]string{
	Smooth:       "it sells nearly every week and in like amounts",
	Erratic:      "it sells nearly every week and in amounts that differ much",
	Intermittent: "it leaves weeks out and sells in like amounts",
	Lumpy:        "it leaves weeks out and sells in amounts that differ much",
}

// choose picks one of the candidates, and says why, without the full stop.
func choose(r *Result, weeks int, old string) (Method, string) {
	order := oftenOrder
	if !r.Class.Often() {
		order = rareOrder
	}
	score := func(m Method) (float64, bool) {
		for _, s := range r.Candidates {
			if s.Method == m {
				return s.MASE.V, s.MASE.Known
			}
		}
		return 0, false
	}
	starts := fmt.Sprintf("over the last %d starts", r.Starts)
	if r.Starts == 1 {
		starts = "over the last start"
	}
	missed := func(m Method) string {
		v, ok := score(m)
		if !ok {
			return "there is nothing in its past to score it by"
		}
		return fmt.Sprintf("%s it missed by %s of a naive forecast's error one week ahead", starts, quantity.Number(v, 2))
	}
	has := func(m Method) bool {
		return slices.ContainsFunc(r.Candidates, func(s Score) bool { return s.Method == m })
	}
	if has(Like) && weeks < season {
		return Like, fmt.Sprintf("Like %s, because it has run for less than a year and you named that one: the level is its own, "+
			"the shape of the year is borrowed; %s", old, missed(Like))
	}
	var suit []Score // the preferred ones first
	for _, m := range order {
		if v, ok := score(m); ok {
			suit = append(suit, Score{m, quantity.Some(v)})
		}
	}
	if len(suit) == 0 {
		m := Smoothing
		if !r.Class.Often() && has(SBA) {
			m = SBA
		}
		words := "there are too few weeks to try methods on"
		if r.Starts > 0 {
			words = "no week differed from the one before it, so there was nothing to tell methods apart by"
		}
		return m, fmt.Sprintf("%s, because %s", m.Name(), words)
	}
	best := slices.MinFunc(suit, func(a, b Score) int { return cmp.Compare(a.MASE.V, b.MASE.V) })
	chosen := suit[slices.IndexFunc(suit, func(s Score) bool { return s.MASE.V <= best.MASE.V*(1+band) })]
	why := fmt.Sprintf("did best of the %d methods that suit", len(suit))
	if len(suit) == 1 {
		why = "is the one method that suits"
	}
	if chosen != best {
		preferred := "is simpler"
		if !r.Class.Often() {
			preferred = "is the more usual for such demand"
		}
		gap := "no further off"
		if further := chosen.MASE.V/best.MASE.V - 1; best.MASE.V > 0 && further >= 0.0005 {
			gap = quantity.Percent(100*further, 1) + " further off"
		}
		why = fmt.Sprintf("%s and was %s than the best, %s", preferred, gap, best.Method.Name())
		if chosen.MASE == best.MASE {
			why = fmt.Sprintf("%s and did as well as %s", preferred, best.Method.Name())
		}
	}
	out := ""
	switch {
	case r.OutWeeks == 1:
		out = "; the week that ran out is left aside"
	case r.OutWeeks > 1:
		out = fmt.Sprintf("; the %d weeks that ran out are left aside", r.OutWeeks)
	}
	if !r.Class.Often() {
		// If most weeks have no sales, forecasting nothing has the smallest
		// error, but it is no forecast.
		least := Naive
		a, _ := score(Naive)
		if b, ok := score(SeasonalNaive); ok && b < a {
			a, least = b, SeasonalNaive
		}
		if a < chosen.MASE.V {
			out = fmt.Sprintf("; %s missed by less, %s, and is not taken: what it says of such demand is mostly that none will come",
				least, quantity.Number(a, 2)) + out
		}
	}
	return chosen.Method, fmt.Sprintf("%s, because %s, and this method %s; %s%s", chosen.Method.Name(), classWords[r.Class], why, missed(chosen.Method), out)
}

// misses holds how much a method missed in the past, each miss divided by the
// root of what it expected: counts that are expected to be four times as large
// miss by twice as much. Where demand does not come every week and the forecast
// is a flat rate, misses are not divided: what one buyer takes does not grow with
// the rate.
type misses struct {
	flat   bool
	starts int
	at     [][]float64 // [start, counted back from the last][weeks ahead]; NaN if not known
	least  float64     // smallest value of what is expected, so that nothing is divided by the root of 0
	sum    []float64   // of the squares, by weeks ahead
	count  []int
	level  float64 // number of known weeks that the level was learned from
	shut   []bool  // weeks ahead that the maker set to 0
}

func (e *misses) root(mean float64) float64 {
	if e.flat {
		return 1
	}
	return math.Sqrt(max(mean, e.least))
}

func (c *course) misses(r *rolled, rare bool) *misses {
	e := &misses{flat: rare && r.method < Pooled && r.method != SeasonalNaive, starts: r.sound, least: max(0.1*c.mean, 0.02),
		sum: make([]float64, c.ahead), count: make([]int, c.ahead), shut: make([]bool, c.ahead)}
	for _, out := range c.Out {
		if !out {
			e.level++
		}
	}
	e.level = max(e.level, 1)
	for k := 1; k <= r.sound; k++ {
		row := make([]float64, c.ahead)
		for h, f := range r.at(k) {
			t := c.n - k + h
			if t >= c.n || c.Out[t] {
				row[h] = math.NaN()
				continue
			}
			row[h] = (c.Units[t] - f) / e.root(f)
			e.sum[h] += row[h] * row[h]
			e.count[h]++
		}
		e.at = append(e.at, row)
	}
	return e
}

// pieces is a demand in whole pieces, at least 0.
func (e *misses) pieces(mean, miss float64) int {
	return max(int(math.Round(mean+miss*e.root(mean))), 0)
}

// interval gives the 10 % and 90 % quantiles of the demand h weeks after the
// first week ahead.
//
// They come from the past errors at that distance. If these are few, errors at
// shorter distances are used as well. The order statistics are chosen so that
// they keep the rate for exchangeable errors of any distribution. If there are
// too few starts, their errors all lean one way. Then a negative binomial around
// the mean is used instead, with a variance that takes the few errors into
// account.
func (e *misses) interval(h int, mean float64) (p10, p90 int) {
	if e.shut[h] {
		return 0, 0
	}
	var miss []float64
	for d := h; d >= 0 && (d == h || len(miss) < ample); d-- {
		for _, row := range e.at {
			if !math.IsNaN(row[d]) {
				miss = append(miss, row[d])
			}
		}
	}
	n := len(miss)
	if e.starts < enough || n < enough {
		v := e.variance(h, mean) * (1 + 1/e.level)
		return closed(mean, v, 0.1), closed(mean, v, 0.9)
	}
	slices.Sort(miss)
	low := max(int(math.Floor(0.1*float64(n+1))), 1)
	high := min(int(math.Ceil(0.9*float64(n+1))), n)
	// If every start fell short, all errors lean one way. The low end is then the
	// mean: no week is more than nine tenths likely to exceed what is expected.
	return min(e.pieces(mean, miss[low-1]), int(math.Floor(mean))), e.pieces(mean, miss[high-1])
}

// variance is what is known of the spread at that distance. It averages the
// squared errors with a prior that weighs as much as four weeks:
//
//	prior = mean + (2/5 · mean)²
func (e *misses) variance(h int, mean float64) float64 {
	const weeks = 4
	sum, n := 0.0, 0
	for d := 0; d <= h; d++ {
		sum += e.sum[d]
		n += e.count[d]
	}
	root := e.root(mean)
	prior := mean + 0.16*mean*mean
	return (sum*root*root + weeks*prior) / float64(n+weeks)
}

// closed is the p quantile of a negative binomial.
func closed(mean, variance, p float64) int {
	q, err := reorder.NegativeBinomialQuantile(mean, variance, p)
	if err != nil {
		panic(err) // cannot happen: all three arguments are computed here
	}
	return q
}

// safety sums what may be wanted during lead and review. It draws past starts at
// random and adds up the method's errors of consecutive weeks from there. The
// level is never less than the quantile of a negative binomial of that spread,
// and is that quantile alone if the past is too short.
func (o *Options) safety(e *misses, mean []float64, name string) Safety {
	span := o.LeadWeeks + o.ReviewWeeks
	s := Safety{LeadWeeks: o.LeadWeeks, ServicePct: o.ServicePct}
	for _, m := range mean[:span] {
		s.Mean += m
	}
	p := o.ServicePct / 100
	variance := 0.0
	for h, m := range mean[:span] {
		if !e.shut[h] {
			variance += e.variance(h, m)
		}
	}
	// An error in the level is the same in every week. Smoothing also forgets:
	// with a share of 0.1 the level rests on about as much as 19 weeks tell.
	level := closed(s.Mean, variance*(1+float64(span)/min(e.level, 19)), p)
	// The past has few such sums, and they overlap, so their far quantiles fall
	// short more often than they should. The closed form keeps the level from
	// going below it.
	if e.starts >= enough && slices.Min(e.count[:span]) >= enough/2 {
		level = max(level, e.drawn(mean[:span], p, o.Seed, name))
	}
	s.ReorderLevel = max(level, int(math.Ceil(s.Mean-1e-9)))
	s.Stock = max(float64(s.ReorderLevel)-s.Mean, 0)
	return s
}

// drawn is the p quantile of the summed demand, by bootstrap.
func (e *misses) drawn(mean []float64, p float64, seed uint64, name string) int {
	sum := fnv.New64a()
	sum.Write([]byte(name))
	// Each product has its own stream, so that none depends on the others.
	random := rand.New(rand.NewPCG(seed, sum.Sum64()))
	sums := make([]int, draws)
	for i := range sums {
		row := e.at[random.IntN(len(e.at))]
		for h, m := range mean {
			for math.IsNaN(row[h]) {
				row = e.at[random.IntN(len(e.at))]
			}
			if !e.shut[h] {
				sums[i] += e.pieces(m, row[h])
			}
		}
	}
	slices.Sort(sums)
	return sums[min(int(math.Ceil(p*draws)), draws)-1]
}
