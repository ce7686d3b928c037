package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"barwright/design"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// darkRock is a melt of two bases.
func darkRock() *formula.Formula {
	return &formula.Formula{Name: "Dark rock", Method: formula.Melt, FatsG: 1000, PourC: some(54), ScaleDivisionG: some(0.1),
		Bases: []formula.Base{
			{Name: "Clear base", Pct: 75, DensityGML: some(1.03), MaxMeltC: some(68), MaxPourC: some(58), SoftensC: some(50)},
			{Name: "Opaque base", Pct: 25, MaxMeltC: some(65)},
		},
		Melting: formula.Melting{MeltC: some(62), Remelts: 1},
		Scents:  []formula.Scent{{Name: "Harbour smoke", DosePct: 2}},
	}
}

func stormWhite() *formula.Formula {
	f := workedOne()
	f.Name, f.ScaleDivisionG = "Storm white", some(0.1)
	f.Portions = []formula.Portion{
		{Name: "sky", By: formula.ByShare, Amount: 40, Stage: formula.MediumTrace,
			Colourants: []formula.Colour{{ID: "iron-oxide-black", GPerKg: 1.2}}},
		{Name: "tower", By: formula.ByRest, Stage: formula.ThinTrace,
			Colourants: []formula.Colour{{ID: "titanium-dioxide", GPerKg: 4,
				Typed: formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 1, GramsPerTsp: 2}}}},
	}
	return f
}

func seaFoam() *formula.Formula {
	f := workedOne()
	f.Name, f.Stage, f.Scents, f.ScaleDivisionG = "Sea foam", formula.ThickTrace, nil, some(0.1)
	return f
}

// lighthouse is a sculpted bar: poured to four fifths with a lamp in it, then a
// dark topping, piped foam, salt and a closed band.
func lighthouse() *design.Set {
	return &design.Set{
		Moulds: []mould.Mould{
			{ID: "tower-mould", Name: "tower mould", Shape: mould.Measured, WaterG: []float64{111.4, 111.0, 111.8}, WaterC: some(21), Cavities: 12, Sets: 2,
				Dimensions: mould.Dimensions{DepthMM: some(64)}, ReleaseHours: some(36), MaxTempC: some(50)},
			{ID: "lamp-cup", Name: "lamp cup", Shape: mould.Cylinder, Cavities: 20, Sets: 1, ReleaseHours: some(3),
				Dimensions: mould.Dimensions{DiameterMM: some(12), DepthMM: some(15)}},
		},
		Designs: []design.Design{
			{ID: "lighthouse", Name: "Lighthouse", Mould: "tower-mould", Parts: []design.Part{
				{Kind: design.Pour, Name: "tower", Formula: "storm-white", Portion: "tower", FillToPct: some(60), Reminders: []string{"start the camera"}},
				{Kind: design.Pour, Name: "sky", Formula: "storm-white", Portion: "sky", FillToPct: some(80)},
				{Kind: design.Embed, Design: "lamp", Count: some(1), SunkPct: 60, CoveredPct: 30},
				{Kind: design.Topping, Name: "rock", Formula: "dark-rock", FillToPct: some(100),
					Wait: design.Wait{Minutes: some(20), Until: "skinned over"}, Note: "from the middle outwards"},
				{Kind: design.Piping, Name: "foam", Formula: "sea-foam", MassG: some(7.5), Wait: design.Wait{Minutes: some(360)}},
				{Kind: design.Sprinkle, Item: "sea-salt", MassG: some(0.4)},
				{Kind: design.Wrap, Item: "belly-band", Count: some(1), Closed: true},
			}},
			{ID: "lamp", Name: "Lamp", Mould: "lamp-cup", Parts: []design.Part{
				{Kind: design.Pour, Formula: "dark-rock", FillToPct: some(100), Reminders: []string{"put the kettle on"}},
			}},
		},
	}
}

func runInput(t testing.TB, pieces int) RunInput {
	t.Helper()
	c := cat(t)
	set := lighthouse()
	in := RunInput{Set: set, Results: map[string]*soap.Result{}, Catalogue: c, Items: map[string]string{"belly-band": "Belly band"},
		Head:     Head{Code: "0042", Date: "Thursday 17 September 2026", At: time.Date(2026, 9, 17, 8, 30, 0, 0, time.UTC), Studio: "Quillfen"},
		Versions: map[string]int{"storm-white": 3}}
	for id, f := range map[string]*formula.Formula{"storm-white": stormWhite(), "dark-rock": darkRock(), "sea-foam": seaFoam()} {
		r, err := soap.Work(f, c)
		if err != nil {
			t.Fatal(err)
		}
		in.Results[id] = r
		b := design.Batter{ID: id, Name: f.Name, DensityGML: r.Batter.DensityGML, PotLossG: 15, Method: f.Method, Stage: f.Stage}
		for _, p := range f.Portions {
			q := design.Portion{Name: p.Name, Stage: p.Stage}
			for _, k := range p.Colourants {
				q.Colourants = append(q.Colourants, design.Colourant{ID: k.ID, GPerKg: k.GPerKg, Typed: k.Typed})
			}
			b.Portions = append(b.Portions, q)
		}
		set.Batters = append(set.Batters, b)
	}
	n, err := design.Explode(set, []design.Want{{Design: "lighthouse", Pieces: pieces}}, design.Options{OveragePct: 3})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	return in
}

func newRun(t testing.TB, in RunInput) *Run {
	t.Helper()
	r, err := NewRun(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRun compares a run of 36 lighthouses with its design.
func TestRun(t *testing.T) {
	in := runInput(t, 36)
	r := newRun(t, in)
	var kinds []string
	for _, d := range r.Days {
		kinds = append(kinds, d.Key)
		for _, s := range d.Steps {
			kinds = append(kinds, s.Kind)
		}
	}
	if got, want := strings.Join(kinds, " "), "earlier make pour cover unmould "+
		"day make pour pour embed make topping make piping sprinkle cover later unmould cure wrap"; got != want {
		t.Errorf("the steps are %s\nwant %s", got, want)
	}
	var letters, codes []string
	for _, b := range r.Batches {
		letters = append(letters, b.Letter+" "+b.Name)
		codes = append(codes, b.Sheet.Code)
	}
	if got := strings.Join(letters, ", "); got != "A Dark rock, B Storm white, C Dark rock, D Sea foam" {
		t.Errorf("the batches are %s", got)
	}
	if got := strings.Join(codes, " "); got != "0042-A 0042-B 0042-C 0042-D" {
		t.Errorf("the codes are %s", got)
	}
	r.SetCode("7")
	if r.Code != "7" || r.Batches[1].Sheet.Code != "7-B" {
		t.Errorf("the codes become %s, %s", r.Code, r.Batches[1].Sheet.Code)
	}
	step := func(kind string) RunStep {
		for _, d := range r.Days {
			for _, s := range d.Steps {
				if s.Kind == kind {
					return s
				}
			}
		}
		t.Fatalf("no step is a %s", kind)
		return RunStep{}
	}
	if s := step("topping"); s.Wait != "Wait at least 20\u00a0min, until skinned over" || s.Note != "from the middle outwards" ||
		!strings.Contains(s.Text, "to 100\u00a0%, about 64\u00a0mm deep") {
		t.Errorf("the topping is %+v", s)
	}
	// 1.696 mL of a cylinder 12 mm wide: 60 % of 15 mm is 9 mm.
	if s := step("embed"); !strings.Contains(s.Text,
		"36 in all. Sink 60\u00a0% of it, about 9\u00a0mm of its 15\u00a0mm as it was cast; what follows covers 30\u00a0%; 10\u00a0% stands proud.") {
		t.Errorf("the embed says %q", s.Text)
	}
	if s := step("piping"); s.Amount.Each != "7.5\u00a0g" || s.Amount.Total != "270.0\u00a0g" || s.Wait != "" {
		t.Errorf("the piping is %+v, %+v", s, s.Amount)
	}
	if s := step("sprinkle"); !strings.Contains(s.Text, "0.4\u00a0g onto each of 36 cavities, 14.4\u00a0g in all") {
		t.Errorf("the salt says %q", s.Text)
	}
	if s := step("wrap"); !strings.Contains(s.Text, "Belly band, 1 for each of 36 Lighthouse; it keeps moisture in") {
		t.Errorf("the band says %q", s.Text)
	}
	ready := map[string]string{}
	for _, g := range r.Ready {
		for _, x := range g.Things {
			ready[g.Key] += x.Text + "|"
		}
	}
	for key, want := range map[string]string{"moulds": "tower mould: 36 cavities, in 2 sets of 12, filled twice over|", "embeds": "36 × Lamp: cast first|",
		"items": "Sea salt, 14.4\u00a0g|", "packaging": "36 × Belly band|", "reminders": "put the kettle on|start the camera|"} {
		if !strings.Contains(ready[key], want) {
			t.Errorf("ready among %s: %s, want %s", key, ready[key], want)
		}
	}
	if !slices.ContainsFunc(r.Warns, func(f finding.Finding) bool { return f.Rule == "mould-heat" }) {
		t.Errorf("no word of a mould that stands 50 °C: %v", r.Warns)
	}
}

// TestRunMasses: the batches weigh what the need asks for, plus one more pot
// where a batch is made twice, and the vessels hold all of a batch.
func TestRunMasses(t *testing.T) {
	in := runInput(t, 36)
	r := newRun(t, in)
	sum := map[string]float64{}
	made := map[string]int{}
	for _, b := range r.Batches {
		sum[b.Formula] += b.MassG
		made[b.Formula]++
		tip := 0.0
		for _, v := range b.Sheet.Vessels {
			tip += v.Tip.PlanG
		}
		if math.Abs(tip-b.MassG) > 1e-6 {
			t.Errorf("the vessels of %s take %g g, the batch is %g g", b.Letter, tip, b.MassG)
		}
		if math.Abs(b.Sheet.Batter.MassG-b.MassG) > 1 {
			t.Errorf("the sheet of %s weighs %g g, the batch is %g g", b.Letter, b.Sheet.Batter.MassG, b.MassG)
		}
	}
	for _, b := range in.Need.Batches {
		want := b.MassG + float64(made[b.Formula]-1)*b.PotLossG
		if math.Abs(sum[b.Formula]-want) > 1e-6 {
			t.Errorf("%s is made %g g of, want %g g", b.Formula, sum[b.Formula], want)
		}
	}
	if made["dark-rock"] != 2 || len(r.Notes) == 0 {
		t.Error("a melt for an earlier day and the day is not made twice, or nothing says so")
	}
}

// TestRunStored: a run is kept as JSON and comes back unchanged.
func TestRunStored(t *testing.T) {
	r := newRun(t, runInput(t, 7))
	first, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var back Run
	if err := json.Unmarshal(first, &back); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(&back)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first, again) {
		t.Error("the run changes when it is stored and read back")
	}
	if !reflect.DeepEqual(back.Days, r.Days) {
		t.Error("the days change when they are stored and read back")
	}
}

// ofLye are words that a melt does not need.
var ofLye = regexp.MustCompile(`(?i)\b(lye|alkali|superfat)\b`)

// TestRunsWaterBeforeAlkali: whatever is asked for, every pour is done once, in
// its design's order, from a batch that was made before it. Every making of lye
// has its cautions above it. No sheet of the run puts water onto alkali. A melt
// speaks of heat and not of lye.
func TestRunsWaterBeforeAlkali(t *testing.T) {
	base := runInput(t, 36)
	bad := regexp.MustCompile(`\b[Ss]afe(ly)?\b|NaN|Inf\b`)
	rapid.Check(t, func(t *rapid.T) {
		in := base
		set := *base.Set
		set.Designs = append([]design.Design(nil), set.Designs...)
		if rapid.Bool().Draw(t, "second design") {
			d := set.Designs[0]
			d.ID, d.Name = "beacon", rapid.StringMatching(`[A-Za-zé ]{0,40}`).Draw(t, "name")
			d.Parts = append([]design.Part(nil), d.Parts...)
			for i := range d.Parts {
				d.Parts[i].Wait.Minutes = some(rapid.Float64Range(0, 4000).Draw(t, "wait"))
			}
			set.Designs = append(set.Designs, d)
		}
		in.Set = &set
		var wants []design.Want
		for _, d := range set.Designs {
			if n := rapid.IntRange(0, 60).Draw(t, "pieces"); n > 0 {
				wants = append(wants, design.Want{Design: d.ID, Pieces: n})
			}
		}
		in.Units.Mass = rapid.SampledFrom([]quantity.MassUnit{quantity.Gram, quantity.Ounce, quantity.PoundOunce}).Draw(t, "unit")
		in.Units.Temp = rapid.SampledFrom([]quantity.TempUnit{quantity.Celsius, quantity.Fahrenheit}).Draw(t, "degrees")
		if len(wants) == 0 {
			t.Skip("nothing asked for")
		}
		n, err := design.Explode(&set, wants, design.Options{OveragePct: rapid.Float64Range(0, 20).Draw(t, "over"),
			Stock: map[string]int{"lamp": rapid.IntRange(0, 80).Draw(t, "stock")}})
		if err != nil {
			t.Skip(err.Error())
		}
		in.Need = n
		r, err := NewRun(in)
		if err != nil {
			if strings.Contains(err.Error(), "scale") {
				t.Skip(err.Error()) // too little for the scale
			}
			t.Fatal(err)
		}
		made, part, poured, last := map[string]bool{}, map[string]int{}, 0, 0
		for _, d := range r.Days {
			if len(d.Steps) == 0 {
				t.Fatalf("the day %s is empty", d.Key)
			}
			for _, s := range d.Steps {
				if s.N != last+1 {
					t.Fatalf("step %d stands after step %d", s.N, last)
				}
				last = s.N
				keys := map[string]bool{}
				for _, c := range s.Cautions {
					keys[c.Key] = true
				}
				switch s.Kind {
				case "make":
					made[s.Batch] = true
					lyeMade := false
					for _, b := range r.Batches {
						if b.Letter == s.Batch {
							lyeMade = b.Lye
						}
					}
					if lyeMade && !(keys["wear"] && keys["water-first"] && keys["splash-skin"] && keys["splash-eye"] && keys["sheet"]) {
						t.Fatalf("lye is made under the cautions %v", keys)
					}
					if !lyeMade && !(keys["heat-wear"] && keys["heat-burn"]) {
						t.Fatalf("base is melted under the cautions %v", keys)
					}
				case "pour", "topping", "piping":
					poured++
					if s.Batch != "" && !made[s.Batch] {
						t.Fatalf("batch %s is poured before it is made", s.Batch)
					}
				}
				if s.Part > 0 && s.Kind != "wrap" {
					if s.Part <= part[s.Design] {
						t.Fatalf("part %d of %s comes after part %d", s.Part, s.Design, part[s.Design])
					}
					part[s.Design] = s.Part
				}
			}
		}
		if poured != len(n.Pours) {
			t.Fatalf("%d pours are written down, the need has %d", poured, len(n.Pours))
		}
		for _, b := range r.Batches {
			if b.Lye {
				waterFirst(t, b.Sheet)
				continue
			}
			for _, s := range b.Sheet.Steps {
				if ofLye.MatchString(s.Text) {
					t.Fatalf("a melt's step says %q", s.Text)
				}
			}
			if len(b.Sheet.Heat) == 0 || len(b.Sheet.Cautions)+len(b.Sheet.Behind) > 0 {
				t.Fatal("a melt has the cautions of lye, or none of heat")
			}
		}
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if at := bad.FindIndex(text); at != nil {
			t.Fatalf("the run says %q", text[max(at[0]-60, 0):min(at[1]+40, len(text))])
		}
	})
}

func TestRunRefused(t *testing.T) {
	if _, err := NewRun(RunInput{}); err == nil || !strings.Contains(err.Error(), "need") {
		t.Errorf("a run of nothing gives %v", err)
	}
	in := runInput(t, 6)
	delete(in.Results, "sea-foam")
	if _, err := NewRun(in); err == nil || !strings.Contains(err.Error(), "Sea foam is not worked out") {
		t.Errorf("a formula that is not there gives %v", err)
	}
}

// TestBatterThatWaits: the run warns of a raw batter of which a part is poured a
// day later.
func TestBatterThatWaits(t *testing.T) {
	in := runInput(t, 6)
	in.Set.Designs[0].Parts[1].Wait.Minutes = some(24 * 60)
	r := newRun(t, in)
	found := false
	for _, w := range r.Warns {
		found = found || w.Rule == "batter-waits" && strings.Contains(w.Message, "24\u00a0h")
	}
	if !found {
		t.Errorf("nothing is said of it: %v", r.Warns)
	}
}

// TestDoughWaits: a dough is made, waits, and is pressed in after that.
func TestDoughWaits(t *testing.T) {
	in := runInput(t, 6)
	set := in.Set
	set.Designs = append(set.Designs, design.Design{ID: "pebble", Name: "Pebble", Mould: "lamp-cup", Parts: []design.Part{
		{Kind: design.Pour, Formula: "sea-foam", Stage: formula.Dough, FillToPct: some(60), Wait: design.Wait{Minutes: some(2 * 24 * 60)}},
		{Kind: design.Pour, Formula: "sea-foam", Stage: formula.Dough, FillToPct: some(100), Wait: design.Wait{Minutes: some(120)}}}})
	n, err := design.Explode(set, []design.Want{{Design: "pebble", Pieces: 6}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	r := newRun(t, in)
	if len(r.Days) < 2 || r.Days[1].Title != "2 days later" || r.Days[1].Key != "day-after-2" || len(r.Days[1].Batches) > 0 {
		t.Fatalf("the days are %+v", r.Days)
	}
	steps := append(slices.Clone(r.Days[0].Steps), r.Days[1].Steps...)
	if steps[0].Kind != "make" || steps[0].Wait != "" || steps[1].Kind != "pour" || steps[1].Wait != "Wait at least 2 days" {
		t.Errorf("first %s %q, then %s %q", steps[0].Kind, steps[0].Wait, steps[1].Kind, steps[1].Wait)
	}
	for _, f := range r.Warns {
		if f.Rule == "batter-waits" {
			t.Errorf("a dough is warned of: %s", f.Message)
		}
	}
}

// TestPipedOutOfTheMould: what is piped after the mould's own time goes onto a
// piece on the bench, and the piece is unmoulded once.
func TestPipedOutOfTheMould(t *testing.T) {
	in := runInput(t, 36)
	parts := in.Set.Designs[slices.IndexFunc(in.Set.Designs, func(d design.Design) bool { return d.ID == "lighthouse" })].Parts
	piped := slices.IndexFunc(parts, func(p design.Part) bool { return p.Kind == design.Piping })
	parts[piped].Wait = design.Wait{Minutes: some(36 * 60), Until: "it lifts out"}
	need, err := design.Explode(in.Set, in.Need.Wants, design.Options{OveragePct: 3})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = need
	var kinds []string
	wait := ""
	for _, d := range newRun(t, in).Days {
		for _, s := range d.Steps {
			if s.Design == "lighthouse" || s.Kind == "make" && d.Key == "day" {
				kinds = append(kinds, s.Kind)
			}
			if s.Design == "lighthouse" && s.Kind == "unmould" {
				wait = s.Wait
			}
			if s.Kind == "piping" && s.Wait != "" {
				t.Errorf("the piping waits once more: %q", s.Wait)
			}
		}
	}
	said := strings.Join(kinds, " ")
	if !strings.Contains(said, "topping cover unmould ") || !strings.Contains(said, "piping") ||
		strings.Index(said, "unmould") > strings.Index(said, "piping") ||
		strings.Count(said, "unmould") != 1 || strings.Count(said, "cover") != 1 {
		t.Errorf("the steps are %s", said)
	}
	if wait != "Wait at least 36\u00a0h, until it lifts out" {
		t.Errorf("before it is unmoulded: %q", wait)
	}
}

// TestDaysLater: what waits for three days, and all that follows it, is on a day
// of its own. The wait is said once. What can be done at once is done first. A
// batch belongs to the day on which it is made.
func TestDaysLater(t *testing.T) {
	in := runInput(t, 36)
	set := in.Set
	parts := set.Designs[0].Parts
	piped := slices.IndexFunc(parts, func(p design.Part) bool { return p.Kind == design.Piping })
	parts[piped].Wait = design.Wait{Minutes: some(3 * 24 * 60)}
	beacon := set.Designs[0]
	beacon.ID, beacon.Name = "beacon", "Beacon"
	beacon.Parts = slices.Clone(parts[:2])
	set.Designs = append(set.Designs, beacon)
	need, err := design.Explode(set, []design.Want{{Design: "lighthouse", Pieces: 36}, {Design: "beacon", Pieces: 12}}, design.Options{OveragePct: 3})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = need
	r := newRun(t, in)
	var got []string
	last := 0
	for _, d := range r.Days {
		line := d.Key + " " + d.Title + ":"
		for _, s := range d.Steps {
			line += " " + s.Kind
			if s.Design == "beacon" {
				line += "*"
			}
			if s.N != last+1 {
				t.Errorf("step %d stands after step %d", s.N, last)
			}
			last = s.N
			if s.Kind == "unmould" && d.Key == "day-after-3" && (s.Wait != "Wait at least 3 days" || strings.Contains(s.Text, "no sooner")) {
				t.Errorf("the wait is said %q and %q", s.Wait, s.Text)
			}
			if s.Kind == "wrap" && !strings.HasPrefix(s.Text, "Wrap when it has cured: ") {
				t.Errorf("the band goes on %q", s.Text)
			}
		}
		got = append(got, line)
		for _, letter := range d.Batches {
			for _, b := range r.Batches {
				if b.Letter == letter && b.Day != d.Key {
					t.Errorf("batch %s is made on %s, and says %s", letter, d.Key, b.Day)
				}
			}
		}
	}
	want := []string{
		"earlier On an earlier day: make pour cover unmould",
		"day On the day: make pour pour* pour embed make topping cover pour* cover*",
		"day-after-3 3 days later: unmould make piping sprinkle",
		"later Afterwards: cure unmould* cure* wrap",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the days (-want +got):\n%s", diff)
	}
}

// TestVesselRoom: a batter that goes into one vessel is not called divided, and
// the room of the vessel is for the batter alone, without the pigment.
func TestVesselRoom(t *testing.T) {
	in := runInput(t, 12)
	in.Set.Designs[0].Parts = in.Set.Designs[0].Parts[:1]
	need, err := design.Explode(in.Set, []design.Want{{Design: "lighthouse", Pieces: 12}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = need
	r := newRun(t, in)
	s := r.Batches[0].Sheet
	if len(s.Vessels) != 1 || len(s.Vessels[0].Colourants) == 0 {
		t.Fatalf("the vessels are %+v", s.Vessels)
	}
	if math.Abs(s.Vessels[0].VolumeML-s.Batter.VolumeML) > 1 || s.Vessels[0].Volume != s.Batter.Volume {
		t.Errorf("a vessel of %s holds a batter of %s", s.Vessels[0].Volume, s.Batter.Volume)
	}
	if text := r.Days[0].Steps[0].Text; !strings.HasSuffix(text, ", all of it into one vessel, tower.") {
		t.Errorf("it is made as %q", text)
	}
}

// TestMeltSheet compares a melt's sheet with sums by hand: 75 and 25 % of 1000 g of
// base, and 2 % of that of scent.
func TestMeltSheet(t *testing.T) {
	in := input(t, darkRock())
	in.Mould = &mould.Mould{ID: "b", Name: "bar tray", Shape: mould.Cuboid, Cavities: 6, Sets: 2, ReleaseHours: some(4), MaxTempC: some(50),
		Dimensions: mould.Dimensions{LengthMM: some(80), WidthMM: some(55), DepthMM: some(30)}}
	in.Fill = mould.Fill{Pct: 90}
	s := sheet(t, in)
	for about, want := range map[string]string{"base:0": "750.0", "base:1": "250.0", "scent:0": "20.0"} {
		if l := byAbout(t, s, about); l.Weigh != want {
			t.Errorf("%s weighs %s, want %s", l.Name, l.Weigh, want)
		}
	}
	var all string
	for _, st := range s.Steps {
		all += st.Text + "\n"
	}
	for _, w := range []string{"never above 65\u00a0°C", "about 54\u00a0°C", "Never pour it above 58\u00a0°C",
		"a mist of spirit, only away from flame", "hot melt burns skin"} {
		if !strings.Contains(all, w) {
			t.Errorf("no step says %q:\n%s", w, all)
		}
	}
	if ofLye.MatchString(all + s.Foot) {
		t.Errorf("the sheet of a melt speaks of lye:\n%s%s", all, s.Foot)
	}
	if len(s.Lye) > 0 || len(s.Fats) > 0 || s.Test || len(s.Cautions) > 0 || len(s.Heat) != len(HeatCautions()) {
		t.Errorf("the sheet of a melt has %d lines of lye, %d of fats", len(s.Lye), len(s.Fats))
	}
	warned := false
	for _, w := range s.Warns {
		warned = warned || w.Rule == "mould-heat" && strings.Contains(w.Message, "takes at most 50\u00a0°C") &&
			strings.Contains(w.Message, "poured at 54\u00a0°C")
	}
	if !warned {
		t.Errorf("nothing is said of a mould that stands 50 °C: %v", s.Warns)
	}
	if _, err := json.Marshal(s); err != nil {
		t.Error(err)
	}
}

// TestPortions: 1483 g of batter (TestWorkedSheet) is 593 g of sky and 890 g of
// tower; 4 g per kg of 889.8 g is 3.56 g, 1.8 tsp of 2 g.
func TestPortions(t *testing.T) {
	f := stormWhite()
	f.ScaleDivisionG = some(1)
	in := input(t, f)
	s := sheet(t, in)
	if len(s.Vessels) != 2 {
		t.Fatalf("%d vessels", len(s.Vessels))
	}
	tower, sky := s.Vessels[0], s.Vessels[1]
	if tower.Name != "tower" || !tower.Rest || tower.Tip.Weigh != "890" || sky.Tip.Weigh != "593" || sky.StageWords != "at medium trace" {
		t.Errorf("the vessels are %+v, %+v", tower, sky)
	}
	if c := tower.Colourants[0]; c.Spoons != "about 1\u00a03/4\u00a0tsp" || c.Name != "Titanium dioxide" {
		t.Errorf("the white is %q of %s", c.Spoons, c.Name)
	}
	var all string
	for _, st := range s.Steps {
		all += st.Text + "\n"
	}
	for _, w := range []string{"Vessel 1, tower: pour in what is left, about 890\u00a0g",
		"Vessel 2, sky: pour in 593\u00a0g of batter. Stir in: Black iron oxide", "Pour in this order: tower, then sky"} {
		if !strings.Contains(all, w) {
			t.Errorf("no step says %q:\n%s", w, all)
		}
	}
	waterFirst(t, s)
}

// TestCookOff: 20 % of the 290.42 g of water (TestWorkedSheet) is 58 g. The
// scent, 50 g, goes in after the cook, so it is 1433 g before the cook and 1375 g
// after.
func TestCookOff(t *testing.T) {
	f := workedOne()
	f.Method, f.CookLossPct = formula.Hot, some(20)
	s := sheet(t, input(t, f))
	c := s.Cook
	if c == nil || c.Before != "1\u202f433\u00a0g" || c.Loss != "58\u00a0g" || c.After != "1\u202f375\u00a0g" || math.Abs(s.Batter.MassG-1424.916) > 0.001 {
		t.Fatalf("the cook is %+v, the batter %g g", c, s.Batter.MassG)
	}
	var keys []string
	for _, st := range s.Steps {
		keys = append(keys, st.Key)
	}
	if got := strings.Join(keys, " "); !strings.Contains(got, "pot-before cook cooked pot-after scent") {
		t.Errorf("the steps are %s", got)
	}
	steam := false
	for _, b := range s.Behind {
		steam = steam || b.Key == "heat-steam"
	}
	if !steam {
		t.Error("a cook has no word on steam")
	}
}

// TestOnlyRawBatterHasATrace: no step brings a cook or a melt to a trace.
func TestOnlyRawBatterHasATrace(t *testing.T) {
	for _, method := range []formula.Method{formula.Cold, formula.Hot} {
		f := stormWhite()
		f.Method = method
		got := ""
		for _, st := range sheet(t, input(t, f)).Steps {
			if strings.HasPrefix(st.Key, "vessel") {
				got += st.Text
			}
		}
		if raw := method == formula.Cold; strings.Contains(got, "medium trace") != raw {
			t.Errorf("method %d: %q", method, got)
		}
	}
	in := runInput(t, 6)
	in.Set.Designs[0].Parts[3].Stage = formula.MediumTrace
	n, err := design.Explode(in.Set, []design.Want{{Design: "lighthouse", Pieces: 6}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	for _, d := range newRun(t, in).Days {
		for _, s := range d.Steps {
			if s.Kind == "topping" && strings.Contains(s.Text, "trace") {
				t.Errorf("a melt is poured %q", s.Text)
			}
		}
	}
}

// TestRunSize: what is kept of 36 lighthouses is far below the 1 MiB that a
// studio keeps of a run.
func TestRunSize(t *testing.T) {
	b, err := json.Marshal(newRun(t, runInput(t, 36)))
	if err != nil {
		t.Fatal(err)
	}
	if len(b) > 150_000 {
		t.Errorf("a run of four batches takes %d bytes", len(b))
	}
	t.Logf("%d bytes", len(b))
}

// TestIcedPeak: with ice the step gives both peaks.
func TestIcedPeak(t *testing.T) {
	f := workedOne()
	f.Liquid.IcePct = 40
	in := input(t, f)
	s := sheet(t, in)
	for _, st := range s.Steps {
		if st.Key == "alkali" {
			want := fmt.Sprintf("With the ice it may reach %.0f\u00a0°C, without it %.0f\u00a0°C",
				math.Ceil(in.Result.Lye.IcedPeakC.V), math.Ceil(in.Result.Lye.PeakC.V))
			if !in.Result.Lye.IcedPeakC.Known || !strings.Contains(st.Text, want) {
				t.Errorf("the step says %q, want %q", st.Text, want)
			}
			return
		}
	}
	t.Fatal("no step dissolves the alkali")
}

// A limit in Fahrenheit is never rounded up past what the supplier allows: 62 °C is
// 143.6 °F.
func TestALimitIsRoundedDownInFahrenheit(t *testing.T) {
	f := darkRock()
	f.Bases[1].MaxMeltC = some(62)
	in := input(t, f)
	in.Units.Temp = quantity.Fahrenheit
	s := sheet(t, in)
	if got, want := s.Bases[1].Note, "never above 143"+quantity.UnitSpace+"°F"; got != want {
		t.Errorf("the note is %q, want %q", got, want)
	}
	if !strings.Contains(s.Foot, "melted at 143"+quantity.UnitSpace+"°F at most") {
		t.Errorf("the foot says otherwise: %s", s.Foot)
	}
}

// TestHeatCautions: each caution has a key of its own, a text, and a source or the
// words that there is none. No caution of lye has the same key.
func TestHeatCautions(t *testing.T) {
	keys := map[string]bool{}
	for _, c := range HeatCautions() {
		if keys[c.Key] || c.Key == "" || c.Text == "" || c.Source == "" {
			t.Errorf("the caution %+v", c)
		}
		keys[c.Key] = true
	}
	for _, k := range []string{"heat-wear", "heat-sheet", "heat-gentle", "heat-steam", "heat-spirit", "heat-burn"} {
		if !keys[k] {
			t.Errorf("there is no caution %s", k)
		}
	}
	for _, c := range lye.Cautions() {
		if keys[c.Key] {
			t.Errorf("%s is a caution of lye too", c.Key)
		}
	}
}

// TestOne: a run of one piece never says 'in each', and an embed that is on the
// shelf makes no earlier day.
func TestOne(t *testing.T) {
	in := runInput(t, 6)
	n, err := design.Explode(in.Set, []design.Want{{Design: "lamp", Pieces: 5}, {Design: "lighthouse", Pieces: 1}},
		design.Options{Stock: map[string]int{"lamp": 1}})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	r := newRun(t, in)
	if r.Days[0].Key != "day" || len(r.Days) != 2 || len(r.Notes) > 0 && r.Notes[0].Rule == "made-twice" {
		t.Errorf("lamps at hand make %d days, the first %s, %v", len(r.Days), r.Days[0].Key, r.Notes)
	}
	for _, d := range r.Days {
		for _, s := range d.Steps {
			if s.Design == "lighthouse" && strings.Contains(s.Text, "each") {
				t.Errorf("of one piece a step says %q", s.Text)
			}
		}
	}
}

// TestNested: an embed of an embed is cast a day before it, from a batch of its
// own.
func TestNested(t *testing.T) {
	in := runInput(t, 6)
	set := in.Set
	set.Designs = append(set.Designs, design.Design{ID: "flame", Name: "Flame", Mould: "lamp-cup",
		Parts: []design.Part{{Kind: design.Pour, Formula: "dark-rock", MassG: some(0.6)}}})
	set.Designs[1].Parts = append(set.Designs[1].Parts, design.Part{Kind: design.Embed, Design: "flame", Count: some(2)})
	n, err := design.Explode(set, []design.Want{{Design: "lighthouse", Pieces: 6}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	r := newRun(t, in)
	var got []string
	for _, d := range r.Days {
		got = append(got, d.Key+" "+strings.Join(d.Batches, ""))
	}
	if s := strings.Join(got, ", "); s != "earlier-2 A, earlier B, day CDE, later " {
		t.Errorf("the days are %s", s)
	}
	if s := r.Days[0].Steps[1]; s.DesignName != "Flame" || s.Amount.Of != 12 || s.Amount.Each != "0.6\u00a0g" {
		t.Errorf("first is cast %+v, %+v", s, s.Amount)
	}
	sum, lost := 0.0, 0.0
	for _, b := range r.Batches {
		if b.Formula == "dark-rock" {
			sum += b.MassG
			lost += 15
		}
	}
	for _, b := range n.Batches {
		if b.Formula == "dark-rock" && math.Abs(sum-(b.PartsG+lost)) > 1e-6 {
			t.Errorf("three melts make %g g for %g g and what stays in three pots", sum, b.PartsG)
		}
	}
}

// TestCutRun: a block of 2 × 3 bars is cut after unmoulding, and wrapped by the piece.
func TestCutRun(t *testing.T) {
	in := runInput(t, 6)
	set := in.Set
	set.Moulds = append(set.Moulds, mould.Mould{ID: "loaf", Name: "loaf", Shape: mould.Cuboid, Cavities: 1, Sets: 1, ReleaseHours: some(24),
		Dimensions: mould.Dimensions{LengthMM: some(200), WidthMM: some(80), DepthMM: some(60)}, Cut: &mould.Cut{Along: 3, Across: 2, Layers: 1, EndMM: 4}})
	set.Designs = append(set.Designs, design.Design{ID: "slice", Name: "Slice", Mould: "loaf", Parts: []design.Part{
		{Kind: design.Pour, Formula: "sea-foam", FillToPct: some(100)}, {Kind: design.Wrap, Item: "belly-band", Count: some(1)}}})
	n, err := design.Explode(set, []design.Want{{Design: "slice", Pieces: 6}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	r := newRun(t, in)
	later := r.Days[len(r.Days)-1]
	var texts []string
	for _, s := range later.Steps {
		texts = append(texts, s.Text)
	}
	all := strings.Join(texts, "\n")
	for _, w := range []string{"Unmould Slice, no sooner than 24\u00a0h after the pour.",
		"Cut each block of Slice into 6 bars: 3 along, 2 across, 1 layer. Trim 4\u00a0mm off each end", "Belly band, 1 for each of 6 Slice"} {
		if !strings.Contains(all, w) {
			t.Errorf("nothing says %q:\n%s", w, all)
		}
	}
}

// BenchmarkNewRun makes a run of 36 lighthouses.
func BenchmarkNewRun(b *testing.B) {
	in := runInput(b, 36)
	for b.Loop() {
		if _, err := NewRun(in); err != nil {
			b.Fatal(err)
		}
	}
}

// A wait is rounded up as a whole, so that an hour never has sixty minutes left.
func TestAWaitIsSaidAsAClockTellsIt(t *testing.T) {
	for minutes, want := range map[float64]string{20: "20 min", 59.5: "1 h", 60: "1 h", 90: "1 h 30 min", 119.5: "2 h", 179.5: "3 h",
		180.2: "3 h 1 min", 36 * 60: "36 h", 48 * 60: "2 days", 60 * 60: "2.5 days"} {
		if got := strings.ReplaceAll(lasting(minutes), quantity.UnitSpace, " "); got != want {
			t.Errorf("%g minutes are %q, want %q", minutes, got, want)
		}
	}
}

// An embed that is set on something has something to be set on.
func TestAnEmbedStandsOnTheFootOfAnEmptyCavity(t *testing.T) {
	for at, want := range map[int]string{0: "Set it on the bottom of the empty cavity; what follows covers 30 %",
		2: "Set it on top and do not sink it; what follows covers 30 %"} {
		in := runInput(t, 3)
		parts := in.Set.Designs[0].Parts
		lamp := parts[2]
		lamp.SunkPct = 0
		parts = slices.Delete(slices.Clone(parts), 2, 3)
		in.Set.Designs[0].Parts = slices.Insert(parts, at, lamp)
		n, err := design.Explode(in.Set, in.Need.Wants, design.Options{})
		if err != nil {
			t.Fatal(err)
		}
		in.Need = n
		said := ""
		for _, d := range newRun(t, in).Days {
			for _, s := range d.Steps {
				if s.Kind == "embed" {
					said = strings.ReplaceAll(s.Text, quantity.UnitSpace, " ")
				}
			}
		}
		if !strings.HasSuffix(said, want+".") {
			t.Errorf("the embed at %d: %s", at, said)
		}
	}
}

func TestAnIdIsReadAsWords(t *testing.T) {
	for id, want := range map[string]string{"sea-salt": "Sea salt", "écume-fine": "Écume fine", " - ": "something without a name"} {
		if got := inWords(id); got != want {
			t.Errorf("%q is read as %q, want %q", id, got, want)
		}
	}
}

// The same run is the same to the last bit, in whatever order a map gives its
// portions. So it is recognised when its form is sent twice.
func TestTheSameRunWeighsTheSame(t *testing.T) {
	in := runInput(t, 37)
	parts := in.Set.Designs[1].Parts
	in.Set.Designs[1].Parts = nil
	for i, portion := range []string{"sky", "tower", "", "sky"} {
		p := parts[0]
		p.Formula, p.Portion, p.FillToPct = "storm-white", portion, some(17.3*float64(i+1))
		in.Set.Designs[1].Parts = append(in.Set.Designs[1].Parts, p)
	}
	in.Set.Designs[0].Parts[0].FillToPct = some(53.7)
	n, err := design.Explode(in.Set, in.Need.Wants, design.Options{OveragePct: 3.3})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = n
	first := newRun(t, in)
	if len(first.Batches) < len(n.Batches)+1 {
		t.Fatalf("%d batches of %d formulas: none is made on two days", len(first.Batches), len(n.Batches))
	}
	for range 200 {
		for i, b := range newRun(t, in).Batches {
			if b.MassG != first.Batches[i].MassG {
				t.Fatalf("batch %s is %v g and %v g", b.Letter, b.MassG, first.Batches[i].MassG)
			}
		}
	}
}

// TestWhatLiesUnderAStep: whoever touches, covers or strews on raw batter reads the
// caution about it at that step, whatever the step itself adds.
func TestWhatLiesUnderAStep(t *testing.T) {
	keys := func(s RunStep) string {
		var out []string
		for _, c := range s.Cautions {
			out = append(out, c.Key)
		}
		return strings.Join(out, " ")
	}
	in := runInput(t, 36)
	got := map[string]string{}
	for _, d := range newRun(t, in).Days {
		for _, s := range d.Steps {
			if s.Design == "lighthouse" {
				got[s.Kind] = keys(s)
			}
		}
	}
	for kind, want := range map[string]string{"pour": "raw-batter", "embed": "raw-batter", "topping": "heat-wear heat-spirit raw-batter",
		"piping": "raw-batter", "sprinkle": "raw-batter"} {
		if got[kind] != want {
			t.Errorf("at the %s: %q, want %q", kind, got[kind], want)
		}
	}
	// Out of its mould and with nothing raw upon it, the piece is fresh soap. Of melt
	// alone there is nothing to say.
	parts := in.Set.Designs[0].Parts
	piped := slices.IndexFunc(parts, func(p design.Part) bool { return p.Kind == design.Piping })
	parts = slices.Delete(parts, piped, piped+1)
	strewn := slices.IndexFunc(parts, func(p design.Part) bool { return p.Kind == design.Sprinkle })
	parts[strewn].Wait = design.Wait{Minutes: some(72 * 60)}
	in.Set.Designs[0].Parts = parts
	in.Set.Designs[1].Parts = append(in.Set.Designs[1].Parts, design.Part{Kind: design.Sprinkle, Item: "sea-salt", MassG: some(0.1)})
	need, err := design.Explode(in.Set, []design.Want{{Design: "lighthouse", Pieces: 12}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Need = need
	for _, d := range newRun(t, in).Days {
		for _, s := range d.Steps {
			if want := map[string]string{"lighthouse": "fresh-soap", "lamp": ""}[s.Design]; s.Kind == "sprinkle" && keys(s) != want {
				t.Errorf("on %s: %q, want %q", s.DesignName, keys(s), want)
			}
			if s.Kind == "sprinkle" && s.Design == "lighthouse" && !strings.Contains(s.Text, "each of 12 pieces") {
				t.Errorf("onto what is out of its mould: %q", s.Text)
			}
		}
	}
}

// TestOneBatchHasOneMass: the head, the steps, the vessels and the sheet of a run
// agree to the last digit of the scale.
func TestOneBatchHasOneMass(t *testing.T) {
	for _, division := range []float64{0.1, 1} {
		in := runInput(t, 36)
		for id, r := range in.Results {
			f := *r.Formula
			f.ScaleDivisionG = some(division)
			again, err := soap.Work(&f, in.Catalogue)
			if err != nil {
				t.Fatal(err)
			}
			in.Results[id] = again
		}
		r := newRun(t, in)
		piece := 0.0
		poured := map[string]float64{}
		for _, d := range r.Days {
			for _, s := range d.Steps {
				if s.Amount == nil || s.Amount.TotalG == 0 || s.Kind == "wrap" {
					continue
				}
				if math.Abs(s.Amount.TotalG-s.Amount.EachG*float64(s.Amount.Of)) > 1e-9 ||
					s.Amount.EachG > division && s.Amount.Each != r.near(s.Amount.EachG) {
					t.Errorf("step %d: %s in each of %d, %s in all", s.N, s.Amount.Each, s.Amount.Of, s.Amount.Total)
				}
				piece += s.Amount.EachG
				poured[s.Batch] += s.Amount.TotalG
			}
		}
		if got := in.Need.Pieces; len(got) != 2 {
			t.Fatalf("%d designs are made", len(got))
		}
		if want := r.near(piece) + " each as poured"; !strings.HasPrefix(r.What[0].Aside, want) {
			t.Errorf("on a scale of %g g the head says %q, the steps pour %s", division, r.What[0].Aside, want)
		}
		for _, b := range r.Batches {
			if b.Mass != b.Sheet.near(b.Sheet.Batter.MassG) {
				t.Errorf("batch %s is %s, its sheet weighs %s", b.Letter, b.Mass, b.Sheet.Batter.Mass)
			}
			tips := 0.0
			for _, v := range b.Sheet.Vessels {
				tips += v.Tip.WeighG
			}
			if b.Sheet.near(tips) != b.Mass {
				t.Errorf("the vessels of %s take %s, the batch is %s", b.Letter, b.Sheet.near(tips), b.Mass)
			}
			if want := b.Sheet.near(poured[b.Letter]) + " for the pieces"; !strings.HasPrefix(b.Split, want) {
				t.Errorf("batch %s is split as %q, its steps pour %s", b.Letter, b.Split, want)
			}
		}
	}
}
