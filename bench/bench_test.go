package bench

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"

	"pgregory.net/rapid"
)

func some(v float64) quantity.Maybe { return quantity.Some(v) }

func cat(t testing.TB) *catalogue.Catalogue {
	t.Helper()
	c, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// workedOne has three fats with known certificates.
func workedOne() *formula.Formula {
	return &formula.Formula{
		Name: "Worked one", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000,
		Water: formula.Water{Value: 33}, CureWaterLossPct: some(60),
		Alkali:         formula.Alkali{NaOHPurityPct: some(99), PurityHalfWidthPct: 0.5},
		ScaleDivisionG: some(1),
		Fats: []formula.Fat{
			{ID: "olive-oil", Pct: 60, SAP: some(190), SAPHalfWidth: some(1)},
			{ID: "coconut-oil", Pct: 30, SAP: some(257), SAPHalfWidth: some(2)},
			{ID: "castor-oil", Pct: 10, SAP: some(180), SAPHalfWidth: some(1.5)},
		},
		Scents: []formula.Scent{{Name: "Fig and sea salt", DosePct: 5, LimitPct: some(6.2)}},
	}
}

func input(t testing.TB, f *formula.Formula) Input {
	t.Helper()
	r, err := soap.Work(f, cat(t))
	if err != nil {
		t.Fatal(err)
	}
	return Input{Result: r, Superfat: r.Superfat, Findings: soap.Findings(r, r.Superfat, soap.DefaultLimits()),
		Head: Head{Code: "0042", Date: "Thursday 17 September 2026", Studio: "Quillfen"}, Version: 3}
}

func sheet(t testing.TB, in Input) *Sheet {
	t.Helper()
	s, err := New(in)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func byAbout(t testing.TB, s *Sheet, about string) Line {
	t.Helper()
	for _, l := range s.Lines() {
		if l.About == about {
			return l
		}
	}
	t.Fatalf("the sheet has no line %s", about)
	return Line{}
}

// TestWorkedSheet compares a sheet with sums done by hand from the equations of
// package soap, with M(KOH) 56.1053 and M(NaOH) 39.99677 g/mol (CIAAW 2021).
//
//	n_sap  = (600·190 + 300·257 + 100·180)/1000/56.1053    = 3.72692 mol
//	NaOH   = 3.72692 · 0.95 · 39.99677 / 0.99               = 143.042 g, so 143 g
//	water  = 143.042 · 67/33                                = 290.419 g, so 290 g
//	f      = 1 − (143 · 0.99 / 39.99677) / 3.72692          = 5.028 %
//	olive  = 190/1000/56.1053 · 0.95 · 39.99677/0.99        = 0.12998 g/g
func TestWorkedSheet(t *testing.T) {
	s := sheet(t, input(t, workedOne()))
	for about, want := range map[string]string{"fat:0": "600", "fat:1": "300", "fat:2": "100", "naoh": "143", "water": "290", "scent:0": "50"} {
		if l := byAbout(t, s, about); l.Weigh != want {
			t.Errorf("%s weighs %s, want %s", l.Name, l.Weigh, want)
		}
	}
	for about, want := range map[string]float64{"fat:0": 0.12998, "fat:1": 0.17581, "fat:2": 0.12314} {
		if l := byAbout(t, s, about); math.Abs(l.LyeForIt-want) > 1e-5 {
			t.Errorf("lye for %s is %.5f, want %.5f", l.Name, l.LyeForIt, want)
		}
	}
	if math.Abs(s.RoundedPct-5.028) > 0.001 {
		t.Errorf("superfat as rounded is %.4f %%, want 5.028 %%", s.RoundedPct)
	}
	if s.AllFats.Weigh != "1\u202f000" {
		t.Errorf("all fats weigh %q", s.AllFats.Weigh)
	}
	if s.Batter.MassG != 600+300+100+143+290+50 {
		t.Errorf("the batter is %g g, want 1483 g", s.Batter.MassG)
	}
	if l := byAbout(t, s, "naoh"); l.After != "143 ± sum" {
		t.Errorf("the alkali after the sum is %q", l.After)
	}
	if !strings.Contains(s.Foot, "5.0\u00a0% asked") || !strings.Contains(s.Foot, "5.03\u00a0% as rounded") || !strings.Contains(s.Foot, "Scale 1\u00a0g") {
		t.Errorf("the foot says %q", s.Foot)
	}
	if s.Test {
		t.Error("a free-alkali test is asked for at a chance of nothing")
	}
	sum := 0.0
	for _, x := range s.Strata {
		sum += x.Share
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("the strata add up to %g", sum)
	}
}

// TestLyeFactorsAddUp: the factors times the planned weights give the alkali. So
// a sum by hand without any ± changes nothing.
func TestLyeFactorsAddUp(t *testing.T) {
	f := workedOne()
	f.Alkali.KOHMolPct, f.Alkali.KOHPurityPct = 8, some(90)
	f.Extras = []formula.Extra{{ID: "citric-acid", Dose: 8, Into: formula.IntoLye}}
	in := input(t, f)
	s := sheet(t, in)
	sum := 0.0
	for _, l := range s.Lines() {
		sum += l.LyeForIt * l.PlanG
	}
	if want := in.Result.NaOHG + in.Result.KOHG; math.Abs(sum-want) > 1e-9*want {
		t.Errorf("the factors make %.6f g of alkali, the plan %.6f g", sum, want)
	}
	if l := byAbout(t, s, "extra:0"); !l.CountsOn || !strings.Contains(l.Note, "the lye counts on this") {
		t.Errorf("citric acid is not marked as one that the lye counts on: %+v", l)
	}
}

// anyInput draws a formula of any size, scale, unit and liquid.
func anyInput(t *rapid.T, c *catalogue.Catalogue) (Input, bool) {
	f := workedOne()
	f.FatsG = rapid.Float64Range(50, 20000).Draw(t, "fats")
	f.SuperfatPct = rapid.Float64Range(0, 15).Draw(t, "superfat")
	f.ScaleDivisionG = some(rapid.SampledFrom([]float64{0.01, 0.1, 0.25, 0.5, 1, 2, 5, 1.4174761563}).Draw(t, "division"))
	f.Alkali.KOHMolPct = rapid.SampledFrom([]float64{0, 0, 7, 100}).Draw(t, "koh")
	f.Alkali.KOHPurityPct = some(90)
	if rapid.Bool().Draw(t, "ready") {
		f.Alkali.NaOHPurityPct, f.Alkali.NaOHSolutionPct = quantity.Maybe{}, some(rapid.Float64Range(30, 50).Draw(t, "strength"))
	}
	f.Water.Value = rapid.Float64Range(24, 40).Draw(t, "concentration")
	f.Liquid.IcePct = rapid.SampledFrom([]float64{0, 30, 100}).Draw(t, "ice")
	f.Liquid.LaterPct = rapid.SampledFrom([]float64{0, 20, 100}).Draw(t, "later")
	f.Method = rapid.SampledFrom([]formula.Method{formula.Cold, formula.Hot}).Draw(t, "method")
	if f.Method == formula.Hot {
		f.Fats[2].Cooked = rapid.Bool().Draw(t, "cooked")
	}
	into := rapid.SampledFrom([]formula.Into{formula.IntoBatter, formula.IntoLye, formula.IntoFats})
	f.Extras = []formula.Extra{
		{ID: "citric-acid", Dose: rapid.Float64Range(0, 15).Draw(t, "acid"), Into: into.Draw(t, "into")},
		{ID: "coconut-milk-powder", Dose: rapid.Float64Range(0, 40).Draw(t, "milk"), Into: into.Draw(t, "into2"),
			FatPct: some(60), WaterPct: some(2), SAP: some(256)},
	}
	r, err := soap.Work(f, c)
	if err != nil {
		return Input{}, false
	}
	u := Units{Mass: rapid.SampledFrom([]quantity.MassUnit{quantity.Gram, quantity.Ounce, quantity.PoundOunce}).Draw(t, "unit")}
	return Input{Result: r, Superfat: r.Superfat, Findings: soap.Findings(r, r.Superfat, soap.DefaultLimits()), Head: Head{Units: u, Code: "1"}}, true
}

// printed reads a weight back from the text on the sheet.
func printed(t *rapid.T, l Line, u quantity.MassUnit) float64 {
	text := l.Weigh
	if u != quantity.PoundOunce {
		text += " " + u.String()
	}
	g, err := quantity.ParseMass(text, quantity.Gram)
	if err != nil {
		t.Fatalf("%q cannot be read back: %v", text, err)
	}
	return g
}

// TestRounding: the alkali is never above the plan, in print either. Everything
// else is within half a step of the plan. The resulting superfat is below the one
// asked for by no more than rounding of what takes the alkali can explain.
func TestRounding(t *testing.T) {
	c := cat(t)
	rapid.Check(t, func(t *rapid.T) {
		in, ok := anyInput(t, c)
		if !ok {
			t.Skip("not worked out")
		}
		s, err := New(in)
		if err != nil {
			t.Skip(err.Error())
		}
		lost := 0.0 // g of alkali that have no partner because the rest was rounded down
		for _, l := range s.Lines() {
			got := printed(t, l, in.Units.Mass)
			if math.Abs(got-l.WeighG) > 1e-6*(1+got) {
				t.Fatalf("%s: printed %q is %.6f g, meant %.6f g", l.Name, l.Weigh, got, l.WeighG)
			}
			if l.About == "naoh" || l.About == "koh" {
				if got > l.PlanG*(1+1e-9) {
					t.Fatalf("%s: printed %.6f g, above the plan's %.6f g", l.Name, got, l.PlanG)
				}
				if l.PlanG-got >= s.DivisionG*(1+1e-6) {
					t.Fatalf("%s: printed %.6f g, a whole step below the plan's %.6f g", l.Name, got, l.PlanG)
				}
				continue
			}
			if math.Abs(got-l.PlanG) > s.DivisionG*(1+1e-6) { // ice and water share one rounding
				t.Fatalf("%s: printed %.6f g, the plan is %.6f g", l.Name, got, l.PlanG)
			}
			lost += l.LyeForIt * math.Max(l.PlanG-l.WeighG, 0)
		}
		r := in.Result
		slack := 0.0
		if r.Mol > 0 {
			slack = 100 * lost / (r.NaOHG + r.KOHG) * r.Mol / r.SapMol * 1.1
		}
		if s.RoundedPct < s.AskedPct-slack-1e-6 {
			t.Fatalf("superfat as rounded is %.5f %%, asked %.5f %%, and rounding the fats explains only %.5f", s.RoundedPct, s.AskedPct, slack)
		}
		if s.RoundedPct < 0 && !s.Test {
			t.Fatal("the weights leave alkali over and no test is asked for")
		}
	})
}

// TestWaterBeforeAlkali: for any formula, the steps put water and all that
// dissolves in it into the jug before any alkali, and none after.
func TestWaterBeforeAlkali(t *testing.T) {
	c := cat(t)
	rapid.Check(t, func(t *rapid.T) {
		in, ok := anyInput(t, c)
		if !ok {
			t.Skip("not worked out")
		}
		s, err := New(in)
		if err != nil {
			t.Skip(err.Error())
		}
		waterFirst(t, s)
	})
}

// waterFirst fails unless the steps of s put water and all that dissolves in it
// into the jug before any alkali, and none after.
func waterFirst(t fataler, s *Sheet) {
	alkali := false
	for _, l := range s.Lye {
		switch l.About {
		case "naoh", "koh":
			alkali = true
		default:
			if alkali {
				t.Fatalf("the line %q stands after the alkali", l.Name)
			}
		}
	}
	at := map[string]int{}
	for i, st := range s.Steps {
		if _, twice := at[st.Key]; twice {
			t.Fatalf("two steps are called %s", st.Key)
		}
		at[st.Key] = i
		low := strings.ToLower(st.Text)
		for _, bad := range []string{"onto the alkali", "onto alkali", "onto the lye", "water into the lye", "water onto"} {
			if strings.Contains(low, bad) {
				t.Fatalf("a step says %q", st.Text)
			}
		}
	}
	made := len(s.Steps)
	for _, k := range []string{"alkali", "solution"} {
		if i, ok := at[k]; ok {
			made = min(made, i)
		}
	}
	if made == len(s.Steps) {
		t.Fatal("no step makes the lye")
	}
	if at["wear"] != 0 {
		t.Fatal("goggles and gloves are not the first step")
	}
	if i, ok := at["water"]; ok && i > made {
		t.Fatal("water stands after the alkali")
	}
	if i, ok := at["alkali"]; ok {
		w, water := at["water"]
		_, solution := at["solution"]
		if !solution && (!water || w > i) {
			t.Fatal("dry alkali goes into a jug in which no water stands")
		}
	}
	if i, ok := at["later"]; ok && (i < at["lye-into-fats"] || !strings.Contains(s.Steps[i].Text, "into the batter at trace: never into the lye")) {
		t.Fatalf("water kept back: step %d, %q", i, s.Steps[i].Text)
	}
	for _, l := range s.Extras {
		if strings.HasPrefix(l.GoesIn, "the jug") {
			if w, ok := at["water"]; !ok || !strings.Contains(s.Steps[w].Text, l.Name) {
				t.Fatalf("%s goes into the jug by its line, but not by the steps", l.Name)
			}
		}
	}
}

// fataler is what ends a test, rapid's or Go's.
type fataler interface {
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// TestCautions: every caution is on the sheet, the ones about the order and about
// splashes are above the lye, and 'safe' appears only in 'safety data sheet'.
func TestCautions(t *testing.T) {
	f := workedOne()
	f.SuperfatPct = 0.3
	in := input(t, f)
	s := sheet(t, in)
	keys := map[string]bool{}
	for _, c := range append(append([]lye.Caution{}, s.Cautions...), s.Behind...) {
		if keys[c.Key] {
			t.Errorf("the caution %s stands twice", c.Key)
		}
		keys[c.Key] = true
	}
	for _, c := range lye.Cautions() {
		if !keys[c.Key] {
			t.Errorf("the caution %s stands nowhere", c.Key)
		}
	}
	above := map[string]bool{}
	for _, c := range s.Cautions {
		above[c.Key] = true
	}
	for _, k := range cautionsAbove {
		if !above[k] {
			t.Errorf("the caution %s does not stand above the lye", k)
		}
	}
	if !s.Test {
		t.Fatal("no test is asked for at a superfat of 0.3 %")
	}
	last := s.Steps[len(s.Steps)-1]
	if last.Key != "test" || !strings.Contains(last.Text, "ISO 456") || !strings.Contains(last.Text, "pH cannot show superfat") {
		t.Errorf("the last step is %+v", last)
	}
	all := fmt.Sprintf("%+v", *s)
	if at := regexp.MustCompile(`(?i)\bsafe(ly)?\b`).FindStringIndex(all); at != nil {
		t.Errorf("the sheet says %q", all[max(at[0]-40, 0):min(at[1]+40, len(all))])
	}
}

// TestTeaspoons: teaspoons that nobody measured are printed as teaspoons.
func TestTeaspoons(t *testing.T) {
	f := workedOne()
	// With 1 tsp per lb of fats, taken as 2.6 g: 1000 g is 2.2046 lb, so 2.2 tsp
	// and 5.7 g.
	f.Extras = []formula.Extra{{ID: "kaolin", Dose: 2.6 / quantity.GramsPerPound * 1000,
		Typed: formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 1, GramsPerTsp: 2.6}}}
	s := sheet(t, input(t, f))
	l := byAbout(t, s, "extra:0")
	if l.Spoons != "about 2\u00a01/4\u00a0tsp" || !strings.Contains(l.Note, "5.7\u00a0g, at an assumed 2.60\u00a0g each") {
		t.Errorf("the line is %q, %q", l.Spoons, l.Note)
	}
	// 2.6 and 5.73 g divided by 28.3495 g, the avoirdupois ounce (NIST Handbook
	// 44).
	in := input(t, f)
	for _, u := range []quantity.MassUnit{quantity.Ounce, quantity.PoundOunce} {
		in.Units.Mass = u
		if l := byAbout(t, sheet(t, in), "extra:0"); l.Note != "level teaspoons; 0.20\u00a0oz, at an assumed 0.09\u00a0oz each" {
			t.Errorf("in %s it says %q", u, l.Note)
		}
	}
	f.Extras[0].Typed.Measured = true
	if l := byAbout(t, sheet(t, input(t, f)), "extra:0"); l.Spoons != "" || l.Weigh != "6" {
		t.Errorf("measured, the line is %q, %q", l.Spoons, l.Weigh)
	}
}

// TestPour: a cuboid of 80 × 55 × 30 mm holds 132 mL; nine tenths are 118.8 mL,
// 27 mm deep.
func TestPour(t *testing.T) {
	in := input(t, workedOne())
	in.Mould = &mould.Mould{ID: "b", Name: "bar tray", Shape: mould.Cuboid, Cavities: 6, Sets: 2, ReleaseHours: some(24),
		Dimensions: mould.Dimensions{LengthMM: some(80), WidthMM: some(55), DepthMM: some(30)}}
	in.Pieces, in.Fill = 12, mould.Fill{Pct: 90}
	s := sheet(t, in)
	p := s.Pour
	if p == nil || math.Abs(p.PieceML-118.8) > 1e-9 || math.Abs(p.LevelMM.V-27) > 1e-6 || p.Rounds != 1 {
		t.Fatalf("the pour is %+v", p)
	}
	if want := 118.8 * in.Result.Batter.DensityGML; math.Abs(p.PieceG-want) > 1e-9 {
		t.Errorf("each piece weighs %g g, want %g g", p.PieceG, want)
	}
	found := false
	for _, st := range s.Steps {
		if st.Key == "pour" {
			found = true
			if !strings.HasPrefix(st.Text, "Fill 12 cavities of bar tray to 90\u00a0%, ") || !strings.Contains(st.Text, "27\u00a0mm deep") {
				t.Errorf("the step says %q", st.Text)
			}
		}
	}
	if !found {
		t.Error("no step pours")
	}
	in.Fill.Pct = 0
	if _, err := New(in); err == nil {
		t.Error("a fill of 0 % was taken")
	}
}

func TestRefused(t *testing.T) {
	if _, err := New(Input{}); err == nil {
		t.Error("a sheet came of nothing")
	}
	f := workedOne()
	f.ScaleDivisionG = some(200)
	if _, err := New(input(t, f)); err == nil || !strings.Contains(err.Error(), "scale_division_g") {
		t.Errorf("alkali under one step of the scale gives %v", err)
	}
	f = workedOne()
	f.Liquid.LaterPct = 100
	if _, err := New(input(t, f)); err == nil || !strings.Contains(err.Error(), "water") {
		t.Errorf("an empty jug gives %v", err)
	}
}

func BenchmarkNew(b *testing.B) {
	in := input(b, workedOne())
	for b.Loop() {
		if _, err := New(in); err != nil {
			b.Fatal(err)
		}
	}
}

func TestLyeIsPutAwayBeforeTheMouldIsLeft(t *testing.T) {
	in := input(t, workedOne())
	in.Mould = &mould.Mould{ID: "b", Name: "bar tray", Shape: mould.Cuboid, Cavities: 6, Sets: 2, ReleaseHours: some(48),
		Dimensions: mould.Dimensions{LengthMM: some(80), WidthMM: some(55), DepthMM: some(30)}}
	in.Fill = mould.Fill{Pct: 90}
	at := map[string]int{}
	s := sheet(t, in)
	for i, st := range s.Steps {
		at[st.Key] = i
		if !strings.HasSuffix(st.Text, ".") {
			t.Errorf("the step %q is no sentence", st.Text)
		}
	}
	if !(at["pour"] < at["waste"] && at["waste"] < at["unmould"]) {
		t.Errorf("pour is step %d, waste %d, unmould %d", at["pour"], at["waste"], at["unmould"])
	}
	if got := s.Steps[at["waste"]].Text; got != "Label and close the waste cup and any leftover lye. Wipe everything down while your gloves are still on." {
		t.Errorf("the step says %q", got)
	}
}

func TestTeaspoonsBySpoon(t *testing.T) {
	for n, want := range map[float64]string{0.03: "0.03", 0.12: "about 1/8", 0.26: "about 1/4", 0.49: "about 1/2", 0.98: "about 1", 1.58: "about 1 1/2",
		1.9: "about 2", 2.2: "about 2 1/4", 12: "about 12"} {
		if got := strings.ReplaceAll(teaspoons(n, false), quantity.UnitSpace, " "); got != want {
			t.Errorf("%g teaspoons are %q, want %q", n, got, want)
		}
	}
	if got := teaspoons(1.58, true); got != "1.58" {
		t.Errorf("what the lye counts on is %q, want 1.58", got)
	}
}
