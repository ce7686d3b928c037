package forecast

import "math"

// SES is simple exponential smoothing. After each week the level moves towards
// that week's demand by the share Alpha of its error. It starts at the first
// demand that it sees.
//
// Alpha lies in (0, 1]. With Warm, the nth of the first weeks moves the level by
// 1/n. So it starts as the mean of those weeks, and no single week has a lasting
// effect.
type SES struct {
	Alpha float64
	Warm  bool
	Level float64 // the demand that it expects in every coming week
	seen  int
}

// Step takes in the demand of one week.
func (s *SES) Step(y float64) {
	s.seen++
	a := s.Alpha
	if s.seen == 1 {
		a = 1
	} else if s.Warm {
		a = max(a, 1/float64(s.seen))
	}
	s.Level += a * (y - s.Level)
}

// Croston smooths two things, each only when there is demand: how much is wanted,
// and how many weeks lie between. They start at the first demand and at the
// number of its week. The forecast is Size/Interval. Source: Croston, Forecasting
// and stock control for intermittent demands, 1972.
type Croston struct {
	Alpha    float64 // for both, in (0, 1]
	Size     float64 // units
	Interval float64 // weeks
	since    float64
}

// Step takes in the demand of one week.
func (c *Croston) Step(y float64) {
	c.since++
	if !(y > 0) {
		return
	}
	if c.Interval == 0 {
		c.Size, c.Interval = y, c.since
	} else {
		c.Size += c.Alpha * (y - c.Size)
		c.Interval += c.Alpha * (c.since - c.Interval)
	}
	c.since = 0
}

// Rate is Croston's forecast in units a week; 0 before any demand.
func (c *Croston) Rate() float64 {
	if c.Interval == 0 {
		return 0
	}
	return c.Size / c.Interval
}

// SBA is the forecast with the correction of Syntetos and Boylan, 2005: on
// average, Croston's is too high by about Alpha/2 of it.
func (c *Croston) SBA() float64 { return (1 - c.Alpha/2) * c.Rate() }

// SBJ is the forecast with the correction of Shale, Boylan and Johnston, 2006,
// for demand that arrives at random.
func (c *Croston) SBJ() float64 { return (1 - c.Alpha/(2-c.Alpha)) * c.Rate() }

// TSB smooths the chance that a week has demand, every week, and the amount
// wanted, in weeks with demand. So it follows a product whose demand fades. It
// starts at the first demand, with a chance of 1 over the number of its week.
// Source: Teunter, Syntetos and Babai, 2011 (from memory).
type TSB struct {
	Alpha  float64 // for the size, in (0, 1]
	Beta   float64 // for the chance, in (0, 1]
	Size   float64 // units
	Chance float64 // chance of demand in a week
	weeks  float64
}

// Step takes in the demand of one week.
func (t *TSB) Step(y float64) {
	t.weeks++
	switch {
	case t.Size == 0 && y > 0:
		t.Size, t.Chance = y, 1/t.weeks
	case t.Size == 0:
	case y > 0:
		t.Size += t.Alpha * (y - t.Size)
		t.Chance += t.Beta * (1 - t.Chance)
	default:
		t.Chance -= t.Beta * t.Chance
	}
}

// Rate is the forecast in units a week; 0 before any demand.
func (t *TSB) Rate() float64 { return t.Chance * t.Size }

// HoltWinters smooths level, trend and season. The season is updated with the new
// level, as y − l′ or y/l′. R's stats::HoltWinters does the same; it does not use
// y − l − b.
type HoltWinters struct {
	Alpha, Beta, Gamma float64 // for level, trend and season, in [0, 1]
	// Phi, in (0, 1], is the share of the trend that is left after each week. 1
	// gives a straight line.
	Phi            float64
	Multiplicative bool // the season multiplies the level; otherwise it is added
	Level, Trend   float64
	Season         []float64 // by place in the year
}

// Ahead is the forecast for the hth coming week, which has that place in the
// year. h counts from 1. The forecast may be below 0.
func (w *HoltWinters) Ahead(h, place int) float64 {
	trend := float64(h)
	if w.Phi < 1 {
		trend = w.Phi * (1 - math.Pow(w.Phi, float64(h))) / (1 - w.Phi)
	}
	l := w.Level + trend*w.Trend
	if w.Multiplicative {
		return l * w.Season[place]
	}
	return l + w.Season[place]
}

// leastLevel keeps a multiplicative season from dividing by 0.
const leastLevel = 1e-9

// Step takes in the demand of a week with that place in the year.
func (w *HoltWinters) Step(y float64, place int) {
	s := &w.Season[place]
	was := w.Level
	free := y - *s
	if w.Multiplicative {
		free = y / max(*s, leastLevel)
	}
	w.Level = w.Alpha*free + (1-w.Alpha)*(was+w.Phi*w.Trend)
	w.Trend = w.Beta*(w.Level-was) + (1-w.Beta)*w.Phi*w.Trend
	left := y - w.Level
	if w.Multiplicative {
		left = y / max(w.Level, leastLevel)
	}
	*s = w.Gamma*left + (1-w.Gamma)**s
}

// Skip passes over a week whose demand is not known.
func (w *HoltWinters) Skip() {
	w.Level += w.Phi * w.Trend
	w.Trend *= w.Phi
}

// Decompose finds the values from which smoothing starts, from the first two
// years of period values each. It takes the centred moving average over a year
// and fits a line through it: level is the line's height in the middle of the
// first year, slope its slope. places is the mean of what remains at each place
// in the year. R's stats::HoltWinters does the same.
//
// y must have at least 2·period values; the place of y[i] is i mod period.
func Decompose(y []float64, period int, multiplicative bool) (level, slope float64, places []float64) {
	n := 2 * period
	half := period / 2
	trend := make([]float64, n)
	var xs, ys, xx, xy, m float64
	for i := half; i < n-half; i++ {
		sum := 0.0
		for j := i - half; j <= i+half; j++ {
			v := y[j]
			if period%2 == 0 && (j == i-half || j == i+half) {
				v /= 2
			}
			sum += v
		}
		trend[i] = sum / float64(period)
		m++
		xs += m
		ys += trend[i]
		xx += m * m
		xy += m * trend[i]
	}
	slope = (m*xy - xs*ys) / (m*xx - xs*xs)
	level = (ys - slope*xs) / m
	places = make([]float64, period)
	count := make([]float64, period)
	for i := half; i < n-half; i++ {
		left := y[i] - trend[i]
		if multiplicative {
			left = y[i] / max(trend[i], leastLevel)
		}
		places[i%period] += left
		count[i%period]++
	}
	mean := 0.0
	for i := range places {
		places[i] /= max(count[i], 1)
		mean += places[i] / float64(period)
	}
	for i := range places {
		if multiplicative {
			places[i] /= max(mean, leastLevel)
		} else {
			places[i] -= mean
		}
	}
	return level, slope, places
}

// MASE is the mean absolute error of forecasts of test, divided by the mean
// absolute step of train from each value to the one m later. Below 1 is better,
// on average, than a naive forecast did in train.
//
// It is NaN if train has no such steps, if all of them are 0, or if test is
// empty. Source: Hyndman and Koehler, Another look at measures of forecast
// accuracy, 2006.
func MASE(train, test, ahead []float64, m int) float64 {
	steps, n := 0.0, 0
	for i := m; i < len(train); i++ {
		steps += math.Abs(train[i] - train[i-m])
		n++
	}
	off := 0.0
	for i, y := range test {
		off += math.Abs(y - ahead[i])
	}
	if steps == 0 || len(test) == 0 {
		return math.NaN()
	}
	return off / float64(len(test)) / (steps / float64(n))
}
