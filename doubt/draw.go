package doubt

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Sample is what many draws of a model gave, draw by draw. Its methods do not
// change what it holds, but they share working space, so only one goroutine may
// use it at a time.
type Sample struct {
	values [][]float64 // output × draw, in the order drawn
	work   []picked    // for each output, the same values partly sorted
}

// picked is a copy of one output's values that is sorted only as far as it was
// needed.
type picked struct {
	v      []float64
	placed []int // ranks whose value is where a full sort would put it, ascending
	sorted bool
}

// Draw works out the model for draws random sets of inputs (JCGM 101:2008,
// clause 7). Each time, the model reads one set from x and writes its outputs
// to y. It must not keep either slice, nor write x. Exact inputs cost nothing.
//
// The same inputs, numbers and seed give the same draws on every machine, as
// long as the model does. Write float64(a*b) + c in the model, since some
// processors fuse a bare a*b + c. A normal input is drawn with the help of
// math.Exp, whose last bit may differ between processors. That shows in about
// one of 10^15 draws.
//
// The inputs are not checked; Check says which ones would spoil the result.
// With no outputs or no draws the Sample is empty.
func Draw(model func(x, y []float64), in []Input, outputs, draws int, seed uint64) *Sample {
	if outputs <= 0 || draws <= 0 {
		return &Sample{}
	}
	s := &Sample{values: make([][]float64, outputs), work: make([]picked, outputs)}
	for o := range s.values {
		s.values[o] = make([]float64, draws)
	}
	// The generator is called directly. Through the rand.Source interface a
	// number costs twice as much.
	pcg := rand.NewPCG(seed, 0x62617277726967) // "barwrig": any constant would do
	slow := rand.New(pcg)

	x := make([]float64, len(in))
	y := make([]float64, outputs)
	type flat struct {
		at          int
		lowest, per float64
	}
	var flats []flat
	var others []int
	for i := range in {
		p := &in[i]
		x[i] = p.Value
		switch {
		case p.SD() == 0:
		case p.Dist == Rectangular:
			// Each input gets 32 random bits, so that one number from the
			// generator serves two inputs. That gives 4 thousand million steps
			// over the range, which begin and end half a step inside it.
			per := 2 * p.Width / (1 << 32)
			flats = append(flats, flat{at: i, lowest: p.Value - p.Width + per/2, per: per})
		default:
			others = append(others, i)
		}
	}
	pairs, odd := flats[:len(flats)&^1], flats[len(flats)&^1:]
	for d := range draws {
		for k := 1; k < len(pairs); k += 2 {
			bits := pcg.Uint64()
			a, b := &pairs[k-1], &pairs[k]
			x[a.at] = float64(float64(uint32(bits))*a.per) + a.lowest
			x[b.at] = float64(float64(uint32(bits>>32))*b.per) + b.lowest
		}
		for k := range odd {
			a := &odd[k]
			x[a.at] = float64(float64(uint32(pcg.Uint64()))*a.per) + a.lowest
		}
		for _, i := range others {
			x[i] = draw(&in[i], slow)
		}
		model(x, y)
		for o, v := range y {
			s.values[o][d] = v
		}
	}
	return s
}

// draw is one value of an input that is neither exact nor rectangular.
func draw(in *Input, r *rand.Rand) float64 {
	switch in.Dist {
	case Triangular:
		return in.Value + float64(in.Width*(r.Float64()+r.Float64()-1)) // JCGM 101 6.4.5.4
	case Normal:
		return in.Value + float64(in.Width*r.NormFloat64())
	case StudentT:
		return in.Value + float64(in.Width*studentT(in.DoF, r))
	default:
		return in.Value
	}
}

// studentT draws from Student's t with nu degrees of freedom, by the polar
// method: R. W. Bailey, Math. Comp. 62 (1994) 779.
func studentT(nu float64, r *rand.Rand) float64 {
	for {
		u, v := 2*r.Float64()-1, 2*r.Float64()-1
		w := float64(u*u) + float64(v*v)
		if w > 0 && w < 1 {
			return u * math.Sqrt(nu*(math.Pow(w, -2/nu)-1)/w)
		}
	}
}

// Draws is how many draws the sample holds.
func (s *Sample) Draws() int {
	if len(s.values) == 0 {
		return 0
	}
	return len(s.values[0])
}

// Outputs is how many outputs each draw has.
func (s *Sample) Outputs() int { return len(s.values) }

// Values are the draws of one output, in the order drawn. The outputs of one
// draw have the same index. The slice belongs to the sample and must not be
// changed.
func (s *Sample) Values(output int) []float64 { return s.values[output] }

// Mean is the average of an output (JCGM 101 7.6). It is 0 for an empty sample.
func (s *Sample) Mean(output int) float64 {
	if s.Draws() == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range s.values[output] {
		sum += v
	}
	return sum / float64(s.Draws())
}

// SD is the standard deviation of an output, with the number of draws less one
// as the divisor (JCGM 101 7.6). It is 0 with fewer than two draws.
func (s *Sample) SD(output int) float64 {
	if s.Draws() < 2 {
		return 0
	}
	mean, sum := s.Mean(output), 0.0
	for _, v := range s.values[output] {
		sum += float64((v - mean) * (v - mean))
	}
	return math.Sqrt(sum / float64(s.Draws()-1))
}

// ShareBelow is the share of draws with an output below limit, 0 to 1. It is 0
// for an empty sample.
func (s *Sample) ShareBelow(output int, limit float64) float64 {
	if s.Draws() == 0 {
		return 0
	}
	n := 0
	for _, v := range s.values[output] {
		if v < limit {
			n++
		}
	}
	return float64(n) / float64(s.Draws())
}

// Quantile is the smallest drawn value that at least the share p of the draws
// do not exceed. p is moved into [0, 1]: 0 gives the smallest value, 1 the
// greatest. It is 0 for an empty sample.
func (s *Sample) Quantile(output int, p float64) float64 {
	if s.Draws() == 0 {
		return 0
	}
	// The small step down keeps 0.1 of 30 draws at the third one. Without it
	// 3.0000000000000004 would round up to the fourth.
	return s.ranked(output, int(math.Ceil(p*float64(s.Draws())-1e-9))-1)
}

// SymmetricInterval is the interval that holds the share p of the draws and
// leaves as many below it as above (JCGM 101 7.7.2).
func (s *Sample) SymmetricInterval(output int, p float64) (lo, hi float64) {
	m := s.Draws()
	if m == 0 {
		return 0, 0
	}
	q := s.held(p)
	r := (m - q + 1) / 2
	return s.ranked(output, r-1), s.ranked(output, r+q-1)
}

// ShortestInterval is the shortest interval that holds the share p of the draws
// (JCGM 101 7.7.4). It sorts all draws.
func (s *Sample) ShortestInterval(output int, p float64) (lo, hi float64) {
	m := s.Draws()
	if m == 0 {
		return 0, 0
	}
	w := s.worked(output)
	w.sort()
	q := min(s.held(p), m-1)
	best := 0
	for r := 1; r+q < m; r++ {
		if w.v[r+q]-w.v[r] < w.v[best+q]-w.v[best] {
			best = r
		}
	}
	return w.v[best], w.v[best+q]
}

// held is how many draws the share p stands for.
func (s *Sample) held(p float64) int {
	m := s.Draws()
	return min(max(int(p*float64(m)+0.5), 0), m)
}

// ranked is the value of rank k, counted from 0. k is moved into range.
func (s *Sample) ranked(output, k int) float64 {
	w := s.worked(output)
	k = min(max(k, 0), len(w.v)-1)
	w.place(k)
	return w.v[k]
}

func (s *Sample) worked(output int) *picked {
	w := &s.work[output]
	if w.v == nil {
		w.v = slices.Clone(s.values[output])
		for _, v := range w.v {
			if v != v {
				// The model gave a NaN, and only the sort knows where to put
				// it.
				w.sort()
				break
			}
		}
	}
	return w
}

func (w *picked) sort() {
	if !w.sorted {
		slices.Sort(w.v)
		w.sorted = true
	}
}

// place puts the value of rank k where a full sort would put it, by selection
// between the nearest ranks that were placed before.
func (w *picked) place(k int) {
	if w.sorted {
		return
	}
	at, found := slices.BinarySearch(w.placed, k)
	if found {
		return
	}
	lo, hi := 0, len(w.v)-1
	if at > 0 {
		lo = w.placed[at-1] + 1
	}
	if at < len(w.placed) {
		hi = w.placed[at] - 1
	}
	pick(w.v, lo, hi, k)
	w.placed = slices.Insert(w.placed, at, k)
}

// pick rearranges v[lo:hi+1] so that v[k] is the value of rank k, nothing
// before it is greater and nothing after it is smaller. Source: R. W. Floyd and
// R. L. Rivest, Comm. ACM 18 (1975) 173, algorithm 489. It first selects in a
// small sample, so that it goes through the whole about one and a half times.
func pick(v []float64, lo, hi, k int) {
	for hi > lo {
		if hi-lo > 600 {
			n, i := float64(hi-lo+1), float64(k-lo+1)
			z := math.Log(n)
			size := 0.5 * math.Exp(2*z/3)
			off := 0.5 * math.Sqrt(z*size*(n-size)/n)
			if i < n/2 {
				off = -off
			}
			pick(v, max(lo, int(float64(k)-i*size/n+off)), min(hi, int(float64(k)+(n-i)*size/n+off)), k)
		}
		t := v[k]
		i, j := lo, hi
		v[lo], v[k] = v[k], v[lo]
		if v[hi] > t {
			v[hi], v[lo] = v[lo], v[hi]
		}
		for i < j {
			v[i], v[j] = v[j], v[i]
			i++
			j--
			for v[i] < t {
				i++
			}
			for v[j] > t {
				j--
			}
		}
		if v[lo] == t {
			v[lo], v[j] = v[j], v[lo]
		} else {
			j++
			v[j], v[hi] = v[hi], v[j]
		}
		if j <= k {
			lo = j + 1
		}
		if k <= j {
			hi = j - 1
		}
	}
}
