package sheetpdf

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/design"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/mould"
	"barwright/soap"

	"pgregory.net/rapid"
)

// lighthouseRun is a sculpted bar with every kind of part, for a number of
// pieces.
func lighthouseRun(t testing.TB, pieces int) *bench.Run {
	t.Helper()
	c, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	white := stormLantern()
	white.Name = "Storm white"
	white.Portions = []formula.Portion{
		{Name: "tower", By: formula.ByRest, Stage: formula.ThinTrace, Colourants: []formula.Colour{{ID: "titanium-dioxide", GPerKg: 4}}},
		{Name: "sky", By: formula.ByShare, Amount: 40, Stage: formula.MediumTrace,
			Colourants: []formula.Colour{{ID: "iron-oxide-black", GPerKg: 1.2}, {ID: "charcoal", GPerKg: 2}}},
	}
	foam := stormLantern()
	foam.Name, foam.Stage, foam.Scents, foam.Extras, foam.SuperfatPct = "Sea foam", formula.ThickTrace, nil, nil, 6
	rock := &formula.Formula{Name: "Dark rock", Method: formula.Melt, FatsG: 1000, PourC: some(54), ScaleDivisionG: some(0.1),
		Bases: []formula.Base{{Name: "Clear base", Pct: 75, DensityGML: some(1.03), MaxMeltC: some(68), MaxPourC: some(58)},
			{Name: "Opaque base", Pct: 25, MaxMeltC: some(65)}},
		Melting: formula.Melting{MeltC: some(62), Remelts: 1}, Scents: []formula.Scent{{Name: "Harbour smoke", DosePct: 2}}}
	set := &design.Set{
		Moulds: []mould.Mould{
			{ID: "tower-mould", Name: "tower mould", Shape: mould.Measured, WaterG: []float64{111.4, 111.0, 111.8}, WaterC: some(21), Cavities: 12, Sets: 3,
				Dimensions: mould.Dimensions{DepthMM: some(64)}, ReleaseHours: some(36), MaxTempC: some(220)},
			{ID: "lamp-cup", Name: "lamp cup", Shape: mould.Cylinder, Cavities: 20, Sets: 2, ReleaseHours: some(3),
				Dimensions: mould.Dimensions{DiameterMM: some(12), DepthMM: some(15)}},
		},
		Designs: []design.Design{
			{ID: "lighthouse", Name: "Lighthouse", Mould: "tower-mould", Parts: []design.Part{
				{Kind: design.Pour, Name: "tower", Formula: "white", Portion: "tower", FillToPct: some(60), Reminders: []string{"start the camera"}},
				{Kind: design.Pour, Name: "sky", Formula: "white", Portion: "sky", FillToPct: some(80)},
				{Kind: design.Embed, Design: "lamp", Count: some(1), SunkPct: 60, CoveredPct: 30},
				{Kind: design.Topping, Name: "rock", Formula: "rock", FillToPct: some(100),
					Wait: design.Wait{Minutes: some(20), Until: "skinned over"}, Note: "from the middle outwards, over a spoon"},
				{Kind: design.Piping, Name: "foam", Formula: "foam", MassG: some(7.5), Wait: design.Wait{Minutes: some(360)}},
				{Kind: design.Sprinkle, Item: "sea-salt", MassG: some(0.4)},
				{Kind: design.Wrap, Item: "belly-band", Count: some(1)},
			}},
			{ID: "lamp", Name: "Lamp", Mould: "lamp-cup", Parts: []design.Part{
				{Kind: design.Pour, Formula: "rock", FillToPct: some(100), Reminders: []string{"put the kettle on"}}}},
		},
	}
	in := bench.RunInput{Set: set, Results: map[string]*soap.Result{}, Catalogue: c, Items: map[string]string{"belly-band": "Belly band"},
		Head: bench.Head{Code: "0042", Date: "Thursday 17 September 2026", At: time.Date(2026, 9, 17, 8, 30, 0, 0, time.UTC),
			Studio: "Quillfen", Demo: true},
		Versions: map[string]int{"white": 3, "foam": 1, "rock": 2}}
	for id, f := range map[string]*formula.Formula{"white": white, "foam": foam, "rock": rock} {
		r, err := soap.Work(f, c)
		if err != nil {
			t.Fatal(err)
		}
		in.Results[id] = r
		set.Batters = append(set.Batters, design.BatterOf(id, r, 15))
	}
	if in.Need, err = design.Explode(set, []design.Want{{Design: "lighthouse", Pieces: pieces}},
		design.Options{OveragePct: 3, Stock: map[string]int{"lamp": 8}}); err != nil {
		t.Fatal(err)
	}
	r, err := bench.NewRun(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func runPDF(t testing.TB, r *bench.Run, p Paper, compress bool) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := writeRun(&b, r, p, compress); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// runWords is everything that the pages of a run must say.
func runWords(r *bench.Run) []string {
	out := []string{r.Code, r.Date}
	thing := func(t bench.Thing) { out = append(out, t.Text, t.Aside) }
	for _, t := range r.What {
		thing(t)
	}
	for _, g := range r.Ready {
		out = append(out, g.Title)
		for _, t := range g.Things {
			thing(t)
		}
	}
	for _, d := range r.Days {
		out = append(out, d.Title, d.Aside)
		for _, s := range d.Steps {
			out = append(out, s.Text, s.Wait, s.Note)
			out = append(out, s.Reminders...)
			for _, c := range s.Cautions {
				out = append(out, c.Text)
			}
			if s.Amount != nil {
				out = append(out, s.Amount.Each)
			}
		}
	}
	for _, f := range append(append(append([]finding.Finding{}, r.Stops...), r.Warns...), r.Notes...) {
		out = append(out, f.Message, f.Remedy)
	}
	for _, b := range r.Batches {
		s := b.Sheet
		out = append(out, s.Code, b.Split)
		for _, l := range s.Lines() {
			out = append(out, l.Name, l.Weigh)
		}
		for _, v := range s.Vessels {
			for _, c := range v.Colourants {
				out = append(out, c.Name, c.Weigh)
			}
			out = append(out, v.Tip.Weigh)
			out = append(out, v.Into...)
		}
		for _, st := range s.Steps {
			out = append(out, st.Text)
		}
		for _, c := range append(append(append([]lye.Caution{}, s.Cautions...), s.Behind...), s.Heat...) {
			out = append(out, c.Text)
		}
	}
	return out
}

// squeezed takes every space out, so that a word broken over lines is found.
func squeezed(s string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), "")
}

// TestRunIsAllThere: every word and every weight of the run and of its batches'
// sheets can be read from the paper, page by page, with the code in each foot.
func TestRunIsAllThere(t *testing.T) {
	r := lighthouseRun(t, 36)
	for _, paper := range []Paper{A4, Letter} {
		b := runPDF(t, r, paper, true)
		got := squeezed(text(t, b, "-raw"))
		for _, w := range runWords(r) {
			if !strings.Contains(got, squeezed(w)) {
				t.Errorf("%v: %q is not on the paper", paper, w)
			}
		}
		pages := strings.Split(strings.TrimSuffix(text(t, b, "-layout"), "\f"), "\f")
		codes := map[string]bool{}
		for i, page := range pages {
			m := regexp.MustCompile(`Quillfen, invented demo\. (0042(?:-[A-D])?)\. Page (\d+) of (\d+)`).FindStringSubmatch(words(page))
			if m == nil || m[2] != strconv.Itoa(i+1) || m[3] != strconv.Itoa(len(pages)) {
				t.Errorf("%v: the foot of page %d is %q", paper, i+1, m)
				continue
			}
			codes[m[1]] = true
			if strings.Count(page, m[1]) < 2 {
				t.Errorf("%v: page %d has the code %s only in its foot", paper, i+1, m[1])
			}
		}
		if len(codes) != 5 {
			t.Errorf("%v: the feet have the codes %v", paper, codes)
		}
		if regexp.MustCompile(`(?i)\bsafe(ly)?\b`).MatchString(words(text(t, b))) {
			t.Error("the word stands on the paper that must stand on none")
		}
		if w := words(text(t, b)); strings.Index(w, "WATER BEFORE ALKALI.") > strings.Index(w, "Sodium hydroxide") {
			t.Errorf("%v: the alkali stands before its cautions", paper)
		}
	}
}

// TestRunPlaces: each step of the order of work has a box to tick, 4.6 mm wide,
// at the left edge of the text. A heavy bar 14 mm from that edge is beside every
// step's cautions. Places are exact to 0.1 mm.
func TestRunPlaces(t *testing.T) {
	r := lighthouseRun(t, 36)
	steps, cautioned := 0, 0
	for _, d := range r.Days {
		for _, s := range d.Steps {
			steps++
			if len(s.Cautions) > 0 {
				cautioned++
			}
		}
	}
	r.Batches = nil // their sheets have boxes of their own
	for p, left := range map[Paper]float64{A4: 14, Letter: (215.9 - 182) / 2} {
		n, bars := 0, 0
		for _, b := range boxes(t, runPDF(t, r, p, false), p) {
			if math.Abs(b[2]-1.2) < 0.05 && math.Abs(b[0]-left-14) < 0.05 {
				bars++
			}
			if math.Abs(b[2]-4.6) < 0.05 && math.Abs(b[0]-left) < 0.05 {
				n++
			}
		}
		// Two more are under Pieces and one under Samples kept.
		if n != steps+3 {
			t.Errorf("%v: %d boxes at the left edge, want %d", p, n, steps+3)
		}
		if bars != cautioned {
			t.Errorf("%v: %d heavy bars beside cautions, want %d", p, bars, cautioned)
		}
	}
}

// TestRunSameBytes: the same run gives the same file.
func TestRunSameBytes(t *testing.T) {
	r := lighthouseRun(t, 12)
	if !bytes.Equal(runPDF(t, r, A4, true), runPDF(t, r, A4, true)) {
		t.Error("the same run gives other bytes")
	}
}

// TestRunClear: 10 mm on all sides stay white.
func TestRunClear(t *testing.T) {
	r := lighthouseRun(t, 36)
	r.Batches = nil // TestClear covers a sheet, and A4
	clear10(t, render(t, runPDF(t, r, Letter, true), 254), Letter)
}

// TestLongRuns: whatever the names, and however many things and steps there are,
// no ink is outside the text, nothing is left out, and every head has at least
// one row below it.
func TestLongRuns(t *testing.T) {
	base := lighthouseRun(t, 36)
	base.Batches = base.Batches[:1]
	name := rapid.Custom(func(t *rapid.T) string {
		w := rapid.SliceOfN(rapid.SampledFrom([]string{"lantern", "Ω", "kelp", "Meeresleuchten", "a",
			"Donaudampfschifffahrtsgesellschaftskapitänsmütze", "фонарь", "\u202f", "×", "12"}), 1, 40).Draw(t, "words")
		return strings.Join(w, rapid.SampledFrom([]string{" ", "", "-"}).Draw(t, "between"))
	})
	long := rapid.Custom(func(t *rapid.T) bench.Run {
		r := *base
		r.Name, r.Foot = name.Draw(t, "name"), name.Draw(t, "foot")
		r.SetCode(rapid.SampledFrom([]string{"1", "0042", "1234567890", ""}).Draw(t, "code"))
		r.Ready = nil
		for i := range rapid.IntRange(1, 4).Draw(t, "groups") {
			g := bench.Group{Key: rapid.SampledFrom([]string{"moulds", "tools"}).Draw(t, "key"), Title: fmt.Sprintf("Group %d", i)}
			for range rapid.IntRange(1, 40).Draw(t, "things") {
				g.Things = append(g.Things, bench.Thing{Text: name.Draw(t, "thing"), Aside: rapid.SampledFrom([]string{"", "of the big set"}).Draw(t, "aside")})
			}
			r.Ready = append(r.Ready, g)
		}
		d := r.Days[0]
		d.Steps = nil
		for i := range rapid.IntRange(1, 30).Draw(t, "steps") {
			s := base.Days[1].Steps[i%len(base.Days[1].Steps)]
			s.N, s.Text = i+1, name.Draw(t, "step")
			s.Note = strings.Repeat(name.Draw(t, "note")+" ", rapid.SampledFrom([]int{0, 1, 60}).Draw(t, "long"))
			d.Steps = append(d.Steps, s)
		}
		r.Days = []bench.Day{d}
		return r
	})
	// A file takes a tenth of a second, so a dozen files must be enough.
	for seed := range 12 {
		r, paper := long.Example(seed), []Paper{A4, Letter}[seed%2]
		var b bytes.Buffer
		if err := writeRun(&b, &r, paper, false); err != nil {
			t.Fatal(err)
		}
		w, h := paper.Size()
		for _, q := range boxes(t, b.Bytes(), paper) {
			if q[1]+q[3] > h-below+0.05 || q[1] < top-0.05 || q[0] < 10 || q[0]+q[2] > w-10 {
				t.Fatalf("a box at %.1f, %.1f mm, %.1f × %.1f mm, runs out of the page", q[0], q[1], q[2], q[3])
			}
		}
		for _, y := range baselines(t, b.Bytes(), paper) {
			if y > h-10 || y < top {
				t.Fatalf("a line of words stands %.1f mm down a page of %.1f mm", y, h)
			}
		}
	}
}

// boxes are the rectangles of an uncompressed file, mm from the top left.
func boxes(t fatal, b []byte, p Paper) [][4]float64 {
	_, h := p.Size()
	var out [][4]float64
	for _, m := range regexp.MustCompile(`(?m)^(-?[\d.]+) (-?[\d.]+) (-?[\d.]+) (-?[\d.]+) re [SfB]`).FindAllSubmatch(b, -1) {
		v := numbers(t, m[1:])
		out = append(out, [4]float64{v[0], h - v[1], v[2], -v[3]})
	}
	if len(out) == 0 {
		t.Fatalf("the file has no box: this test tests nothing")
	}
	return out
}

// baselines are the baselines of its words, mm from the top.
func baselines(t fatal, b []byte, p Paper) []float64 {
	_, h := p.Size()
	var out []float64
	for _, m := range regexp.MustCompile(`BT (-?[\d.]+) (-?[\d.]+) Td`).FindAllSubmatch(b, -1) {
		out = append(out, h-numbers(t, m[2:])[0])
	}
	if len(out) == 0 {
		t.Fatalf("the file has no words: this test tests nothing")
	}
	return out
}

// numbers are read in points and returned in mm.
func numbers(t fatal, fields [][]byte) []float64 {
	out := make([]float64, len(fields))
	for i, f := range fields {
		v, err := strconv.ParseFloat(string(f), 64)
		if err != nil {
			t.Fatalf("%q is no number", f)
		}
		out[i] = v * 25.4 / 72
	}
	return out
}

// fatal is what ends a test, rapid's or Go's.
type fatal interface {
	Fatalf(format string, args ...any)
}

// TestMeltSheetOnPaper: a melt alone has its base, its cautions about heat and no
// word about lye.
func TestMeltSheetOnPaper(t *testing.T) {
	r := lighthouseRun(t, 36)
	s := r.Batches[0].Sheet
	if s.Method != formula.Melt {
		t.Fatal("the first batch is no melt")
	}
	got := words(text(t, pdf(t, s, A4)))
	for _, w := range []string{"Before you", "Clear base", "never above 68", "All base", "hot melt burns skin"} {
		if !strings.Contains(got, w) {
			t.Errorf("%q is not on the sheet", w)
		}
	}
	if at := regexp.MustCompile(`(?i)\b(lye|alkali|superfat|WATER BEFORE)\b`).FindString(got); at != "" {
		t.Errorf("the sheet of a melt says %q", at)
	}
}

func TestRunRefused(t *testing.T) {
	var w failing
	if err := WriteRun(&w, nil, A4); err == nil || w.n != 0 {
		t.Errorf("no run gives %v", err)
	}
	r := lighthouseRun(t, 6)
	if err := WriteRun(&w, r, A4); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("a full disk gives %v", err)
	}
	r.Batches[0].Sheet = nil
	n := w.n
	if err := WriteRun(&w, r, A4); err == nil || !strings.Contains(err.Error(), "Batch A") || w.n != n {
		t.Errorf("a batch without its sheet gives %v", err)
	}
}

func BenchmarkWriteRun(b *testing.B) {
	r := lighthouseRun(b, 36)
	for b.Loop() {
		var w bytes.Buffer
		if err := WriteRun(&w, r, A4); err != nil {
			b.Fatal(err)
		}
	}
}
