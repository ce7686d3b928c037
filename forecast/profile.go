package forecast

import "slices"

const (
	// every is how many starts share one set of profiles. The set is that of the
	// oldest of them, so that none of them has seen a week after its start.
	every = 4
	// apart is the least variance by which the years of two products are assumed
	// to differ, as a share of the level squared. However alike they look, they
	// are not more alike than within a tenth.
	apart = 0.01
	// floor keeps a quotient by a profile from growing without limit.
	floor = 0.05

	months = season / 4 // the parts in which years are compared
)

// year is how a product sold over the places of the year, before pooling.
type year struct {
	ratio  [season]float64 // to the level of its own year; −1 if not known
	months [months]float64 // the same, four weeks at a time
	doubt  float64         // variance of one ratio from chance alone
}

// ownYear is a product's year from its weeks up to k weeks before the end. ok is
// false if it has not been sold for a year, or has sold nothing.
func (c *course) ownYear(k int) (y year, ok bool) {
	years := (c.n - k) / season
	if years < 1 {
		return y, false
	}
	var sold, level [season]float64
	total, steps, pairs := 0.0, 0.0, 0.0
	weeks := 0.0
	for b := range years {
		end := c.n - k - b*season
		sum, known := 0.0, 0.0
		for t := end - season; t < end; t++ {
			if !c.Out[t] {
				sum += c.Units[t]
				known++
			}
		}
		if !(sum > 0) {
			continue
		}
		for t := end - season; t < end; t++ {
			if c.Out[t] {
				continue
			}
			sold[c.slots[t]] += c.Units[t]
			level[c.slots[t]] += sum / known
			if t > 1 && !c.Out[t-1] && !c.Out[t-2] {
				d := c.Units[t] - 2*c.Units[t-1] + c.Units[t-2]
				steps += d * d
				pairs++
			}
		}
		total += sum
		weeks += known
	}
	if !(total > 0) {
		return y, false
	}
	for m := range y.months {
		sum, n := 0.0, 0.0
		for i := 4 * m; i < 4*m+4; i++ {
			y.ratio[i] = -1
			if level[i] > 0 {
				y.ratio[i] = sold[i] / level[i]
				sum += y.ratio[i]
				n++
			}
		}
		y.months[m] = 1
		if n > 0 {
			y.months[m] = sum / n
		}
	}
	// The variance of a count is at least its mean. Any more shows in the second
	// differences from week to week: a sixth of their squares, because a year
	// that rises and falls smoothly has small ones.
	mean := total / weeks
	spread := 1.0
	if pairs > 0 {
		spread = max(spread, steps/pairs/6/mean)
	}
	y.doubt = spread / (mean * float64(years))
	return y, true
}

// profiles are the yearly indices of every product, from what was sold up to k
// weeks before the end. Each has a mean of 1 over the year and is shrunk towards
// 1 by what chance alone would produce. All are nil if no product has sold for a
// year by then.
//
// A product counts by how well its year is known and how similar it is to this
// product's year: by 1 over the sum of both variances. If this product has no
// year of its own, only the first of these counts.
func profiles(all []*course, k int) []*[season]float64 {
	out := make([]*[season]float64, len(all))
	own := make([]year, len(all))
	has := make([]bool, len(all))
	for i, c := range all {
		own[i], has[i] = c.ownYear(k)
	}
	if !slices.Contains(has, true) {
		return out
	}
	stranger := pooled(own, has, -1)
	for i := range all {
		out[i] = stranger
		if has[i] {
			out[i] = pooled(own, has, i)
		}
	}
	return out
}

// pooled is the profile for product i. With i = −1 it is the profile for a
// product about which nothing is known.
func pooled(own []year, has []bool, i int) *[season]float64 {
	var sum, weights [season]float64
	for q := range own {
		if !has[q] {
			continue
		}
		differ := apart
		if i >= 0 {
			sum := 0.0
			for m := range months {
				d := own[i].months[m] - own[q].months[m]
				sum += d * d
			}
			// Subtract what chance adds to the distance, over four weeks each.
			differ = max(apart, sum/months-(own[i].doubt+own[q].doubt)/4)
		}
		if q == i {
			differ = 0
		}
		w := 1 / (differ + own[q].doubt)
		for s, r := range own[q].ratio {
			if r >= 0 {
				weights[s] += w
				sum[s] += w * r
			}
		}
	}
	idx := new([season]float64)
	total := 0.0
	for s := range sum {
		if weights[s] > 0 {
			sum[s] /= weights[s]
		} else {
			sum[s] = 1 // nobody had any to sell in that week
		}
		total += sum[s] / season
	}
	rough, spread := 0.0, 0.0
	for s := range sum {
		before, here, after := sum[(s+season-1)%season]/total, sum[s]/total, sum[(s+1)%season]/total
		idx[s] = (before + 2*here + after) / 4
		bend := before - 2*here + after
		rough += bend * bend / 6
		spread += (idx[s] - 1) * (idx[s] - 1)
	}
	// Chance in the ratios shows in the second differences from week to week.
	// Weights of 1, 2, 1 leave 3/8 of its variance in the index.
	sure := 0.0
	if spread > 0 {
		sure = max(1-0.375*rough/spread, 0)
	}
	for s := range idx {
		idx[s] = max(1+sure*(idx[s]-1), floor)
	}
	return idx
}

// tables are the profiles for starts up to most weeks before the end. Table j is
// from what was sold up to every·j weeks before the end.
func tables(all []*course, most int) [][]*[season]float64 {
	out := make([][]*[season]float64, (most+every-1)/every+1)
	for j := range out {
		out[j] = profiles(all, j*every)
	}
	return out
}

// profiled rolls smoothing with the profile of product p for the product c. A
// start before any profile existed has none.
func (c *course) profiled(m Method, tables [][]*[season]float64, p int) *rolled {
	starts := c.starts(0)
	if starts < 0 || tables[0][p] == nil {
		return nil
	}
	r := newRolled(m, c, starts)
	for j := range tables {
		first, last := max(0, (j-1)*every+1), min(j*every, starts)
		if first > last {
			break
		}
		r.run(c, levels(c, tables[j][p]), 1, first, last)
		if tables[j][p] != nil {
			r.sound = last
		}
	}
	return r
}

// flatYear reports whether a profile has no shape.
func flatYear(idx *[season]float64) bool { return slices.Max(idx[:])-slices.Min(idx[:]) < 1e-9 }
