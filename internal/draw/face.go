package draw

import (
	"hash/fnv"
	"math"

	"barwright/fault"
)

// A Point is a place on the drawing in px (or whatever unit the face was asked
// for in), x to the right and y downwards.
type Point struct{ X, Y float64 }

// A Curve is a chain of cubic Bézier pieces from left to right: 3n+1 control
// points for n pieces. The x of its control points never decreases, so the curve
// has one height for each x.
type Curve []Point

// A Bar is what one cured bar consists of, worked out elsewhere.
type Bar struct {
	// Name is the formula's name. It appears in words and, if no seed is given,
	// decides the crest.
	Name string
	// Shares are shares of the bar's mass, each from 0 to 1, with sum 1.
	Shares [NumStrata]float64
	// Wax is the part of Shares[FreeFat] that is wax and not fat.
	Wax float64
	// Doubt is the free-fat stratum's share at the 2.5 % and the 97.5 % point of
	// the superfat; nil if it has not been worked out.
	Doubt *Interval
	// MassG is the mass of the bar (or of the whole batch) in g. It is used only
	// for the words beside the key; 0 leaves it out.
	MassG float64
}

// An Interval is the central 95 % interval of the free-fat stratum's share of
// the bar, wax included. Low is below 0 (below Wax, when there is some) where
// alkali may be in excess.
type Interval struct{ Low, High float64 }

// sumTolerance is how far the sum of the shares may differ from 1. It allows for
// rounding in the sums, never for a missing stratum.
const sumTolerance = 1e-6

// Present lists the strata that have a share, crest first. These are the rows of
// the table beside the picture, in their order.
func (b *Bar) Present() []Stratum {
	var out []Stratum
	for i := int(NumStrata) - 1; i >= 0; i-- {
		if b.Shares[i] > 0 {
			out = append(out, Stratum(i))
		}
	}
	return out
}

// check refuses a bar that cannot be drawn truthfully. Errors: fault.Invalid.
func (b *Bar) check() error {
	var sum float64
	for s, v := range b.Shares {
		if math.IsNaN(v) || v < 0 || v > 1+sumTolerance {
			return fault.Invalidf("shares", "The share of %s is %v; a share of the bar runs from 0 to 1.", Stratum(s), v)
		}
		sum += v
	}
	if math.Abs(sum-1) > sumTolerance {
		return fault.Invalidf("shares", "The shares of the bar add up to %v; they must add up to 1, or the picture would not be true.", sum)
	}
	if math.IsNaN(b.Wax) || b.Wax < 0 || b.Wax > b.Shares[FreeFat]+sumTolerance {
		return fault.Invalidf("wax", "The wax is %v of the bar; it is a part of the free fat, so it runs from 0 to %v.", b.Wax, b.Shares[FreeFat])
	}
	if d := b.Doubt; d != nil {
		if math.IsNaN(d.Low+d.High) || math.IsInf(d.Low, 0) || math.IsInf(d.High, 0) || d.Low > d.High {
			return fault.Invalidf("doubt", "The interval of the free fat runs from %v to %v; it needs two finite numbers, the lower first.", d.Low, d.High)
		}
	}
	if math.IsNaN(b.MassG) || math.IsInf(b.MassG, 0) || b.MassG < 0 {
		return fault.Invalidf("mass", "The bar's mass is %v g; it cannot be below 0 and must be finite.", b.MassG)
	}
	return nil
}

// A Band is one stratum of a cut face.
type Band struct {
	Stratum      Stratum
	Share        float64
	Lower, Upper Curve
}

// A Face is the cut face of a bar: a peaked block. Each boundary is placed so
// that the area under it is the share below it. Area stands for mass.
type Face struct {
	Width, Height float64 // the box that it fills, from the foot to the highest crest
	Bands         []Band  // those that have a share, foot first
	// Edge is where free fat meets soap: the superfat.
	Edge Curve
	// Less and More are the same edge at the 2.5 % and the 97.5 % point. With less
	// free fat the edge is higher. Both are nil if there is no interval.
	Less, More Curve
	// Excess says that the interval reaches into alkali in excess. Less would
	// then be above the free fat, and is drawn at its top.
	Excess bool

	area  float64 // of the whole face
	basis *basis
}

// The smallest and largest side of a face, px.
const (
	minFace = 12
	maxFace = 4000
)

// CutFace lays out the strata of bar in a face of w × h. seed decides the crest
// ("" takes the bar's name). The origin is the left top corner of the box, so y =
// h is the foot.
//
// Errors: fault.Invalid on "shares", "wax", "doubt", "mass" or "size".
func CutFace(bar Bar, w, h float64, seed string) (*Face, error) {
	if err := bar.check(); err != nil {
		return nil, err
	}
	if !(w >= minFace && w <= maxFace && h >= minFace && h <= maxFace) {
		return nil, fault.Invalidf("size", "The cut face would be %v × %v px; both sides must lie between %d and %d.", w, h, minFace, maxFace)
	}
	if seed == "" {
		seed = bar.Name
	}
	b := newBasis(w, h, seed)
	f := &Face{Width: w, Height: h, basis: b}
	foot := b.areaUnder(0)
	f.area = b.areaUnder(1) - foot

	var sum float64
	for _, v := range bar.Shares {
		sum += v
	}
	lower := b.curve(0)
	var cum, soap float64
	edge, top := lower, lower // of soap, and of free fat
	last := NumStrata
	for s := range NumStrata {
		if bar.Shares[s] > 0 {
			last = s
		}
	}
	for s := range NumStrata {
		if share := bar.Shares[s]; share > 0 {
			cum += share / sum
			t := 1.0
			if s != last { // the last stratum ends exactly at the crest, without a rounding error
				t = b.solve(foot + cum*f.area)
			}
			upper := b.curve(t)
			f.Bands = append(f.Bands, Band{s, share, lower, upper})
			lower = upper
		}
		switch s {
		case FreeFat - 1:
			edge, soap = lower, cum
		case FreeFat:
			top = lower
		}
	}
	f.Edge = edge
	if d := bar.Doubt; d != nil {
		// The edge moves by what the free fat gains or loses. Everything above
		// the free fat stays where it is. The picture shows one bar, and where
		// its one uncertain edge may be.
		nominal := bar.Shares[FreeFat]
		f.Excess = d.Low < bar.Wax
		f.Less = top
		if low := math.Max(d.Low, bar.Wax); low > 0 {
			f.Less = b.at(soap+(nominal-low)/sum, foot, f.area)
		}
		f.More = b.at(soap+(nominal-d.High)/sum, foot, f.area)
	}
	return f, nil
}

// at gives the boundary that has the share cum of the face's area below it,
// limited to the face.
func (b *basis) at(cum, foot, area float64) Curve {
	switch {
	case cum <= 0:
		return b.curve(0)
	case cum >= 1:
		return b.curve(1)
	}
	return b.curve(b.solve(foot + cum*area))
}

// A basis is the family of all boundaries that a face of one size and seed can
// have: height(x, t), for t from 0 (the foot) to 1 (the crest). The height rises
// with t at every x, so two boundaries never cross. A boundary is a sum of a few
// fixed shapes, with coefficients that depend on t alone. So is the area under
// it, and to place a boundary is to solve one equation in t.
type basis struct {
	w, h, shoulder float64
	corner         float64 // radius of the corners
	ripple         [2]float64
	phase          [2]float64
	xs             []float64            // x of the control points
	shapes         [numShapes][]float64 // height of each shape at the control points
	far            []float64            // height of the crest at the far end of the body
	areas          [numShapes]float64   // area under each shape
}

// The shapes that a boundary is made of.
const (
	shapeFlat  = iota // 1 everywhere: carries the height
	shapeCrest        // the peaks, in full at the crest and absent at the foot
	shapeTop          // the rounded shoulders, downwards
	shapeFoot         // the rounded corners of the foot, upwards
	shapeSin          // two slow waves as sine and cosine, so that their phase can change with t
	shapeCos
	shapeSin2
	shapeCos2
	numShapes
)

// pieces is how many Bézier pieces there are between the two corners. It is even,
// so that there is a control point in the middle, where the letters go.
const pieces = 12

// quarter is the length of the handles of the cubic that is nearest to a quarter
// circle.
const quarter = 0.5522847498

func newBasis(w, h float64, seed string) *basis {
	r := newSeeded(seed)
	b := &basis{w: w, h: h}
	peak := math.Min(0.1*h, 0.17*w) // how far the crest rises above the shoulders
	b.shoulder = h - peak
	b.corner = math.Min(math.Min(0.075*w, 0.05*h), 14)
	b.ripple = [2]float64{0.008 * b.shoulder, 0.0035 * b.shoulder}
	b.phase = [2]float64{2 * math.Pi * 0.7, -2 * math.Pi * 1.1}
	a1, a2 := r.between(0, 2*math.Pi), r.between(0, 2*math.Pi)
	k1, k2 := 2*math.Pi*r.between(0.9, 1.3)/w, 2*math.Pi*r.between(2.1, 2.7)/w
	c := newCrest(r, w, peak)

	inner := (w - 2*b.corner) / pieces
	b.xs = make([]float64, 0, 3*(pieces+2)+1)
	b.xs = append(b.xs, 0, 0, b.corner*(1-quarter))
	for i := range pieces {
		x := b.corner + float64(i)*inner
		b.xs = append(b.xs, x, x+inner/3, x+2*inner/3)
	}
	b.xs = append(b.xs, w-b.corner, w-b.corner*(1-quarter), w, w)

	b.shapes[shapeFlat] = b.spline(func(float64) (float64, float64) { return 1, 0 })
	b.shapes[shapeCrest] = b.spline(c.at)
	wave := func(k, a float64, f, df func(float64) float64) []float64 {
		return b.spline(func(x float64) (float64, float64) { return f(k*x + a), k * df(k*x+a) })
	}
	minusSin := func(x float64) float64 { return -math.Sin(x) }
	b.shapes[shapeSin] = wave(k1, a1, math.Sin, math.Cos)
	b.shapes[shapeCos] = wave(k1, a1, math.Cos, minusSin)
	b.shapes[shapeSin2] = wave(k2, a2, math.Sin, math.Cos)
	b.shapes[shapeCos2] = wave(k2, a2, math.Cos, minusSin)
	b.far = b.spline(newCrest(r, w, peak).at)
	n := len(b.xs)
	bend := make([]float64, n)
	bend[0], bend[n-1] = b.corner, b.corner
	bend[1], bend[n-2] = b.corner*(1-quarter), b.corner*(1-quarter)
	b.shapes[shapeTop], b.shapes[shapeFoot] = bend, bend
	for s := range b.shapes {
		b.areas[s] = areaUnder(b.xs, b.shapes[s])
	}
	return b
}

// spline gives the control heights of a function that returns value and slope.
func (b *basis) spline(f func(x float64) (y, dy float64)) []float64 {
	ys := make([]float64, len(b.xs))
	n := len(ys)
	for i := 0; i < n; i += 3 {
		x := b.xs[i]
		y, dy := f(x)
		ys[i] = y
		// The handles follow the slope. At the outermost points the handle is
		// straight above the end, so its height is that of the end.
		if i > 0 {
			ys[i-1] = y - dy*(x-b.xs[i-1])
		}
		if i < n-1 {
			ys[i+1] = y + dy*(b.xs[i+1]-x)
		}
	}
	return ys
}

// coefficients of the shapes at t.
func (b *basis) coefficients(t float64) (c [numShapes]float64) {
	up, down := t*t, (1-t)*(1-t)
	up, down = up*up, down*down
	c[shapeFlat] = t * b.shoulder
	c[shapeCrest] = t * t
	// The eighth power limits the bend of the corners to the outermost strata.
	// The height still rises with t as long as 8 corners are less than the
	// shoulder, which newBasis makes sure of.
	c[shapeTop] = -up * up
	c[shapeFoot] = down * down
	swell := 4 * t * (1 - t)
	s, k := math.Sincos(b.phase[0] * t)
	c[shapeSin], c[shapeCos] = swell*b.ripple[0]*k, swell*b.ripple[0]*s
	s, k = math.Sincos(b.phase[1] * t)
	c[shapeSin2], c[shapeCos2] = swell*b.ripple[1]*k, swell*b.ripple[1]*s
	return c
}

// areaUnder is the area between the boundary t and the line y = 0.
func (b *basis) areaUnder(t float64) float64 {
	c := b.coefficients(t)
	var a float64
	for s := range c {
		a += c[s] * b.areas[s]
	}
	return a
}

// solve finds the t whose boundary has the area target under it. It uses false
// position with the Illinois rule. The area rises with t, so the root stays
// between the two ends and cannot be missed. It takes about eight steps;
// bisection would take fifty.
func (b *basis) solve(target float64) float64 {
	lo, hi := 0.0, 1.0
	flo, fhi := b.areaUnder(lo)-target, b.areaUnder(hi)-target
	if flo >= 0 {
		return lo
	}
	if fhi <= 0 {
		return hi
	}
	enough := 1e-9 * (fhi - flo)
	t, side := lo, 0
	for range 100 {
		t = (lo*fhi - hi*flo) / (fhi - flo)
		f := b.areaUnder(t) - target
		switch {
		case math.Abs(f) < enough:
			return t
		case f < 0:
			lo, flo = t, f
			if side < 0 {
				fhi /= 2
			}
			side = -1
		default:
			hi, fhi = t, f
			if side > 0 {
				flo /= 2
			}
			side = 1
		}
	}
	return t
}

// curve is the boundary t in the face's own coordinates, y downwards.
func (b *basis) curve(t float64) Curve {
	c := b.coefficients(t)
	out := make(Curve, len(b.xs))
	for i, x := range b.xs {
		var y float64
		for s := range c {
			y += c[s] * b.shapes[s][i]
		}
		out[i] = Point{x, b.h - y}
	}
	return out
}

// areaUnder is the exact area under the chain of cubics with these control
// points. For one cubic, ∫ y dx = Σᵢ Σⱼ yᵢ · 3(xⱼ₊₁ − xⱼ) · ∫ Bᵢ³Bⱼ² du, and
// the last factor is C(3,i)·C(2,j) / (6·C(5,i+j)).
func areaUnder(xs, ys []float64) float64 {
	c3, c2, c5 := [4]float64{1, 3, 3, 1}, [3]float64{1, 2, 1}, [6]float64{1, 5, 10, 10, 5, 1}
	var a float64
	for k := 0; k+3 < len(xs); k += 3 {
		for i := range 4 {
			for j := range 3 {
				a += ys[k+i] * (xs[k+j+1] - xs[k+j]) * c3[i] * c2[j] / (2 * c5[i+j])
			}
		}
	}
	return a
}

// A crest is the top of a poured loaf that was shaped with a spoon: a few
// lopsided peaks.
type crest struct {
	peaks [4]struct{ at, height, left, right float64 }
}

func newCrest(r *seeded, w, peak float64) *crest {
	c := &crest{}
	// One peak is the highest, on one side of the middle or the other. The others
	// fill the shoulders, so that no seed gives a flat top or a single spike.
	mirror := r.between(0, 1) < 0.5
	place := [4]float64{r.between(0.40, 0.56), r.between(0.14, 0.24), r.between(0.70, 0.78), r.between(0.90, 0.98)}
	height := [4]float64{1, r.between(0.28, 0.5), r.between(0.2, 0.42), r.between(0.1, 0.3)}
	for i := range c.peaks {
		p := &c.peaks[i]
		p.at, p.height = place[i]*w, height[i]
		p.left, p.right = r.between(0.065, 0.085)*w, r.between(0.085, 0.13)*w
		if mirror {
			p.at = w - p.at
			p.left, p.right = p.right, p.left
		}
	}
	top := 0.0
	for i := range 65 {
		y, _ := c.at(w * float64(i) / 64)
		top = math.Max(top, y)
	}
	for i := range c.peaks {
		c.peaks[i].height *= peak / top
	}
	return c
}

// at is the height of the crest over the shoulders, and its slope.
func (c *crest) at(x float64) (y, dy float64) {
	for i := range c.peaks {
		p := &c.peaks[i]
		d := x - p.at
		s := p.right
		if d < 0 {
			s = p.left
		}
		g := p.height * math.Exp(-d*d/(2*s*s))
		y += g
		dy -= g * d / (s * s)
	}
	return y, dy
}

// seeded gives the same numbers for the same word, so that every formula keeps
// its own crest. Nothing about it is random.
type seeded struct{ state uint64 }

func newSeeded(word string) *seeded {
	h := fnv.New64a()
	h.Write([]byte(word))
	return &seeded{h.Sum64()}
}

// between gives the next number in [lo, hi). It uses splitmix64, by Sebastiano
// Vigna, which is in the public domain.
func (s *seeded) between(lo, hi float64) float64 {
	s.state += 0x9e3779b97f4a7c15
	z := s.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return lo + (hi-lo)*float64(z>>11)/(1<<53)
}

// farEnd is the crest at the far end of the body: another profile of the same
// height, with the shoulders of the face.
func (b *basis) farEnd() Curve {
	c := b.coefficients(1)
	out := make(Curve, len(b.xs))
	for i, x := range b.xs {
		y := c[shapeFlat]*b.shapes[shapeFlat][i] + b.far[i] + c[shapeTop]*b.shapes[shapeTop][i]
		out[i] = Point{x, b.h - y}
	}
	return out
}
