package bench

import (
	"math"
	"slices"
	"strings"
	"testing"

	"barwright/design"
	"barwright/finding"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

// stepsOf are all steps of a run, through all days.
func stepsOf(r *Run) []RunStep {
	var out []RunStep
	for _, d := range r.Days {
		out = append(out, d.Steps...)
	}
	return out
}

// exploded is the run input for other wants, or after its designs were changed.
func exploded(t *testing.T, in RunInput, o design.Options, wants ...design.Want) RunInput {
	t.Helper()
	n, err := design.Explode(in.Set, wants, o)
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	return in
}

func hasCaution(s RunStep, key string) bool {
	for _, c := range s.Cautions {
		if c.Key == key {
			return true
		}
	}
	return false
}

// TestAnEmbedIsCastADayBeforeAllThatTakeIt: a flame goes into a lamp, which goes into
// a house, so it is cast two days before. A beacon takes a flame too, and may stand
// anywhere in the list: as an embed of a raft it is on the shelf, and one is wanted
// for itself.
func TestAnEmbedIsCastADayBeforeAllThatTakeIt(t *testing.T) {
	in := runInput(t, 1)
	dot := design.Part{Kind: design.Pour, Formula: "dark-rock", MassG: some(0.2)}
	of := func(id string, embeds ...string) design.Design {
		d := design.Design{ID: id, Mould: "lamp-cup", Parts: []design.Part{dot}}
		for _, e := range embeds {
			d.Parts = append(d.Parts, design.Part{Kind: design.Embed, Design: e, Count: some(1)})
		}
		return d
	}
	in.Set.Designs = []design.Design{of("house", "lamp"), of("lamp", "flame"), of("harbour", "raft"), of("raft", "beacon"), of("beacon", "flame"), of("flame")}
	r := newRun(t, exploded(t, in, design.Options{Stock: map[string]int{"beacon": 9}}, design.Want{Design: "house", Pieces: 1},
		design.Want{Design: "harbour", Pieces: 1}, design.Want{Design: "beacon", Pieces: 1}))
	poured := map[string]string{}
	for _, d := range r.Days {
		for _, s := range d.Steps {
			if s.Kind == "pour" {
				poured[s.Design] = d.Key
			}
		}
	}
	for id, want := range map[string]string{"flame": "earlier-2", "lamp": "earlier", "raft": "earlier", "house": "day", "harbour": "day", "beacon": "day"} {
		if poured[id] != want {
			t.Errorf("the %s is cast on the day %q, want %q", id, poured[id], want)
		}
	}
}

// TestCautionsStandWhereTheHandIs: raw batter is poured in goggles and gloves, a hot
// melt in heatproof gloves, and fresh soap is unmoulded in gloves. A melt holds no
// lye, so none of the cautions of lye stand at it.
func TestCautionsStandWhereTheHandIs(t *testing.T) {
	r := newRun(t, runInput(t, 12))
	lye := map[string]bool{}
	for _, b := range r.Batches {
		lye[b.Letter] = b.Lye
	}
	raw, hot, fresh := 0, 0, 0
	for _, s := range stepsOf(r) {
		switch s.Kind {
		case "pour", "topping", "piping":
			// The melt on top of the lighthouse is poured onto raw batter.
			onRaw := lye[s.Batch] || s.Design == "lighthouse"
			if hasCaution(s, "raw-batter") != onRaw || hasCaution(s, "heat-wear") == lye[s.Batch] || hasCaution(s, "heat-spirit") == lye[s.Batch] {
				t.Errorf("batch %s, made with lye: %v, is poured under %v", s.Batch, lye[s.Batch], s.Cautions)
			}
			if lye[s.Batch] {
				raw++
			} else {
				hot++
			}
		case "unmould":
			if hasCaution(s, "fresh-soap") != (s.Design == "lighthouse") {
				t.Errorf("%s is unmoulded under %v", s.Design, s.Cautions)
			}
			fresh++
		}
	}
	if raw == 0 || hot == 0 || fresh != 2 {
		t.Errorf("%d pours of raw batter, %d of melts and %d pieces unmoulded: this test has tested too little", raw, hot, fresh)
	}
	// A run of both has both on its front page.
	if len(r.Cautions) == 0 || len(r.Heat) != len(HeatCautions()) {
		t.Errorf("the run has %d cautions of lye and %d of heat", len(r.Cautions), len(r.Heat))
	}
	lamps := newRun(t, exploded(t, runInput(t, 1), design.Options{}, design.Want{Design: "lamp", Pieces: 3}))
	if len(lamps.Cautions) != 0 || len(lamps.Heat) == 0 {
		t.Errorf("a run of melts has %d cautions of lye and %d of heat", len(lamps.Cautions), len(lamps.Heat))
	}
}

// TestWhatStopsABatchStopsTheRun: the front page names the batch and says why, and a
// batch that may hold free alkali has its test among the steps.
func TestWhatStopsABatchStopsTheRun(t *testing.T) {
	in := runInput(t, 6)
	in.Judge = func(id string, r *soap.Result) (soap.Superfat, []finding.Finding) {
		sf := r.Superfat
		if id != "storm-white" {
			return sf, nil
		}
		sf.Excess = 2 * TestAbove
		return sf, []finding.Finding{{Rule: "too-much-lye", Severity: finding.Stop, Message: "2 g of alkali would be left over.", Source: practice,
			Remedy: "Take less.", About: "alkali"}}
	}
	r := newRun(t, in)
	if !slices.ContainsFunc(r.Stops, func(f finding.Finding) bool {
		return f.Rule == "too-much-lye" && f.Message == "Batch B, Storm white: 2 g of alkali would be left over."
	}) {
		t.Errorf("the run is stopped by %v", r.Stops)
	}
	var tested []string
	for _, s := range stepsOf(r) {
		if s.Kind == "test" {
			tested = append(tested, s.Batch)
		}
	}
	if !slices.Equal(tested, []string{"B"}) {
		t.Errorf("batches %v are tested for free alkali, want B alone", tested)
	}
}

// TestWeightsThatLeaveAlkaliOverAreTested: 60, 30 and 10 % of 252.4 g are weighed as
// 151, 76 and 25 g, which take (151·190 + 76·257 + 25·180)/1000/56.1053 · 39.99677 /
// 0.99 = 37.965 g of alkali (equations and masses as in TestWorkedSheet). Of the
// planned 38.004 g the scale shows 38 g: more than they take, 0.09 % of it, though
// nothing of it is in doubt.
func TestWeightsThatLeaveAlkaliOverAreTested(t *testing.T) {
	f := workedOne()
	f.SuperfatPct, f.FatsG, f.Scents = 0, 252.4, nil
	in := input(t, f)
	in.Superfat.Excess = 0
	s := sheet(t, in)
	if l := byAbout(t, s, "naoh"); l.Weigh != "38" || math.Abs(s.RoundedPct+0.0935) > 0.001 {
		t.Fatalf("%s g of alkali are weighed, and the superfat is %.4f %%", l.Weigh, s.RoundedPct)
	}
	if !s.Test {
		t.Error("the weights leave alkali over, and no test is asked for")
	}
}

// TestAStepIsNotFinerThanTheScale: whatever the studio reads in, the sheet asks for
// no weight that the scale cannot tell, and for no step twice as coarse as it need be.
func TestAStepIsNotFinerThanTheScale(t *testing.T) {
	for _, unit := range []quantity.MassUnit{quantity.Gram, quantity.Ounce, quantity.PoundOunce} {
		for _, division := range []float64{0.01, 0.1, 0.2, 0.25, 0.5, 1, 2, 5} {
			f := workedOne()
			f.ScaleDivisionG = some(division)
			in := input(t, f)
			in.Units.Mass = unit
			s := sheet(t, in)
			// The last digit that a sheet in ounces prints: 0.01 oz, and 0.1 oz from 2.8 g on.
			digit := 0.0
			if unit != quantity.Gram {
				digit = math.Pow10(-quantity.MassDecimals(unit, division)) * quantity.GramsPerOunce
			}
			if s.DivisionG < division*(1-1e-9) || s.DivisionG > division+digit*(1+1e-9) {
				t.Errorf("in %s, a scale of %g g has steps of %g g", unit, division, s.DivisionG)
			}
		}
	}
}

// TestAMouldThatDoesNotStandTheBattersOwnHeat: the batter is poured cooler than the
// mould bears, and gets hotter by itself.
func TestAMouldThatDoesNotStandTheBattersOwnHeat(t *testing.T) {
	in := input(t, workedOne())
	in.Mould = &mould.Mould{ID: "b", Name: "bar tray", Shape: mould.Cuboid, Cavities: 6, Sets: 2, MaxTempC: some(50),
		Dimensions: mould.Dimensions{LengthMM: some(80), WidthMM: some(55), DepthMM: some(30)}}
	in.Fill = mould.Fill{Pct: 90}
	if in.Result.Batter.PourC >= 50 {
		t.Fatalf("it is poured at %g °C already", in.Result.Batter.PourC)
	}
	s := sheet(t, in)
	if !slices.ContainsFunc(s.Warns, func(f finding.Finding) bool {
		return f.Rule == "mould-heat" && strings.Contains(f.Message, "may reach") && strings.Contains(f.Message, "by itself")
	}) {
		t.Errorf("nothing is said of it: %v", s.Warns)
	}
	// In a run the heat that the design was judged by counts.
	run := runInput(t, 6)
	run.Set.Moulds[0].MaxTempC = some(150)
	for i := range run.Set.Batters {
		if run.Set.Batters[i].ID == "storm-white" {
			run.Set.Batters[i].CeilingC = some(160)
		}
	}
	r := newRun(t, run)
	if !slices.ContainsFunc(r.Warns, func(f finding.Finding) bool {
		return f.Rule == "mould-heat" && strings.Contains(f.Message, "Storm white may reach 160\u00a0°C")
	}) {
		t.Errorf("the run says nothing of it: %v", r.Warns)
	}
}

// TestTheFinestScaleIsNeeded: a run asks for the finest of the scales that its
// batches ask for.
func TestTheFinestScaleIsNeeded(t *testing.T) {
	in := runInput(t, 36)
	for id, division := range map[string]float64{"dark-rock": 5, "storm-white": 0.1, "sea-foam": 1} {
		f := in.Results[id].Formula.Clone()
		f.ScaleDivisionG = some(division)
		r, err := soap.Work(f, cat(t))
		if err != nil {
			t.Fatal(err)
		}
		in.Results[id] = r
	}
	if r := newRun(t, in); r.DivisionG != 0.1 || r.Scale != "0.1\u00a0g" {
		t.Errorf("of 5, 0.1, 5 and 1 g the run asks for a scale of %g g, %s", r.DivisionG, r.Scale)
	}
}

// TestTheSumByHandIsSharedByTheAlkalis: what the weighed fats take more or less is
// shared by both alkalis as their planned masses are.
func TestTheSumByHandIsSharedByTheAlkalis(t *testing.T) {
	f := workedOne()
	f.Alkali.KOHMolPct, f.Alkali.KOHPurityPct = 8, some(90)
	s := sheet(t, input(t, f))
	// 3.72692 · 0.95 mol (TestWorkedSheet), 92 % of it as NaOH of 99 %, 8 % as KOH of 90 %:
	// 3.54057 · 0.92 · 39.99677 / 0.99 = 131.599 g and 3.54057 · 0.08 · 56.1053 / 0.9 =
	// 17.657 g, of 149.257 g.
	for about, want := range map[string]string{"naoh": "131 ± sum × 0.882", "koh": "17 ± sum × 0.118"} {
		if got := byAbout(t, s, about).After; got != want {
			t.Errorf("%s is finished as %q, want %q", about, got, want)
		}
	}
}

// TestScentsGoInWhereTheyKeep: a cook drives a scent off, so it goes in after it, and
// into a melt off the heat.
func TestScentsGoInWhereTheyKeep(t *testing.T) {
	for method, want := range map[formula.Method]string{formula.Cold: "batter, at thin trace", formula.Hot: "after the cook"} {
		f := workedOne()
		f.Method = method
		if l := byAbout(t, sheet(t, input(t, f)), "scent:0"); l.GoesIn != want {
			t.Errorf("%v: the scent goes into %q, want %q", method, l.GoesIn, want)
		}
	}
	if l := byAbout(t, sheet(t, input(t, darkRock())), "scent:0"); l.GoesIn != "the melt, off the heat, just before the pour" {
		t.Errorf("of a melt, the scent goes into %q", l.GoesIn)
	}
}

// TestTheLimitsOfAWait: raw batter that waits for 45 minutes is not warned of, and for
// 46 it is. A batch is made before a pour that waits for 239 minutes, and after a wait
// of 240.
func TestTheLimitsOfAWait(t *testing.T) {
	for minutes, warned := range map[float64]bool{45: false, 46: true} {
		in := runInput(t, 6)
		in.Set.Designs[0].Parts[1].Wait.Minutes = some(minutes)
		r := newRun(t, exploded(t, in, design.Options{}, in.Need.Wants...))
		if got := slices.ContainsFunc(r.Warns, func(f finding.Finding) bool { return f.Rule == "batter-waits" }); got != warned {
			t.Errorf("a wait of %g minutes is warned of: %v, want %v", minutes, got, warned)
		}
	}
	for minutes, after := range map[float64]bool{239: false, 240: true} {
		in := runInput(t, 6)
		in.Set.Designs[0].Parts[4].Wait.Minutes = some(minutes)
		made := 0
		for _, s := range stepsOf(newRun(t, exploded(t, in, design.Options{}, in.Need.Wants...))) {
			if s.Kind == "make" && strings.Contains(s.Text, "Sea foam") {
				made++
				if s.WaitMin.Known != after {
					t.Errorf("before a wait of %g minutes the batch is made after %v min", minutes, s.WaitMin)
				}
			}
			if s.Kind == "piping" && s.WaitMin.Known == after {
				t.Errorf("the piping waits %v min of %g", s.WaitMin, minutes)
			}
		}
		if made != 1 {
			t.Errorf("sea foam is made %d times", made)
		}
	}
	// Work continues in the morning after the wait.
	for minutes, want := range map[float64]int{0: 0, 60: 1, 1440: 1, 1441: 2, 2880: 2, 2881: 3} {
		if got := daysAfter(minutes); got != want {
			t.Errorf("%g minutes later is %d days later, want %d", minutes, got, want)
		}
	}
}

// TestWhatABatchIsMadeFor: 13 cavities are in 2 sets of 12, and the split of a batch
// adds up to its mass.
func TestWhatABatchIsMadeFor(t *testing.T) {
	r := newRun(t, runInput(t, 13))
	said := ""
	for _, g := range r.Ready {
		for _, x := range g.Things {
			said += x.Text + "|"
		}
	}
	if !strings.Contains(said, "tower mould: 13 cavities, in 2 sets of 12|") {
		t.Errorf("ready is %s", said)
	}
	plain := strings.NewReplacer(quantity.Thousands, "", quantity.UnitSpace, " ")
	for _, b := range r.Batches {
		rest := plain.Replace(b.Split)
		sum := 0.0
		for i, what := range []string{" for the pieces, ", " overage, ", " stays in the pot"} {
			mass, after, ok := strings.Cut(rest, what)
			g, err := quantity.ParseMass(mass, quantity.Gram)
			if !ok || err != nil {
				t.Fatalf("batch %s is split as %q, without%q", b.Letter, b.Split, what)
			}
			if i == 2 && g != 15 {
				t.Errorf("%g g stay in the pot of batch %s, want 15", g, b.Letter)
			}
			sum, rest = sum+g, after
		}
		// What the sheet weighs, less three roundings to 0.1 g; that is rounded itself.
		if of := b.Sheet.Batter.MassG; math.Abs(sum-of) > 0.15+1e-9 || math.Abs(of-b.MassG) > 0.5 {
			t.Errorf("batch %s, asked for as %g g and weighed as %g g, is split as %q", b.Letter, b.MassG, of, b.Split)
		}
	}
}

// TestABatchOfTwoDaysIsShared, by hand: 300 g for pieces, a tenth over and 10 g that
// stay in the pot. This day pours 50 of the 150 g of sky and 100 of the 150 g of tower,
// so half: 150 g, 15 g over and 10 g in a pot of its own, 175 g. Its vessels are tipped
// in proportion, 1 to 2.
func TestABatchOfTwoDaysIsShared(t *testing.T) {
	need := design.BatchNeed{Formula: "white", VolumeML: 340, MassG: 340, PartsG: 300, OverageG: 30, PotLossG: 10, Vessels: []design.VesselNeed{
		{Portion: "Sky", BatterG: 170, VolumeML: 170, MassG: 171.7, Colourants: []design.DoseNeed{{ID: "blue", MassG: 1.7}}},
		{Portion: "tower", BatterG: 170, VolumeML: 170, MassG: 170}, {Portion: "foam", BatterG: 0},
	}}
	got := shareOf(need, map[string]float64{"sky": 50, "tower": 100}, map[string]float64{"sky": 150, "tower": 150})
	for what, x := range map[string][2]float64{"for the pieces": {got.PartsG, 150}, "over": {got.OverageG, 15}, "in the pot": {got.PotLossG, 10},
		"the batch": {got.MassG, 175}, "its volume": {got.VolumeML, 175}} {
		if math.Abs(x[0]-x[1]) > 1e-9 {
			t.Errorf("%s: %g, want %g", what, x[0], x[1])
		}
	}
	if len(got.Vessels) != 2 {
		t.Fatalf("vessels %+v", got.Vessels)
	}
	sky, tower := got.Vessels[0], got.Vessels[1]
	if math.Abs(sky.BatterG-175/3.0) > 1e-9 || math.Abs(tower.BatterG-2*175/3.0) > 1e-9 || math.Abs(sky.Colourants[0].MassG-1.75/3) > 1e-9 {
		t.Errorf("sky %+v, tower %+v", sky, tower)
	}
	if need.Vessels[0].Colourants[0].MassG != 1.7 {
		t.Error("the need was changed")
	}
}
