package design_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
)

var some = quantity.Some

// box is a cuboid of so many mL, in sets that are never short.
func box(id string, ml float64) mould.Mould {
	return mould.Mould{ID: id, Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: some(100), WidthMM: some(100), DepthMM: some(ml / 10)},
		Cavities: 10, Sets: 1}
}

func pour(f string, pct float64) design.Part {
	return design.Part{Kind: design.Pour, Formula: f, FillToPct: some(pct)}
}

func embed(d string, count, sunk, covered float64) design.Part {
	return design.Part{Kind: design.Embed, Design: d, Count: some(count), SunkPct: sunk, CoveredPct: covered}
}

func explode(t *testing.T, s *design.Set, o design.Options, wants ...design.Want) *design.Need {
	t.Helper()
	n, err := design.Explode(s, wants, o)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

func rules(fs []finding.Finding, least finding.Severity) []string {
	var out []string
	for _, f := range fs {
		if f.Severity >= least {
			out = append(out, f.Rule)
		}
	}
	return out
}

func piece(t *testing.T, n *design.Need, id string) design.PieceNeed {
	t.Helper()
	for _, p := range n.Pieces {
		if p.Design == id {
			return p
		}
	}
	t.Fatalf("%s is not among the pieces", id)
	return design.PieceNeed{}
}

// The bracket: J. Heizer, B. Render and C. Munson, Operations Management, 12th
// ed., Pearson 2017, problem 14.3: what 50 brackets need, gross and net, as its
// published solution has it. The structure and the stock (25 bases, 100 clamps)
// are from memory; the solution's eight gross and eight net numbers hold them.
func TestABillOfMaterialsIsExplodedAndNettedAsInTheTextbook(t *testing.T) {
	of := func(id string, parts ...design.Part) design.Design {
		return design.Design{ID: id, Mould: "box", Parts: append([]design.Part{pour("ink", 50)}, parts...)}
	}
	s := &design.Set{Moulds: []mould.Mould{box("box", 1000)}, Batters: []design.Batter{{ID: "ink", DensityGML: 1}}, Designs: []design.Design{
		of("bracket", embed("base", 1, 0, 0), embed("spring", 2, 0, 0), embed("clamp", 4, 0, 0)),
		of("base", embed("clamp", 1, 0, 0), embed("housing", 2, 0, 0)),
		of("clamp", embed("handle", 1, 0, 0), embed("casting", 1, 0, 0)),
		of("housing", embed("bearing", 2, 0, 0), embed("shaft", 1, 0, 0)),
		of("spring"), of("handle"), of("casting"), of("bearing"), of("shaft"),
	}}
	gross := map[string]int{"base": 50, "spring": 100, "clamp": 250, "handle": 250, "casting": 250, "housing": 100, "bearing": 200, "shaft": 100}
	net := map[string]int{"base": 25, "spring": 100, "clamp": 125, "handle": 125, "casting": 125, "housing": 50, "bearing": 100, "shaft": 50}
	for _, c := range []struct {
		stock map[string]int
		want  map[string]int
	}{{nil, gross}, {map[string]int{"base": 25, "clamp": 100}, net}} {
		n := explode(t, s, design.Options{Stock: c.stock}, design.Want{Design: "bracket", Pieces: 50})
		if len(n.Embeds) != len(c.want) {
			t.Errorf("%d embeds, want %d", len(n.Embeds), len(c.want))
		}
		for _, e := range n.Embeds {
			if e.Pieces != c.want[e.Design] {
				t.Errorf("with %v at hand, %d of %s are made, want %d", c.stock, e.Pieces, e.Design, c.want[e.Design])
			}
		}
	}
}

// Orlicky's Material Requirements Planning, 3rd ed., figure 7-10, summed over its
// nine periods: 59 of A are released; 28 of B and 8 of C are at hand; 31 of B and
// 23 of C are released.
func TestNettingGoesDownLevelByLevel(t *testing.T) {
	s := &design.Set{Moulds: []mould.Mould{box("box", 1000)}, Batters: []design.Batter{{ID: "ink", DensityGML: 1}}, Designs: []design.Design{
		{ID: "a", Mould: "box", Parts: []design.Part{pour("ink", 50), embed("b", 1, 0, 0)}},
		{ID: "b", Mould: "box", Parts: []design.Part{pour("ink", 50), embed("c", 1, 0, 0)}},
		{ID: "c", Mould: "box", Parts: []design.Part{pour("ink", 50)}},
	}}
	// What is at hand of A is for embedding only, and 59 finished pieces are wanted.
	n := explode(t, s, design.Options{Stock: map[string]int{"a": 12, "b": 28, "c": 8}}, design.Want{Design: "a", Pieces: 59})
	for id, want := range map[string]int{"a": 59, "b": 31, "c": 23} {
		if got := piece(t, n, id).Net; got != want {
			t.Errorf("%d of %s are made, want %d", got, id, want)
		}
	}
}

// What is at hand is set in, and not sold: 2 lamps that are wanted for themselves are
// made, though 10 are there and only 3 of them go into houses.
func TestWhatIsAtHandIsForEmbeddingOnly(t *testing.T) {
	n := explode(t, lighthouse(), design.Options{Stock: map[string]int{"lamp": 10}}, design.Want{Design: "house", Pieces: 3},
		design.Want{Design: "lamp", Pieces: 2})
	if p := piece(t, n, "lamp"); p.Gross != 5 || p.Net != 2 || p.Cavities != 2 {
		t.Errorf("%d lamps of %d are made, in %d cavities", p.Net, p.Gross, p.Cavities)
	}
	if e := n.Embeds[0]; e.Gross != 3 || e.Stock != 3 || e.Pieces != 0 {
		t.Errorf("as embeds: %+v", e)
	}
}

// A flame is set into a beacon, and into a lamp that is set into a house. It is cast
// before the lamp, whichever of the two was asked for first.
func TestAnEmbedIsCastBeforeAllThatTakeIt(t *testing.T) {
	thick := pour("white", 50)
	thick.Stage = formula.ThickTrace
	s := &design.Set{Moulds: []mould.Mould{box("box", 100)}, Batters: []design.Batter{{ID: "white", DensityGML: 1, Method: formula.Melt}},
		Designs: []design.Design{
			{ID: "house", Mould: "box", Parts: []design.Part{pour("white", 50), embed("lamp", 1, 0, 0)}},
			{ID: "beacon", Mould: "box", Parts: []design.Part{pour("white", 50), embed("flame", 1, 0, 0)}},
			{ID: "lamp", Mould: "box", Parts: []design.Part{pour("white", 50), embed("flame", 1, 0, 0)}},
			{ID: "flame", Mould: "box", Parts: []design.Part{thick}},
		}}
	for _, first := range []string{"house", "beacon"} {
		second := map[string]string{"house": "beacon", "beacon": "house"}[first]
		n := explode(t, s, design.Options{}, design.Want{Design: first, Pieces: 1}, design.Want{Design: second, Pieces: 1})
		var got []string
		for _, p := range n.Pours {
			got = append(got, p.Design)
		}
		if len(got) != 4 || got[0] != "flame" || got[1] != "lamp" {
			t.Errorf("with the %s asked for first, they are poured %v", first, got)
		}
	}
}

// By hand: a cavity of 100 mL; an embed of 10 mL, 40 % of it sunk in the pour
// before it and 50 % covered by the topping after it.
func TestEmbedsDisplaceWhatTheyLieIn(t *testing.T) {
	s := &design.Set{
		Moulds:  []mould.Mould{box("house", 100), box("cup", 10)},
		Batters: []design.Batter{{ID: "white", DensityGML: 1.1, PotLossG: 15}, {ID: "rock", DensityGML: 1.2}},
		Designs: []design.Design{
			{ID: "house", Mould: "house", Parts: []design.Part{
				pour("white", 60), embed("lamp", 1, 40, 50),
				{Kind: design.Topping, Formula: "rock", FillToPct: some(90)},
				{Kind: design.Piping, Formula: "white", VolumeML: some(5)},
				{Kind: design.Sprinkle, Item: "salt", MassG: some(2)},
				{Kind: design.Wrap, Item: "band", Count: some(1)},
			}},
			{ID: "lamp", Mould: "cup", Parts: []design.Part{pour("rock", 100)}},
		},
	}
	n := explode(t, s, design.Options{OveragePct: 5}, design.Want{Design: "house", Pieces: 20})
	h := piece(t, n, "house")
	near(t, "the pour", h.Parts[0].VolumeML, 60-4)
	near(t, "what lies in the pour", h.Parts[0].DisplacedML, 4)
	near(t, "the topping", h.Parts[2].VolumeML, 30-5)
	near(t, "the embed", h.Parts[1].MassG, 12)
	near(t, "the level after the topping", h.Parts[2].ToPct, 90)
	near(t, "the level at the piping", h.Parts[3].ToPct, 90)
	near(t, "the piece", h.PieceG, 56*1.1+12+25*1.2+5*1.1+2)
	near(t, "the volume of the piece", h.VolumeML, 56+10+25+5)
	near(t, "white", n.Batches[slices.IndexFunc(n.Batches, func(b design.BatchNeed) bool { return b.Formula == "white" })].MassG, 20*(61*1.1)*1.05+15)
	near(t, "rock", n.Batches[slices.IndexFunc(n.Batches, func(b design.BatchNeed) bool { return b.Formula == "rock" })].MassG, 20*(35*1.2)*1.05)
	if got := n.Items; len(got) != 2 || got[0].MassG != 40 || got[1].Count != 20 || !got[1].Wrap {
		t.Errorf("to set out: %+v", got)
	}
	if bad := rules(n.Findings, finding.Warn); len(bad) > 0 {
		t.Errorf("findings %v", bad)
	}

	// The same embed listed before the pour lies covered by it, and lessens it.
	s.Designs[0].Parts = []design.Part{pour("white", 30), embed("lamp", 1, 0, 90), pour("white", 60)}
	h = piece(t, explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 1}), "house")
	near(t, "the pour before", h.Parts[0].VolumeML, 30)
	near(t, "the pour after", h.Parts[2].VolumeML, 30-9)

	// By volume and by mass a part keeps its volume, and the level rises by the embed too.
	s.Designs[0].Parts = []design.Part{{Kind: design.Pour, Formula: "white", VolumeML: some(40)}, embed("lamp", 2, 50, 50), {Kind: design.Pour,
		Formula: "white", MassG: some(22)}}
	h = piece(t, explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 1}), "house")
	near(t, "the level after 40 mL and what is sunk", h.Parts[0].ToPct, 50)
	near(t, "the level after 20 mL and what is covered", h.Parts[2].ToPct, 80)
}

func TestWhatCannotBeBuiltIsAStop(t *testing.T) {
	lamp := design.Design{ID: "lamp", Mould: "cup", Parts: []design.Part{pour("rock", 100)}}
	for _, c := range []struct {
		name, rule string
		parts      []design.Part
	}{
		{"a level that falls", "level-falls", []design.Part{pour("rock", 80), pour("rock", 70)}},
		{"a level above the brim", "cavity-over-full", []design.Part{pour("rock", 101)}},
		{"volumes above the brim", "cavity-over-full", []design.Part{{Kind: design.Pour, Formula: "rock", VolumeML: some(60)}, {Kind: design.Topping,
			Formula: "rock", VolumeML: some(41)}}},
		{"an embed that lifts the fill over the brim", "cavity-over-full", []design.Part{{Kind: design.Pour, Formula: "rock", VolumeML: some(95)},
			embed("lamp", 1, 60, 0)}},
		{"an embed larger than its fill", "embed-over-fill", []design.Part{pour("rock", 80), pour("rock", 85), embed("lamp", 1, 60, 0)}},
		{"an embed sunk in nothing", "embed-over-fill", []design.Part{embed("lamp", 1, 60, 0), pour("rock", 85)}},
		{"an embed covered by nothing", "embed-over-fill", []design.Part{pour("rock", 85), embed("lamp", 1, 0, 60)}},
		{"an embed larger than its cavity", "embed-too-large", []design.Part{pour("rock", 100), embed("vat", 1, 60, 0)}},
		{"an embed too wide for its cavity", "embed-too-large", []design.Part{pour("rock", 100), embed("disc", 1, 100, 0)}},
	} {
		s := &design.Set{
			Moulds: []mould.Mould{box("house", 100), box("cup", 10), box("vat", 200), {ID: "disc", Shape: mould.Cylinder,
				Dimensions: mould.Dimensions{DiameterMM: some(150), DepthMM: some(1)}, Cavities: 1, Sets: 1}},
			Batters: []design.Batter{{ID: "rock", DensityGML: 1}},
			Designs: []design.Design{{ID: "house", Mould: "house", Parts: c.parts}, lamp, {ID: "vat", Mould: "vat", Parts: []design.Part{pour("rock", 100)}},
				{ID: "disc", Mould: "disc", Parts: []design.Part{pour("rock", 100)}}},
		}
		n := explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 3})
		if got := rules(n.Findings, finding.Stop); !slices.Contains(got, c.rule) {
			t.Errorf("%s: %v say stop, want %s", c.name, got, c.rule)
		}
		for _, f := range n.Findings {
			if f.Message == "" || f.Source == "" || f.Remedy == "" || !strings.ContainsAny(f.Message, "0123456789") {
				t.Errorf("%s: %+v lacks its words, its numbers or its source", c.name, f)
			}
		}
		for _, q := range piece(t, n, "house").Parts {
			if q.VolumeML < 0 || q.MassG < 0 {
				t.Errorf("%s: part %d has %g mL, %g g", c.name, q.Part, q.VolumeML, q.MassG)
			}
		}
	}
}

func TestWhatStandsProudCountsAgainstNoLimit(t *testing.T) {
	s := &design.Set{Moulds: []mould.Mould{box("house", 100), box("vat", 200)}, Batters: []design.Batter{{ID: "rock", DensityGML: 1}}, Designs: []design.Design{
		{ID: "house", Mould: "house", Parts: []design.Part{pour("rock", 100), embed("vat", 1, 0, 0)}}, {ID: "vat", Mould: "vat",
			Parts: []design.Part{pour("rock", 100)}}}}
	n := explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 1})
	if len(rules(n.Findings, finding.Warn)) > 0 {
		t.Errorf("findings %v", n.Findings)
	}
	near(t, "the piece", piece(t, n, "house").VolumeML, 300)
}

// A loaf of 4 × 2 bars: 12 wanted are 2 blocks, whole, and 16 bars.
func TestABlockIsPouredWholeAndSharedByItsBars(t *testing.T) {
	loaf := mould.Mould{ID: "loaf", Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: some(200), WidthMM: some(100), DepthMM: some(50)},
		Cavities: 1, Sets: 1, Cut: &mould.Cut{Along: 4, Across: 2, Layers: 1}}
	s := &design.Set{Moulds: []mould.Mould{loaf, box("cup", 10)}, Batters: []design.Batter{{ID: "sand", DensityGML: 1.2}}, Designs: []design.Design{
		{ID: "pebble", Mould: "loaf", Parts: []design.Part{pour("sand", 80), embed("core", 16, 100, 0), {Kind: design.Sprinkle, Item: "salt",
			MassG: some(40)}, {Kind: design.Wrap, Item: "band", Count: some(1)}}},
		{ID: "core", Mould: "cup", Parts: []design.Part{pour("sand", 100)}}}}
	n := explode(t, s, design.Options{}, design.Want{Design: "pebble", Pieces: 12})
	p := piece(t, n, "pebble")
	if p.Cavities != 2 || p.Net != 12 || n.Embeds[0].Pieces != 32 || n.Cavities[1].Rounds != 2 {
		t.Errorf("%+v\n%+v\n%+v", p, n.Embeds, n.Cavities)
	}
	near(t, "a bar", p.PieceG, (640*1.2+160*1.2+40)/8) // 800 mL, of which 160 are cores; 1 L · 80 %
	near(t, "the batch", n.Batches[0].MassG, 2*(640+160)*1.2)
	near(t, "salt", n.Items[0].MassG, 80)
	near(t, "bands", n.Items[1].Count, 12)
	near(t, "cores in a bar", p.Parts[1].Count, 2)
	if got := rules(n.Findings, finding.Note); !slices.Contains(got, "pieces-over") {
		t.Errorf("findings %v", got)
	}
	// And forward: a pot for just under three blocks fills two of them.
	f, err := design.Forward(s, "pebble", "sand", 3*960-1, design.Options{})
	if err != nil || f.Wants[0].Pieces != 16 {
		t.Errorf("%+v, %v", f, err)
	}
}

// A batter sets in its pot before a mould is free again, so more cavities than
// there are on one day are warned of; a melt may wait. Common practice, no source.
func TestMoreCavitiesOnADayThanTheSetsHaveAreWarnedOf(t *testing.T) {
	tray := mould.Mould{ID: "tray", Name: "Tray", Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: some(100), WidthMM: some(50),
		DepthMM: some(20)}, Cavities: 6, Sets: 2, ReleaseHours: some(48)}
	set := func(m formula.Method) *design.Set {
		return &design.Set{Moulds: []mould.Mould{tray}, Batters: []design.Batter{{ID: "sand", DensityGML: 1, Method: m}},
			Designs: []design.Design{{ID: "pebble", Mould: "tray", Parts: []design.Part{pour("sand", 80)}}}}
	}
	say := func(n *design.Need) (finding.Finding, bool) {
		for _, f := range n.Findings {
			if f.Rule == "sets-run-out" {
				return f, true
			}
		}
		return finding.Finding{}, false
	}
	f, ok := say(explode(t, set(formula.Cold), design.Options{}, design.Want{Design: "pebble", Pieces: 36}))
	if !ok || f.Severity != finding.Warn || f.Message != "36 cavities of Tray are to be filled on one day, and your sets have 12. Some would be "+
		"filled 3 times, and the batter would set in the pot before a mould is free, 48 h after the pour." ||
		f.Remedy != "Ask for 12 of \"pebble\" now, and for the rest in a run of its own once the mould is free; or have 4 sets more." {
		t.Errorf("%+v", f)
	}
	if f, ok = say(explode(t, set(formula.Melt), design.Options{}, design.Want{Design: "pebble", Pieces: 13})); !ok || f.Severity != finding.Note {
		t.Errorf("of a melt %+v", f)
	}
	if f, ok = say(explode(t, set(formula.Cold), design.Options{}, design.Want{Design: "pebble", Pieces: 12})); ok {
		t.Errorf("where the sets reach: %+v", f)
	}
	// The same mould on two days is free again for the second.
	two := set(formula.Cold)
	two.Designs = append(two.Designs, design.Design{ID: "cairn", Mould: "tray", Parts: []design.Part{pour("sand", 50), embed("pebble", 1, 0, 0)}})
	if f, ok = say(explode(t, two, design.Options{}, design.Want{Design: "cairn", Pieces: 12})); ok {
		t.Errorf("on two days: %+v", f)
	}
}

func TestThePourOrderIsThinFirstThenSculptedAndEmbedsBeforeAll(t *testing.T) {
	sculpted := mould.Mould{ID: "sculpted", Shape: mould.Measured, WaterG: []float64{100, 100}, WaterC: some(20), Cavities: 1, Sets: 1}
	at := func(p design.Part, s formula.Stage) design.Part { p.Stage = s; return p }
	s := &design.Set{Moulds: []mould.Mould{box("plain", 100), sculpted}, Batters: []design.Batter{{ID: "white", DensityGML: 1,
		Portions: []design.Portion{{Name: "sky", Stage: formula.ThickTrace, Colourants: []design.Colourant{{ID: "blue", GPerKg: 5}}}}},
		{ID: "rock", DensityGML: 1}},
		Designs: []design.Design{
			{ID: "plain", Mould: "plain", Parts: []design.Part{at(pour("white", 30), formula.ThinTrace), {Kind: design.Piping, Formula: "white",
				Portion: "Sky", MassG: some(10)}}},
			{ID: "sculpted", Mould: "sculpted", Parts: []design.Part{at(pour("white", 30), formula.ThinTrace), at(pour("white", 60), formula.MediumTrace),
				embed("lamp", 1, 0, 0)}},
			{ID: "lamp", Mould: "plain", Parts: []design.Part{at(pour("rock", 10), formula.ThickTrace)}},
		}}
	n := explode(t, s, design.Options{OveragePct: 10}, design.Want{Design: "plain", Pieces: 2}, design.Want{Design: "sculpted", Pieces: 3})
	var got []string
	for _, p := range n.Pours {
		got = append(got, p.Design+" "+p.Stage.String())
	}
	want := []string{"lamp thick", "sculpted thin", "plain thin", "sculpted medium", "plain thick"}
	if !slices.Equal(got, want) {
		t.Errorf("poured %v, want %v", got, want)
	}
	b := n.Batches[1]
	if len(b.Vessels) != 2 || b.Vessels[1].Portion != "Sky" || b.Vessels[1].Stage != formula.ThickTrace {
		t.Fatalf("vessels %+v", b.Vessels)
	}
	near(t, "sky", b.Vessels[1].BatterG, 2*10*1.1)
	near(t, "blue", b.Vessels[1].Colourants[0].MassG, 22*5/1000.0)
	near(t, "the vessels", b.Vessels[0].BatterG+b.Vessels[1].BatterG, b.MassG)
}

func TestAPotIsSharedAmongWishes(t *testing.T) {
	s := &design.Set{Moulds: []mould.Mould{box("large", 100), box("small", 30)}, Batters: []design.Batter{{ID: "white", DensityGML: 1, PotLossG: 10}},
		Designs: []design.Design{
			{ID: "large", Mould: "large", Parts: []design.Part{pour("white", 100)}}, {ID: "small", Mould: "small", Parts: []design.Part{pour("white", 100)}}}}
	n, err := design.Fillable(s, "white", 10+3*100+75, []design.Want{{Design: "large", Pieces: 3}, {Design: "small", Pieces: 9}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(n.Wants, []design.Want{{Design: "large", Pieces: 3}, {Design: "small", Pieces: 2}}) {
		t.Errorf("filled %v", n.Wants)
	}
	near(t, "left", n.LeftG.V, 15)
	near(t, "the batch", n.Batches[0].MassG, 10+300+60)

	got := design.Takers(s, "white", 75)
	if len(got) != 2 || got[0].Mould != "small" || got[0].Cavities != 2 || got[1].Cavities != 0 {
		t.Fatalf("takers %+v", got)
	}
	near(t, "the last cavity", got[0].LastPct, 50)
	near(t, "left", got[0].LeftG, 15)
	near(t, "the large one", got[1].LastPct, 75)
	// Every set on the bench can take it: 3 sets of 2 cavities hold 5 × 30 g.
	several := &design.Set{Moulds: []mould.Mould{box("small", 30)}, Batters: s.Batters}
	several.Moulds[0].Cavities, several.Moulds[0].Sets = 2, 3
	if got := design.Takers(several, "white", 150); len(got) != 1 || got[0].Cavities != 5 || got[0].LeftG != 0 {
		t.Errorf("150 g in cavities of 30 g: %+v", got)
	}
	for _, g := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if l := design.Takers(s, "white", g); l != nil {
			t.Errorf("%g g: %v", g, l)
		}
	}
	if _, err := design.Forward(s, "large", "white", math.NaN(), design.Options{}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("a pot of no mass: %v", err)
	}
	if n, err := design.Forward(s, "large", "white", 4, design.Options{}); err != nil || len(n.Wants) != 0 || n.LeftG != some(0) ||
		!slices.Contains(rules(n.Findings, finding.Warn), "pot-too-small") {
		t.Errorf("a pot that all stays in the pot: %+v, %v", n, err)
	}
}

// What is refused, with the field that it is refused on and some of the words.
func TestWhatCannotBeReadIsRefusedInWords(t *testing.T) {
	sound := func() *design.Set {
		return &design.Set{Moulds: []mould.Mould{box("house", 100), box("cup", 10)}, Batters: []design.Batter{{ID: "white", DensityGML: 1}},
			Designs: []design.Design{
				{ID: "lamp", Mould: "house", Parts: []design.Part{pour("white", 60), embed("glow", 1, 0, 0)}},
				{ID: "glow", Mould: "cup", Parts: []design.Part{pour("white", 60)}}}}
	}
	one := []design.Want{{Design: "lamp", Pieces: 1}}
	for _, c := range []struct {
		name, field, words string
		kind               fault.Kind
		change             func(*design.Set)
		wants              []design.Want
		o                  design.Options
	}{
		{"an unknown design", "design", "Did you mean \"lamp\"?", fault.NotFound, nil, []design.Want{{Design: "lamb", Pieces: 1}}, design.Options{}},
		{"no pieces", "pieces", "0 pieces cannot be made", fault.Invalid, nil, []design.Want{{Design: "lamp"}}, design.Options{}},
		{"no wants", "pieces", "Nothing is asked for", fault.Invalid, nil, nil, design.Options{}},
		{"overage", "overage_pct", "outside 0 to 100", fault.Invalid, nil, one, design.Options{OveragePct: -1}},
		{"overage that is no number", "overage_pct", "outside 0 to 100", fault.Invalid, nil, one, design.Options{OveragePct: math.NaN()}},
		{"stock", "stock", "-3", fault.Invalid, nil, one, design.Options{Stock: map[string]int{"glow": -3}}},
		{"density", "formula.1.density_g_ml", "above 0", fault.Invalid, func(s *design.Set) { s.Batters[0].DensityGML = 0 }, one, design.Options{}},
		{"pot loss", "formula.1.pot_loss_g", "0 or more", fault.Invalid, func(s *design.Set) { s.Batters[0].PotLossG = -1 }, one, design.Options{}},
		{"zero cavities", "mould.1.cavities", "There are no cavities", fault.Invalid, func(s *design.Set) { s.Moulds[0].Cavities = 0 }, one, design.Options{}},
		{"no mould", "design.1.mould", "names no mould", fault.Invalid, func(s *design.Set) { s.Designs[0].Mould = "" }, one, design.Options{}},
		{"an unknown mould", "design.1.mould", "There is no mould", fault.NotFound, func(s *design.Set) { s.Designs[0].Mould = "tin" }, one, design.Options{}},
		{"an unknown formula", "design.2.part.1.formula", "There is no formula", fault.NotFound,
			func(s *design.Set) { s.Designs[1].Parts[0].Formula = "tar" }, one, design.Options{}},
		{"less than no volume", "design.2.part.1.volume_ml", "−29.57" + quantity.UnitSpace + "ml (−1.00" + quantity.UnitSpace + "fl oz): give one above 0",
			fault.Invalid, func(s *design.Set) {
				s.Designs[1].Parts[0].FillToPct, s.Designs[1].Parts[0].VolumeML = quantity.Maybe{}, some(-29.5735295625)
			}, one, design.Options{}},
		{"less than no mass", "design.2.part.1.mass_g", " (−1.00" + quantity.UnitSpace + "oz): give a mass above 0", fault.Invalid, func(s *design.Set) {
			s.Designs[1].Parts[0].FillToPct, s.Designs[1].Parts[0].MassG = quantity.Maybe{}, some(-28.349523125)
		}, one, design.Options{}},
		{"an unknown portion", "design.2.part.1.portion", "has no portion \"sky\": name one that it has", fault.NotFound,
			func(s *design.Set) { s.Designs[1].Parts[0].Portion = "sky" }, one, design.Options{}},
		{"an unknown embed", "design.1.part.2.design", "There is no design", fault.NotFound, func(s *design.Set) { s.Designs[0].Parts[1].Design = "sun" },
			one, design.Options{}},
		{"a cycle", "design.2.part.2.design", `"lamp" → "glow" → "lamp"`, fault.Invalid,
			func(s *design.Set) { s.Designs[1].Parts = append(s.Designs[1].Parts, embed("lamp", 1, 0, 0)) }, one, design.Options{}},
		{"itself", "design.1.part.2.design", `"lamp" → "lamp"`, fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[1].Design = "lamp" }, one,
			design.Options{}},
		{"a missing amount", "design.1.part.1.fill_to_pct", "Say how much of this pour there is", fault.Invalid,
			func(s *design.Set) { s.Designs[0].Parts[0].FillToPct = quantity.Maybe{} }, one, design.Options{}},
		{"a doubled amount", "design.1.part.1.mass_g", "is given twice", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[0].MassG = some(3) },
			one, design.Options{}},
		{"an amount of another kind", "design.1.part.2.mass_g", "An embed takes no mass_g", fault.Invalid,
			func(s *design.Set) { s.Designs[0].Parts[1].MassG = some(3) }, one, design.Options{}},
		{"half an embed", "design.1.part.2.count", "whole number", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[1].Count = some(1.5) }, one,
			design.Options{}},
		{"sunk too deep", "design.1.part.2.sunk_pct", "give 0 to 100", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[1].SunkPct = 101 }, one,
			design.Options{}},
		{"sunk and covered", "design.1.part.2.covered_pct", "come to 120", fault.Invalid, func(s *design.Set) {
			s.Designs[0].Parts[1].SunkPct,
				s.Designs[0].Parts[1].CoveredPct = 60, 60
		}, one, design.Options{}},
		{"cannot fill the cavity", "design.1.part.1.fill_to_pct", "cannot fill the cavity", fault.Invalid,
			func(s *design.Set) { s.Designs[0].Parts[0].FillToPct = some(math.Inf(1)) }, one, design.Options{}},
		{"no kind", "design.1.part.1.kind", "pour, topping, embed", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[0].Kind = 0 }, one,
			design.Options{}},
		{"an embed that sprinkles", "design.1.part.2.item", "leave it out", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[1].Item = "salt" },
			one, design.Options{}},
		{"a pour that is closed", "design.1.part.1.closed", "Only a wrap", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[0].Closed = true },
			one, design.Options{}},
		{"no parts", "design.2.part", "has no parts", fault.Invalid, func(s *design.Set) { s.Designs[1].Parts = nil }, one, design.Options{}},
		{"101 parts", "design.2.part", "keep it to 100", fault.Invalid,
			func(s *design.Set) { s.Designs[1].Parts = slices.Repeat([]design.Part{pour("white", 60)}, 101) }, one, design.Options{}},
		{"an id that stands twice", "design.2.id", "is given twice", fault.Invalid, func(s *design.Set) { s.Designs[1].ID = "lamp" }, one, design.Options{}},
		{"a piece without end", "design.1.part", "more than 1 000 000 kg", fault.Invalid, func(s *design.Set) {
			s.Designs[0].Parts[1].Count, s.Designs[1].Parts[0] = some(10_000), design.Part{Kind: design.Pour, Formula: "white", MassG: some(999_999)}
		}, one, design.Options{}},
		{"a run without end", "pieces", "more than", fault.Invalid, func(s *design.Set) { s.Designs[0].Parts[1].Count = some(10_000) },
			[]design.Want{{Design: "lamp", Pieces: 1_000_000}}, design.Options{}},
	} {
		s := sound()
		if c.change != nil {
			c.change(s)
		}
		n, err := design.Explode(s, c.wants, c.o)
		if n != nil || err == nil {
			t.Errorf("%s: %+v, %v", c.name, n, err)
			continue
		}
		e := fault.All(err)[0]
		if e.Kind != c.kind || e.Field != c.field || !strings.Contains(strings.ReplaceAll(e.Message, quantity.Thousands, " "), c.words) {
			t.Errorf("%s: %v (%d) on %q, want %q on %q", c.name, err, e.Kind, e.Field, c.words, c.field)
		}
		if _, err := design.Forward(s, "lamp", "white", 100, c.o); c.wants != nil && &c.wants[0] == &one[0] && err == nil {
			t.Errorf("%s: not refused by Forward", c.name)
		}
	}
}

func TestADesignThatIsBeingTypedMayBeEmpty(t *testing.T) {
	d := design.Design{Parts: []design.Part{{}, {Kind: design.Pour}, {Kind: design.Embed}, {Kind: design.Wrap}}}
	if l := d.Validate(false); len(l) > 0 {
		t.Errorf("%v", l)
	}
	var fields []string
	for _, e := range d.Validate(true) {
		fields = append(fields, e.Field)
	}
	want := []string{"mould", "part.1.kind", "part.2.fill_to_pct", "part.2.formula", "part.3.count", "part.3.design", "part.4.mass_g", "part.4.item"}
	if !slices.Equal(fields, want) {
		t.Errorf("%v, want %v", fields, want)
	}
	d.Parts[1].FillToPct = some(-4)
	if l := d.Validate(false); len(l) != 1 {
		t.Errorf("a level below 0 while typing: %v", l)
	}
}

// Twice two, thirty levels deep: a walk that took every way would never end.
func TestDepthCostsNothing(t *testing.T) {
	s := &design.Set{Moulds: []mould.Mould{box("box", 100)}, Batters: []design.Batter{{ID: "white", DensityGML: 1, Dries: true, SoftensC: some(50),
		Scents: []design.Scent{{Name: "fig", Share: 0.01, LimitPct: some(5)}}}}}
	for i := range 28 {
		d := design.Design{ID: string(rune('A' + i)), Mould: "box", Parts: []design.Part{{Kind: design.Pour, Formula: "white", MassG: some(1)}}}
		if i < 27 {
			next := string(rune('A' + i + 1))
			d.Parts = append(d.Parts, embed(next, 1, 0, 0), embed(next, 1, 0, 0))
		}
		s.Designs = append(s.Designs, d)
	}
	n := explode(t, s, design.Options{}, design.Want{Design: "A", Pieces: 1})
	near(t, "the batch", n.Batches[0].MassG, 1<<28-1)
}
