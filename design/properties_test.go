package design_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"barwright/design"
	"barwright/finding"
	"barwright/formula"
	"barwright/mould"
)

// anySet draws moulds, batters and up to seven designs that embed later ones, up
// to six deep. Levels mostly rise; what cannot be built is drawn too.
func anySet(t *rapid.T) *design.Set {
	s := &design.Set{}
	for i := range rapid.IntRange(1, 3).Draw(t, "moulds") {
		m := box(fmt.Sprint("mould", i), rapid.Float64Range(20, 500).Draw(t, "mL"))
		if rapid.Bool().Draw(t, "measured") {
			m = mould.Mould{ID: m.ID, Shape: mould.Measured, WaterG: []float64{rapid.Float64Range(20, 500).Draw(t, "water")}, WaterC: some(20)}
		}
		m.Cavities, m.Sets = rapid.IntRange(1, 12).Draw(t, "cavities"), rapid.IntRange(1, 3).Draw(t, "sets")
		s.Moulds = append(s.Moulds, m)
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "batters") {
		s.Batters = append(s.Batters, design.Batter{ID: fmt.Sprint("f", i), DensityGML: rapid.Float64Range(0.8, 1.3).Draw(t, "density"),
			PotLossG: rapid.SampledFrom([]float64{0, 15}).Draw(t, "loss"),
			Stage:    formula.Stage(rapid.IntRange(0, 4).Draw(t, "stage")), Portions: []design.Portion{{Name: "sky", Stage: formula.ThickTrace,
				Colourants: []design.Colourant{{ID: "blue", GPerKg: 4}}}}})
	}
	n := rapid.IntRange(1, 7).Draw(t, "designs")
	for i := range n {
		d := design.Design{ID: fmt.Sprint("d", i), Mould: s.Moulds[rapid.IntRange(0, len(s.Moulds)-1).Draw(t, "mould")].ID}
		level := 0.0
		parts := rapid.IntRange(1, 7).Draw(t, "parts")
		for k := range parts {
			p := design.Part{Kind: rapid.SampledFrom(design.Kinds()).Draw(t, "kind")}
			if k == 0 {
				p.Kind = design.Pour
			}
			if p.Kind == design.Embed && i == n-1 {
				p.Kind = design.Pour
			}
			switch {
			case p.Kind.Batter():
				p.Formula = s.Batters[rapid.IntRange(0, len(s.Batters)-1).Draw(t, "batter")].ID
				p.Portion = rapid.SampledFrom([]string{"", "", "sky"}).Draw(t, "portion")
				p.Stage = formula.Stage(rapid.IntRange(0, 4).Draw(t, "stage"))
				switch by := rapid.IntRange(0, 4).Draw(t, "by"); {
				case p.Kind.Level() && by < 3:
					level = max(level+rapid.Float64Range(-5, 60).Draw(t, "rise"), 1)
					p.FillToPct = some(level)
				case by == 3:
					p.MassG = some(rapid.Float64Range(0.1, 60).Draw(t, "g"))
				default:
					p.VolumeML = some(rapid.Float64Range(0.1, 60).Draw(t, "mL"))
				}
			case p.Kind == design.Embed:
				p.Design = fmt.Sprint("d", rapid.IntRange(i+1, n-1).Draw(t, "embed"))
				p.Count = some(float64(rapid.IntRange(1, 3).Draw(t, "count")))
				p.SunkPct = rapid.Float64Range(0, 60).Draw(t, "sunk")
				p.CoveredPct = rapid.Float64Range(0, 40).Draw(t, "covered")
			default:
				p.Item = rapid.SampledFrom([]string{"salt", "band"}).Draw(t, "item")
				if rapid.Bool().Draw(t, "counted") {
					p.Count = some(float64(rapid.IntRange(1, 5).Draw(t, "items")))
				} else {
					p.MassG = some(rapid.Float64Range(0.1, 5).Draw(t, "g"))
				}
			}
			d.Parts = append(d.Parts, p)
		}
		s.Designs = append(s.Designs, d)
	}
	return s
}

func cavity(s *design.Set, id string) float64 {
	i := slices.IndexFunc(s.Moulds, func(m mould.Mould) bool { return m.ID == id })
	v, err := s.Moulds[i].Volume()
	if err != nil {
		panic(err)
	}
	return v.Value
}

func named(s *design.Set, id string) *design.Design {
	return &s.Designs[slices.IndexFunc(s.Designs, func(d design.Design) bool { return d.ID == id })]
}

// byHand is the volume and mass of a part, worked out another way: a level part
// looks back for the level under it and round for what lies in it, and an embed
// asks its own parts.
func byHand(s *design.Set, d *design.Design, k int) (ml, g float64) {
	p := &d.Parts[k]
	density := 0.0
	for _, b := range s.Batters {
		if b.ID == p.Formula {
			density = b.DensityGML
		}
	}
	switch {
	case p.Kind == design.Embed:
		e := named(s, p.Design)
		for j := range e.Parts {
			if e.Parts[j].Kind != design.Wrap {
				v, m := byHand(s, e, j)
				ml, g = ml+p.Count.V*v, g+p.Count.V*m
			}
		}
		return ml, g
	case p.Kind.Item():
		return 0, p.MassG.Or(0)
	case p.VolumeML.Known:
		return p.VolumeML.V, p.VolumeML.V * density
	case p.MassG.Known:
		return p.MassG.V / density, p.MassG.V
	}
	v := cavity(s, d.Mould)
	ml = max(p.FillToPct.V/100*v-levelBelow(s, d, k)-inside(s, d, k), 0)
	return ml, ml * density
}

// levelBelow is where the fill stands before part k, mL.
func levelBelow(s *design.Set, d *design.Design, k int) float64 {
	for j := k - 1; j >= 0; j-- {
		if d.Parts[j].Kind.Level() {
			ml, _ := byHand(s, d, j)
			return levelBelow(s, d, j) + ml + inside(s, d, j)
		}
	}
	return 0
}

// inside is what embeds take of level part k, mL.
func inside(s *design.Set, d *design.Design, k int) float64 {
	sum := 0.0
	for j := k + 1; j < len(d.Parts) && !d.Parts[j].Kind.Level(); j++ {
		if d.Parts[j].Kind == design.Embed {
			ml, _ := byHand(s, d, j)
			sum += ml * d.Parts[j].SunkPct / 100
		}
	}
	for j := k - 1; j >= 0 && !d.Parts[j].Kind.Level(); j-- {
		if d.Parts[j].Kind == design.Embed {
			ml, _ := byHand(s, d, j)
			sum += ml * d.Parts[j].CoveredPct / 100
		}
	}
	return sum
}

// shop makes pieces one after another, taking embeds from what is at hand first.
type shop struct {
	s     *design.Set
	stock map[string]int
	used  map[string]float64 // g by formula
	made  map[string]int
}

func (w *shop) make(id string) {
	w.made[id]++
	d := named(w.s, id)
	for k := range d.Parts {
		p := &d.Parts[k]
		switch {
		case p.Kind.Batter():
			_, g := byHand(w.s, d, k)
			w.used[p.Formula] += g
		case p.Kind == design.Embed:
			for range int(p.Count.V) {
				if w.stock[p.Design] > 0 {
					w.stock[p.Design]--
					continue
				}
				w.make(p.Design)
			}
		}
	}
}

func same(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

func TestWhatIsTakenApartIsTheSumOfItsParts(t *testing.T) {
	stops := 0
	rapid.Check(t, func(t *rapid.T) {
		s := anySet(t)
		pieces := rapid.IntRange(1, 4).Draw(t, "pieces")
		o := design.Options{OveragePct: rapid.Float64Range(0, 10).Draw(t, "overage"), Stock: map[string]int{}}
		for _, d := range s.Designs {
			o.Stock[d.ID] = rapid.IntRange(0, 6).Draw(t, "stock")
		}
		wants := []design.Want{{Design: "d0", Pieces: pieces}}
		n, err := design.Explode(s, wants, o)
		if err != nil {
			t.Fatal(err)
		}
		if w, _ := finding.Worst(n.Findings); w == finding.Stop {
			stops++
		}
		w := &shop{s: s, stock: map[string]int{}, used: map[string]float64{}, made: map[string]int{}}
		for id, k := range o.Stock {
			w.stock[id] = k
		}
		for range pieces {
			w.make("d0")
		}
		for _, p := range n.Pieces {
			d := named(s, p.Design)
			if p.Net != w.made[p.Design] || p.Cavities != p.Net {
				t.Fatalf("%d of %s are made in %d cavities, by hand %d", p.Net, p.Design, p.Cavities, w.made[p.Design])
			}
			var ml, g, in, taken float64
			falls := false
			for k, q := range p.Parts {
				v, m := byHand(s, d, k)
				if !same(q.VolumeML, v) || !same(q.MassG, m) {
					t.Fatalf("%s part %d: %g mL %g g, by hand %g mL %g g", p.Design, k+1, q.VolumeML, q.MassG, v, m)
				}
				if q.Kind != design.Wrap {
					ml, g = ml+v, g+m
				}
				if q.Kind.Level() {
					taken += q.DisplacedML
					if cav := cavity(s, d.Mould); !same((q.ToPct-q.FromPct)/100*cav, q.VolumeML+q.DisplacedML) {
						t.Fatalf("%s part %d rises by %g mL, and holds %g and %g", p.Design, k+1, (q.ToPct-q.FromPct)/100*cav, q.VolumeML, q.DisplacedML)
					}
					if q.ToPct > 100*(1+1e-6) {
						falls = true
					}
				}
				if q.Kind == design.Embed {
					in += v * (d.Parts[k].SunkPct + d.Parts[k].CoveredPct) / 100
				}
			}
			if !same(p.PieceG, g) || !same(p.VolumeML, ml) {
				t.Fatalf("%s: %g g, its parts %g g; %g mL, its parts %g mL", p.Design, p.PieceG, g, p.VolumeML, ml)
			}
			said := rules(n.FindingsOf(p.Design), finding.Stop)
			if falls != slices.Contains(said, "cavity-over-full") {
				t.Fatalf("%s runs over: %v, said: %v", p.Design, falls, said)
			}
			// What embeds take is all in some fill, unless there is none there.
			if !same(in, taken) && !(taken < in && slices.Contains(said, "embed-over-fill")) {
				t.Fatalf("%s: embeds take %g mL, and the fills give way by %g", p.Design, in, taken)
			}
		}
		for _, b := range n.Batches {
			i := slices.IndexFunc(s.Batters, func(x design.Batter) bool { return x.ID == b.Formula })
			if !same(b.PartsG, w.used[b.Formula]) || !same(b.MassG, w.used[b.Formula]*(1+o.OveragePct/100)+s.Batters[i].PotLossG) || !same(b.VolumeML,
				b.MassG/s.Batters[i].DensityGML) {
				t.Fatalf("%s: %+v, by hand %g g", b.Formula, b, w.used[b.Formula])
			}
			var g, coloured float64
			for _, v := range b.Vessels {
				g += v.BatterG
				coloured += v.MassG
				for _, c := range v.Colourants {
					coloured -= c.MassG
				}
			}
			if !same(g, b.MassG) || !same(coloured, b.MassG) {
				t.Fatalf("%s: %g g in its vessels, %g without colour, of %g", b.Formula, g, coloured, b.MassG)
			}
			delete(w.used, b.Formula)
		}
		for id, g := range w.used {
			if g > 1e-9 {
				t.Fatalf("%g g of %s has no batch", g, id)
			}
		}
		for _, e := range n.Embeds {
			sum := 0
			for _, f := range e.For {
				sum += f.Pieces
			}
			if sum != e.Gross || e.Stock+e.Pieces != e.Gross {
				t.Fatalf("%+v", e)
			}
		}
		order(t, s, n)
	})
	if stops == 0 {
		t.Error("nothing that cannot be built was drawn: this test has tested half")
	}
}

// order holds the pours to their order.
func order(t *rapid.T, s *design.Set, n *design.Need) {
	at := map[string]int{} // the last pour of each design
	for k, p := range n.Pours {
		at[p.Design] = k
	}
	next := map[string]int{}
	for k, p := range n.Pours {
		if p.Part <= next[p.Design] {
			t.Fatalf("part %d of %s is poured after part %d", p.Part, p.Design, next[p.Design])
		}
		next[p.Design] = p.Part
		for _, q := range named(s, p.Design).Parts {
			if j, ok := at[q.Design]; q.Kind == design.Embed && ok && j > k {
				t.Fatalf("%s is poured before its embed %s", p.Design, q.Design)
			}
		}
	}
}

func TestForwardAndBackAgree(t *testing.T) {
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		s := anySet(t)
		o := design.Options{OveragePct: rapid.Float64Range(0, 10).Draw(t, "overage")}
		want := rapid.IntRange(1, 500).Draw(t, "pieces")
		n, err := design.Explode(s, []design.Want{{Design: "d0", Pieces: want}}, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range n.Batches {
			if b.PartsG/float64(want) < 1e-3 {
				continue
			}
			tried++
			f, err := design.Forward(s, "d0", b.Formula, b.MassG, o)
			if err != nil {
				t.Fatal(err)
			}
			each := b.PartsG * (1 + o.OveragePct/100) / float64(want)
			if len(f.Wants) != 1 || f.Wants[0].Pieces != want || f.LeftG.V > 1e-6*each {
				t.Fatalf("%g g of %s fill %v with %g g left, want %d", b.MassG, b.Formula, f.Wants, f.LeftG.V, want)
			}
			// A little less fills one less, and a little more leaves that much.
			less, err := design.Forward(s, "d0", b.Formula, b.MassG-each/2, o)
			if err != nil {
				t.Fatal(err)
			}
			got := 0
			for _, w := range less.Wants {
				got += w.Pieces
			}
			if got != want-1 || math.Abs(less.LeftG.V-each/2) > 1e-6*b.MassG {
				t.Fatalf("half a piece short of %d: %d pieces, %g g left of %g each", want, got, less.LeftG.V, each)
			}
		}
	})
	if tried == 0 {
		t.Error("no pot was tried: this test has tested nothing")
	}
}

func TestACutBlockNeverGivesFewerThanAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cut := mould.Mould{ID: "slab", Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: some(300), WidthMM: some(200), DepthMM: some(30)},
			Cavities: 1, Sets: 1,
			Cut: &mould.Cut{Along: rapid.IntRange(1, 6).Draw(t, "along"), Across: rapid.IntRange(1, 4).Draw(t, "across"), Layers: 1}}
		s := &design.Set{Moulds: []mould.Mould{cut}, Batters: []design.Batter{{ID: "f", DensityGML: 1.1, PotLossG: 9}},
			Designs: []design.Design{{ID: "cube", Mould: "slab", Parts: []design.Part{pour("f", 70)}}}}
		want := rapid.IntRange(1, 200).Draw(t, "pieces")
		n, err := design.Explode(s, []design.Want{{Design: "cube", Pieces: want}}, design.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p, bars := n.Pieces[0], cut.Bars()
		if p.Cavities*bars < want || (p.Cavities-1)*bars >= want || !same(p.PieceG*float64(bars*p.Cavities), n.Batches[0].PartsG) {
			t.Fatalf("%d blocks of %d bars for %d", p.Cavities, bars, want)
		}
		f, err := design.Forward(s, "cube", "f", n.Batches[0].MassG, design.Options{})
		if err != nil || f.Wants[0].Pieces != p.Cavities*bars {
			t.Fatalf("%v, %v", f.Wants, err)
		}
	})
}
