package forecast

import (
	"math"
	"slices"
)

// How far methods are rolled over the past.
const (
	scored   = 26  // the last starts, by which a method is chosen
	horizons = 12  // weeks ahead that count for the choice
	kept     = 104 // the last starts, whose errors make the intervals
	leastRun = 4   // weeks before a start, at least
)

// course is the sales of one product, as all methods use them.
type course struct {
	*Series
	n     int   // weeks
	slots []int // places in the year, of all weeks and of the coming ones
	ahead int   // weeks that every start looks ahead
	// steps[t] is the mean step between known neighbouring weeks among the first
	// t. This is the error of a naive forecast there. It is NaN if there is none.
	steps []float64
	mean  float64 // units a week, over the weeks that are known
}

func newCourse(s *Series, ahead int) *course {
	c := &course{Series: s, n: len(s.Units), ahead: ahead}
	c.slots = make([]int, c.n+ahead)
	for i := range c.slots {
		c.slots[i] = slot(s.First.AddDays(7 * i))
	}
	c.steps = make([]float64, c.n+1)
	c.steps[0] = math.NaN()
	sum, pairs, total, known := 0.0, 0.0, 0.0, 0.0
	for t, y := range s.Units {
		if !s.Out[t] {
			total += y
			known++
			if t > 0 && !s.Out[t-1] {
				sum += math.Abs(y - s.Units[t-1])
				pairs++
			}
		}
		c.steps[t+1] = sum / pairs // 0/0 gives NaN for none
	}
	if known > 0 {
		c.mean = total / known
	}
	return c
}

// starts is how many of the last weeks can be a start for a method that needs
// need weeks before.
func (c *course) starts(need int) int { return min(kept, c.n-max(need, leastRun)) }

// wanted is how many starts a method must have to be a candidate.
func (c *course) wanted() int { return max(min(scored, c.starts(0)), 0) }

// smoother is a method with its parameters as it goes along a series.
type smoother interface {
	// next is what it expects of week t after having seen all weeks before.
	next(t int) float64
	// step takes in week t. skip passes over a week that is not known.
	step(t int, y float64)
	skip(t int)
	// look writes what it expects of week t and later into out; none is below 0.
	look(t int, out []float64)
}

// rolled is what a method forecast at each start, using only the weeks before
// that start.
type rolled struct {
	method Method
	starts int
	sound  int       // number of starts, counted from the last, at which it had all that it has now
	said   []float64 // said[k*ahead+h]: from k weeks before the end, for h weeks later
	ahead  int
}

func newRolled(m Method, c *course, starts int) *rolled {
	return &rolled{method: m, starts: starts, sound: starts, said: make([]float64, (starts+1)*c.ahead), ahead: c.ahead}
}

// at is the forecast from k weeks before the end, for that week and those after
// it. k = 0 gives the forecast for the coming weeks.
func (r *rolled) at(k int) []float64 { return r.said[k*r.ahead : (k+1)*r.ahead] }

// run lets every member smooth the series. At each start, from first to last
// weeks before the end, it keeps the forecast of one member: the one whose
// squared errors one week ahead have the least sum so far. Errors count from week
// burn on.
func (r *rolled) run(c *course, members []smoother, burn, first, last int) {
	best := make([]float64, last-first+1)
	for i := range best {
		best[i] = math.Inf(1)
	}
	for _, m := range members {
		sum := 0.0
		for t := 0; ; t++ {
			k := c.n - t
			if k <= last && k >= first && sum < best[k-first] {
				best[k-first] = sum
				m.look(t, r.at(k))
			}
			if k == first {
				break
			}
			if c.Out[t] {
				m.skip(t)
				continue
			}
			y := c.Units[t]
			if t >= burn {
				off := y - m.next(t)
				sum += off * off
			}
			m.step(t, y)
		}
	}
}

// score is the mean absolute error at the scored starts, each divided by the
// error of a naive forecast in the weeks before that start. It is NaN if there is
// nothing to score.
func (r *rolled) score(c *course) float64 {
	sum, n := 0.0, 0
	for k := 1; k <= c.wanted(); k++ {
		scale := c.steps[c.n-k]
		if !(scale > 0) {
			continue
		}
		for h, f := range r.at(k)[:min(k, horizons)] {
			if t := c.n - k + h; !c.Out[t] {
				sum += math.Abs(c.Units[t]-f) / scale
				n++
			}
		}
	}
	return sum / float64(n)
}

// The methods as smoothers.
type (
	naive struct{ last float64 }

	seasonal struct {
		slots []int
		last  float64
		at    [season]float64 // NaN for a place that was not seen
	}

	level struct {
		SES
		slots []int
		index *[season]float64 // nil: no season
	}

	croston struct {
		Croston
		rate func(*Croston) float64
	}

	fading struct{ TSB }

	winters struct {
		HoltWinters
		buf [season]float64
	}
)

func flat(out []float64, v float64) {
	for i := range out {
		out[i] = v
	}
}

// each looks week by week.
func each(out []float64, t int, m smoother) {
	for h := range out {
		out[h] = m.next(t + h)
	}
}

func (m *naive) next(int) float64        { return m.last }
func (m *naive) step(_ int, y float64)   { m.last = y }
func (m *naive) skip(int)                {}
func (m *naive) look(_ int, o []float64) { flat(o, m.last) }

func newSeasonal(c *course) *seasonal {
	m := &seasonal{slots: c.slots}
	flat(m.at[:], math.NaN())
	return m
}

func (m *seasonal) next(t int) float64 {
	if v := m.at[m.slots[t]]; !math.IsNaN(v) {
		return v
	}
	return m.last
}
func (m *seasonal) step(t int, y float64)   { m.last, m.at[m.slots[t]] = y, y }
func (m *seasonal) skip(int)                {}
func (m *seasonal) look(t int, o []float64) { each(o, t, m) }

func (m *level) factor(t int) float64 {
	if m.index == nil {
		return 1
	}
	return m.index[m.slots[t]]
}
func (m *level) next(t int) float64      { return m.Level * m.factor(t) }
func (m *level) step(t int, y float64)   { m.Step(y / m.factor(t)) }
func (m *level) skip(int)                {}
func (m *level) look(t int, o []float64) { each(o, t, m) }

func (m *croston) next(int) float64        { return m.rate(&m.Croston) }
func (m *croston) step(_ int, y float64)   { m.Step(y) }
func (m *croston) skip(int)                {}
func (m *croston) look(_ int, o []float64) { flat(o, m.next(0)) }

func (m *fading) next(int) float64        { return m.Rate() }
func (m *fading) step(_ int, y float64)   { m.Step(y) }
func (m *fading) skip(int)                {}
func (m *fading) look(_ int, o []float64) { flat(o, m.Rate()) }

// Holt and Winters start after their first year, whose places Decompose gives.
func (m *winters) next(t int) float64 { return max(m.Ahead(1, t%season), 0) }
func (m *winters) step(t int, y float64) {
	if t >= season {
		m.Step(y, t%season)
	}
}
func (m *winters) skip(t int) {
	if t >= season {
		m.Skip()
	}
}
func (m *winters) look(t int, o []float64) {
	trend, f := 0.0, 1.0
	for h := range o {
		f *= m.Phi
		trend += f
		l, s := m.Level+trend*m.Trend, m.Season[(t+h)%season]
		if m.Multiplicative {
			l *= s
		} else {
			l += s
		}
		o[h] = max(l, 0)
	}
}

// The parameters that are tried. Trying twice as many levels of smoothing reduced
// the error on unseen weeks only by a thousandth.
var (
	sesAlphas     = []float64{0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.45, 0.65}
	crostonAlphas = []float64{0.05, 0.1, 0.15, 0.2, 0.3}
	tsbAlphas     = []float64{0.1, 0.2, 0.3}
	tsbBetas      = []float64{0.02, 0.05, 0.1, 0.2, 0.3}
	hwAlphas      = []float64{0.05, 0.15, 0.3, 0.5}
	hwBetas       = []float64{0.01, 0.1}
	hwGammas      = []float64{0.05, 0.2, 0.4}
	hwPhis        = []float64{0.9, 0.98}
)

func levels(c *course, index *[season]float64) []smoother {
	out := make([]smoother, len(sesAlphas))
	for i, a := range sesAlphas {
		out[i] = &level{SES: SES{Alpha: a, Warm: true}, slots: c.slots, index: index}
	}
	return out
}

// plain rolls the methods that use only the product's own weeks.
func (c *course) plain() []*rolled {
	var out []*rolled
	first := slices.IndexFunc(c.Units, func(y float64) bool { return y > 0 }) + 1
	add := func(m Method, need, burn int, members func() []smoother) {
		starts := c.starts(need)
		if starts < c.wanted() || starts < 0 {
			return
		}
		r := newRolled(m, c, starts)
		r.run(c, members(), burn, 0, starts)
		out = append(out, r)
	}
	add(Naive, 0, 0, func() []smoother { return []smoother{&naive{}} })
	add(SeasonalNaive, season, 0, func() []smoother { return []smoother{newSeasonal(c)} })
	add(Smoothing, 0, 1, func() []smoother { return levels(c, nil) })
	rare := func(m Method, rate func(*Croston) float64) {
		add(m, 0, first, func() []smoother {
			var l []smoother
			for _, a := range crostonAlphas {
				l = append(l, &croston{Croston{Alpha: a}, rate})
			}
			return l
		})
	}
	rare(CrostonRate, (*Croston).Rate)
	rare(SBA, (*Croston).SBA)
	rare(SBJ, (*Croston).SBJ)
	add(Fading, 0, first, func() []smoother {
		var l []smoother
		for _, a := range tsbAlphas {
			for _, b := range tsbBetas {
				l = append(l, &fading{TSB{Alpha: a, Beta: b}})
			}
		}
		return l
	})
	add(Winters, 2*season, season, c.winters)
	return out
}

// winters are Holt and Winters with every set of parameters, started from the
// first two years. A multiplicative season is tried as well if the product never
// came near 0.
func (c *course) winters() []smoother {
	y := make([]float64, 2*season)
	for t := range y {
		y[t] = c.Units[t]
		if !c.Out[t] {
			continue
		}
		// An unknown week is taken from the other year, or else as the mean.
		y[t] = c.mean
		if o := (t + season) % (2 * season); !c.Out[o] {
			y[t] = c.Units[o]
		}
	}
	var l []smoother
	for _, times := range []bool{false, true} {
		at, slope, places := Decompose(y, season, times)
		// Decompose gives the line's height half a year before smoothing starts.
		at += slope * season / 2
		if times && (at < 5 || slices.Min(places) < 0.1) {
			continue
		}
		for _, a := range hwAlphas {
			for _, b := range hwBetas {
				for _, g := range hwGammas {
					for _, p := range hwPhis {
						m := &winters{HoltWinters: HoltWinters{Alpha: a, Beta: b, Gamma: g, Phi: p, Multiplicative: times, Level: at, Trend: slope}}
						copy(m.buf[:], places)
						m.Season = m.buf[:]
						l = append(l, m)
					}
				}
			}
		}
	}
	return l
}
