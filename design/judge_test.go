package design_test

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

// a piece of a cold-process base, an embed of a melt, and a melt on top.
func lighthouse() *design.Set {
	m := box("house", 100)
	m.MaxTempC = some(100)
	return &design.Set{
		Moulds: []mould.Mould{m, box("cup", 10)},
		Batters: []design.Batter{
			{ID: "white", Name: "Sea white", DensityGML: 1, Method: formula.Cold, Stage: formula.ThinTrace, PourC: some(38), CeilingC: some(55),
				CuredShare: some(0.9), DryShare: some(0.8), Dries: true},
			{ID: "rock", Name: "Night rock", DensityGML: 1, Method: formula.Melt, PourC: some(52), MaxPourC: some(60), SoftensC: some(58), Sweats: true},
		},
		Designs: []design.Design{
			{ID: "house", Name: "Lighthouse", Mould: "house", Parts: []design.Part{
				pour("white", 60), embed("lamp", 1, 40, 20),
				{Kind: design.Topping, Formula: "rock", FillToPct: some(90), Wait: design.Wait{Minutes: some(30)}},
			}},
			{ID: "lamp", Mould: "cup", Parts: []design.Part{pour("rock", 100)}},
		},
	}
}

// A pieceCase is a lighthouse with one change, and what is said of it then.
type pieceCase struct {
	name, rule, words string
	severity          finding.Severity
	change            func(s *design.Set)
}

func TestFindingsOfAWholePiece(t *testing.T) {
	saidOf(t, []pieceCase{
		{"a melt that must not dry on a bar that must", "wrap-early-or-dry-open", "Sea white must dry open until the piece is sold, and Night rock " +
			"draws water", finding.Warn, nil},
		{"the same in a closed wrap", "wrap-early-or-dry-open", "Its wrap, film, is closed", finding.Warn, func(s *design.Set) {
			s.Designs[0].Parts = append(s.Designs[0].Parts, design.Part{Kind: design.Wrap, Item: "film", Count: some(1), Closed: true})
		}},
		{"a closed wrap on what dries", "wrap-closed", "When sold the piece weighs 90.0 % of what was poured", finding.Warn, func(s *design.Set) {
			s.Designs[0].Parts = []design.Part{pour("white", 60), {Kind: design.Wrap, Item: "film", Count: some(1), Closed: true}}
		}},
		{"a batter whose heat reaches its embed", "embed-softens", "Sea white may reach 84 °C by itself", finding.Warn,
			func(s *design.Set) { s.Batters[0].CeilingC = some(83.2) }},
		{"a melt poured over its embed", "embed-softens", "Night rock is poured at 59 °C", finding.Warn, func(s *design.Set) { s.Batters[1].PourC = some(59) }},
		{"a melt hotter than its base bears", "pour-hotter-than-base", "poured at 61 °C", finding.Warn, func(s *design.Set) { s.Batters[1].PourC = some(61) }},
		{"a melt on a melt that gives", "pour-softens-below", "begins to soften at 58 °C", finding.Warn, func(s *design.Set) {
			s.Batters[1].PourC = some(58)
			s.Designs[0].Parts = []design.Part{pour("rock", 60), {Kind: design.Topping, Formula: "rock", FillToPct: some(90)}}
		}},
		{"a mould that does not stand the heat", "mould-heat", "The mould \"house\" takes at most 50 °C, and Sea white may reach 55 °C", finding.Warn,
			func(s *design.Set) { s.Moulds[0].MaxTempC = some(50) }},
		{"a mould that does not stand the pour", "mould-heat", "Night rock is poured at 52 °C", finding.Warn, func(s *design.Set) {
			s.Moulds[0].MaxTempC = some(51)
			s.Batters[0].CeilingC = some(45)
		}},
		{"no wait before a topping", "wait-missing", "0 minutes are written down", finding.Note,
			func(s *design.Set) { s.Designs[0].Parts[2].Wait = design.Wait{} }},
		{"piping from a thin batter", "stage-differs", "needs a batter at thick trace, and Sea white is at thin trace", finding.Warn, func(s *design.Set) {
			s.Designs[0].Parts = append(s.Designs[0].Parts, design.Part{Kind: design.Piping, Formula: "white", MassG: some(5)})
		}},
		{"a thin pour from a thick batter", "stage-differs", "does not turn thinner", finding.Warn, func(s *design.Set) {
			s.Batters[0].Stage = formula.ThickTrace
			s.Designs[0].Parts[0].Stage = formula.ThinTrace
		}},
		{"thin after thick", "thin-after-thick", "wants Sea white at thin trace", finding.Warn, func(s *design.Set) {
			s.Designs[0].Parts = []design.Part{pour("white", 60), pour("white", 80)}
			s.Designs[0].Parts[0].Stage, s.Designs[0].Parts[1].Stage = formula.ThickTrace, formula.ThinTrace
		}},
		{"one batter on two days", "made-twice", "wanted on 2 days, for embeds and for what takes them, so it is made twice. What stays in the pot is " +
			"counted once here, so it takes 15.0 g more in all.", finding.Note, func(s *design.Set) {
			s.Batters[1].PotLossG = 15
		}},
		{"one batter on two days, to the last drop", "made-twice", "so it is made twice. Cast the embeds", finding.Note,
			func(s *design.Set) { s.Batters[1].PotLossG = 0 }},
		{"one batter on three days", "made-twice", "wanted on 3 days, for embeds and for what takes them, so it is made 3 times. What stays in the " +
			"pot is counted once here, so it takes 30.0 g more in all.", finding.Note, func(s *design.Set) {
			s.Batters[1].PotLossG = 15
			s.Designs[1].Parts = append(s.Designs[1].Parts, design.Part{Kind: design.Embed, Design: "glow", Count: some(1)})
			s.Designs = append(s.Designs, design.Design{ID: "glow", Name: "Glow", Mould: s.Designs[1].Mould, Parts: []design.Part{{Kind: design.Pour,
				Formula: s.Batters[1].ID, VolumeML: some(1)}}})
		}},
		// At just the heat at which it begins to give, the embed gives.
		{"a melt poured just as hot as its embed bears", "embed-softens", "Night rock is poured at 58 °C, and surrounds part 2", finding.Warn,
			func(s *design.Set) { s.Batters[1].PourC = some(58) }},
	})
}

func TestFindingsOfScents(t *testing.T) {
	linalool := []formula.Constituent{{Name: "Linalool", Pct: 2}, {Name: "Water", Pct: 1}}
	saidOf(t, []pieceCase{
		// 60 − 4 mL of white, 10 g of lamp and 28 g of rock: sold 50.4 + 38 = 88.4 g,
		// dried out 44.8 + 38 = 82.8 g. White by itself holds 2 % / 0.9 = 2.22 %.
		{"a part over its scent's limit", "scent-over-limit", "Fig is 2.22 % of Sea white by itself, in Lighthouse: more than its limit of 2.20 %",
			finding.Stop, func(s *design.Set) {
				s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, LimitPct: some(2.2)}}
			}},
		// 100 · 56 · 0.02 / 88.4 = 1.267 %, 38 · 0.01 more is 0.43 %: 1.70 %.
		{"a piece over the lower limit of two", "scent-over-limit", "Fig is 1.70 % of the whole piece of Lighthouse: more than its limit of 1.50 %",
			finding.Stop, func(s *design.Set) {
				s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, LimitPct: some(6)}}
				s.Batters[1].Scents = []design.Scent{{Name: "fig", Share: 0.01, LimitPct: some(1.5)}}
			}},
		// 2 % / 0.8 = 2.5 % dried out.
		{"a part that dries over its limit", "scent-dries-over", "When it has dried out, Fig is 2.50 % of Sea white", finding.Note, func(s *design.Set) {
			s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, LimitPct: some(2.3)}}
		}},
		// A single batter: 2 % / 0.8 = 2.5 % of the whole piece when it has dried out.
		{"a piece that dries over its limit", "scent-dries-over", "When it has dried out, Fig is 2.50 % of the whole piece of Lighthouse: more than its " +
			"limit of 2.30 %; when sold, 2.22 %", finding.Note, func(s *design.Set) {
			s.Designs[0].Parts = []design.Part{pour("white", 60)}
			s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, LimitPct: some(2.3)}}
		}},
		// 56 · 0.02 · 0.02 / 88.4 = 0.0253 % from white, and from the 38 g of rock
		// 38 · 0.01 · 0.03 / 88.4 = 0.0129 %: 0.0382 % in all.
		{"an allergen that two batters hold", "allergens-declared", "Linalool (0.0382 %)", finding.Note, func(s *design.Set) {
			s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, Stated: linalool}}
			s.Batters[1].Scents = []design.Scent{{Name: "Smoke", Share: 0.01, Stated: []formula.Constituent{{Name: "Linalool", Pct: 3}}}}
		}},
		// 56 · 0.02 · 0.02 / 88.4 = 0.0253 %, above 0.01 %.
		{"an allergen to be declared", "allergens-declared", "Linalool (0.0253 %)", finding.Note, func(s *design.Set) {
			s.Batters[0].Scents = []design.Scent{{Name: "Fig", Share: 0.02, Stated: linalool}}
		}},
	})
}

func saidOf(t *testing.T, cases []pieceCase) {
	t.Helper()
	for _, c := range cases {
		s := lighthouse()
		if c.change != nil {
			c.change(s)
		}
		n, err := design.Explode(s, []design.Want{{Design: "house", Pieces: 3}}, design.Options{})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		plain := strings.NewReplacer("\u202f", " ", "\u00a0", " ")
		ok := false
		for _, f := range n.Findings {
			ok = ok || f.Rule == c.rule && f.Severity == c.severity && strings.Contains(plain.Replace(f.Message+" "+f.Remedy), c.words)
			if f.Message == "" || f.Source == "" || f.Remedy == "" || f.About == "" || !strings.ContainsAny(f.Message, "0123456789") {
				t.Errorf("%s: %+v lacks its words, its numbers or its source", c.name, f)
			}
			if strings.Contains(f.Message+f.Remedy, "safe") {
				t.Errorf("%s: %s", c.name, f.Message)
			}
		}
		if !ok {
			t.Errorf("%s: no %s %q in", c.name, c.rule, c.words)
			for _, f := range n.Findings {
				t.Log(f.Severity, f.Rule, plain.Replace(f.Message))
			}
		}
		one, err := design.Findings(s, "house", design.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range one {
			if strings.Contains(f.About, "/") {
				t.Errorf("%s: about %q", c.name, f.About)
			}
		}
	}
}

func TestWhatIsUnknownIsNotJudged(t *testing.T) {
	s := lighthouse()
	for i := range s.Batters {
		s.Batters[i] = design.Batter{ID: s.Batters[i].ID, DensityGML: 1}
	}
	s.Moulds[0].MaxTempC.Known = false
	n := explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 3})
	if got := rules(n.Findings, finding.Note); !slices.Equal(got, []string{"made-twice"}) {
		t.Errorf("%v", got)
	}
	// 0.0100 % is not above 0.01 %, 0.0104 % is: coumarin 0.40 % of a scent dosed at
	// 2.5 and 2.6 %, worked out from Reg. (EC) 1223/2009 Annex III.
	for share, want := range map[float64]bool{0.025: false, 0.026: true} {
		s.Batters[0].Scents = []design.Scent{{Name: "Hay", Share: share, Stated: []formula.Constituent{{Name: "Coumarin", Pct: 0.4}}}}
		s.Designs[0].Parts = []design.Part{pour("white", 60)}
		n := explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 3})
		if got := slices.Contains(rules(n.Findings, finding.Note), "allergens-declared"); got != want {
			t.Errorf("at %g the allergen is declared: %v", share, got)
		}
	}
}

// A finding that would be wrong is not made: an embed that lies wholly inside, sunk
// and covered, is not open to the air, and a topping that waits until something is
// seen has its wait.
func TestWhatIsNotSoIsNotSaid(t *testing.T) {
	for _, c := range []struct {
		name, rule string
		parts      []design.Part
		want       bool
	}{
		{"a lamp that stands proud", "wrap-early-or-dry-open", []design.Part{pour("white", 50), embed("lamp", 1, 40, 50), pour("white", 90)}, true},
		{"a lamp that is buried", "wrap-early-or-dry-open", []design.Part{pour("white", 50), embed("lamp", 1, 40, 60), pour("white", 90)}, false},
		{"a topping without a wait", "wait-missing",
			[]design.Part{pour("white", 50), {Kind: design.Topping, Formula: "rock", FillToPct: some(90)}}, true},
		{"a topping that waits for a sign", "wait-missing",
			[]design.Part{pour("white", 50), {Kind: design.Topping, Formula: "rock", FillToPct: some(90), Wait: design.Wait{Until: "skinned over"}}}, false},
	} {
		s := lighthouse()
		s.Designs[0].Parts = c.parts
		n := explode(t, s, design.Options{}, design.Want{Design: "house", Pieces: 3})
		if got := slices.Contains(rules(n.Findings, finding.Note), c.rule); got != c.want {
			t.Errorf("%s: %s is said: %v, want %v", c.name, c.rule, got, c.want)
		}
	}
}

func TestABatterIsWhatItsFormulaPours(t *testing.T) {
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	f := &formula.Formula{Name: "Sea white", Method: formula.Cold, SuperfatPct: 5, Water: formula.Water{Value: 33}, FatsG: 1000,
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 100}}, Stage: formula.MediumTrace,
		Scents:   []formula.Scent{{Name: "Fig", DosePct: 3, LimitPct: some(6), Constituents: []formula.Constituent{{Name: "Linalool", Pct: 4}}}},
		Portions: []formula.Portion{{Name: "sky", By: formula.ByRest, Stage: formula.ThickTrace, Colourants: []formula.Colour{{ID: "kaolin", GPerKg: 5}}}}}
	r, err := soap.Work(f, cat)
	if err != nil {
		t.Fatal(err)
	}
	b := design.BatterOf("w", r, 12)
	if b.ID != "w" || b.Name != "Sea white" || b.PotLossG != 12 || !b.Dries || b.Sweats || b.Stage != formula.MediumTrace || len(b.Portions) != 1 ||
		b.Portions[0].Stage != formula.ThickTrace {
		t.Errorf("%+v", b)
	}
	near(t, "the density", b.DensityGML, r.Batter.MassG/r.Batter.VolumeML)
	near(t, "the scent", b.Scents[0].Share*r.Batter.MassG, 30)
	near(t, "the scent of the cured bar", 100*b.Scents[0].Share/b.CuredShare.V, r.Scents[0].PctOfBar)
	near(t, "the scent of the dry bar", 100*b.Scents[0].Share/b.DryShare.V, r.Scents[0].PctDry)
	if c := b.Portions[0].Colourants[0]; c.GPerKg != 5 || c.Name == "" || c.Name == c.ID || b.Scents[0].Stated[0].Pct != 4 {
		t.Errorf("%+v", b)
	}
	// Of the estimate of its own heat the high end counts.
	if c, err := r.Ceiling(); err != nil || b.CeilingC != some(c.HighC) || !(c.HighC > c.LowC) {
		t.Errorf("the ceiling is %v, and the estimate %+v, %v", b.CeilingC, c, err)
	}
	if !b.CeilingC.Known || b.CeilingC.V < 60 || b.CeilingC.V > 130 || b.PourC != some(soap.DefaultPourC) || b.SoftensC.Known {
		t.Errorf("heat %+v", b)
	}

	m := &formula.Formula{Name: "Rock", Method: formula.Melt, FatsG: 500, PourC: some(55), Bases: []formula.Base{
		{Name: "clear", Pct: 50, SoftensC: some(56), MaxPourC: some(65)}, {Name: "white", Pct: 50, SoftensC: some(54)},
		{Name: "none", Pct: 0, SoftensC: some(10)}}}
	if r, err = soap.Work(m, cat); err != nil {
		t.Fatal(err)
	}
	b = design.BatterOf("r", r, 0)
	if b.Dries || !b.Sweats || b.SoftensC != some(54) || b.MaxPourC != some(65) || b.PourC != some(55) || b.CeilingC.Known || b.CuredShare != some(1) {
		t.Errorf("%+v", b)
	}
	// The base that gives first counts, wherever it stands in the list.
	slices.Reverse(m.Bases)
	if r, err = soap.Work(m, cat); err != nil {
		t.Fatal(err)
	}
	if b = design.BatterOf("r", r, 0); b.SoftensC != some(54) || b.MaxPourC != some(65) {
		t.Errorf("in another order it gives at %v and may be poured at %v", b.SoftensC, b.MaxPourC)
	}
	// A base that names no humectant lies open as well as any soap.
	for i := range m.Bases {
		m.Bases[i].INCI = "Sodium Stearate, Aqua"
	}
	if r, err = soap.Work(m, cat); err != nil {
		t.Fatal(err)
	}
	if b = design.BatterOf("r", r, 0); b.Sweats {
		t.Error("a base without a humectant sweats")
	}
}

func TestFindingsSpeakTheMakersUnits(t *testing.T) {
	s := lighthouse()
	s.Batters[0].CeilingC = some(83.2)
	s.Designs[0].Parts[0].FillToPct = some(3)
	fs, err := design.Findings(s, "house", design.Options{Faces: formula.Faces{Mass: quantity.Ounce, Volume: quantity.USFluidOunce, Temp: quantity.Fahrenheit}})
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, f := range fs {
		said += f.Message + f.Remedy + "\n"
	}
	// 84 °C is 183 °F; 4 mL is 0.135 US fl oz (NIST Handbook 44).
	if !strings.Contains(said, "183") || !strings.Contains(said, "0.135") || strings.Contains(said, "°C") {
		t.Error(said)
	}
}

func TestAPieceWhenSoldIsWhatTheCureLeavesOfItsBatters(t *testing.T) {
	s := lighthouse()
	// A block of 2 pieces of the same, packed in film, which does not count.
	m := box("block", 200)
	m.Cut = &mould.Cut{Along: 2, Across: 1, Layers: 1}
	s.Moulds = append(s.Moulds, m)
	s.Designs = append(s.Designs, design.Design{ID: "pair", Mould: "block", Parts: []design.Part{
		pour("white", 60), embed("lamp", 2, 0, 0), {Kind: design.Sprinkle, Item: "salt", MassG: some(4)}, {Kind: design.Wrap, Item: "film", MassG: some(1)},
	}})
	// A dot is one of the 4 bars of a slab of 40 ml, and a stone has 3 dots on it.
	m = box("slab", 40)
	m.Cut = &mould.Cut{Along: 2, Across: 2, Layers: 1}
	s.Moulds = append(s.Moulds, m)
	s.Designs = append(s.Designs, design.Design{ID: "dot", Mould: "slab", Parts: []design.Part{pour("white", 100)}},
		design.Design{ID: "stone", Mould: "house", Parts: []design.Part{pour("rock", 50), embed("dot", 3, 0, 0)}})
	for id, want := range map[string][2]float64{
		"lamp": {10, 10},
		// 56 g of white and 28 g of rock: the lamp displaces 4 and 2 ml of them.
		"house": {56 + 10 + 28, 56*0.9 + 10 + 28},
		"pair":  {60 + 10 + 2, 60*0.9 + 10 + 2},
		"dot":   {10, 9},
		"stone": {50 + 3*10, 50 + 3*9},
	} {
		n, p, err := design.One(s, id, design.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.PieceG-want[0]) > 1e-9 || math.Abs(p.SoldG-want[1]) > 1e-9 {
			t.Errorf("%s weighs %v g as poured and %v g when sold, want %v", id, p.PieceG, p.SoldG, want)
		}
		if p != n.Piece(id) || n.Piece("none") != nil {
			t.Errorf("%s: the need does not know its own piece", id)
		}
	}
	if _, _, err := design.One(s, "none", design.Options{}); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a design that is not there gives %v", err)
	}
}

// names is how a page calls records and fields.
type names map[string]string

func (v names) Record(r fault.Ref) string { return "“" + cmp.Or(v[r.ID], r.ID) + "”" }
func (v names) Field(k fault.Key) string  { return v[string(k)] }

func TestAFaultNamesItsRecordsInTheVoiceOfTheDoor(t *testing.T) {
	page := names{"house": "Lighthouse", "lamp": "Lamp", "rock": "Night rock", "sunk_pct": "sunk share", "covered_pct": "covered share",
		"fill_to_pct": "level", "volume_ml": "volume", "mass_g": "mass", "formula": "formula"}
	for _, c := range []struct {
		name, of, field, file, page string
		change                      func(s *design.Set)
	}{
		{"an embed that lacks its amount", "lamp", "part.1.fill_to_pct",
			"design.2.part.1.fill_to_pct: Say how much of this pour there is: give its fill_to_pct, volume_ml or mass_g.",
			"Say how much of this pour there is: give its level, volume or mass.",
			func(s *design.Set) { s.Designs[1].Parts[0].FillToPct = quantity.Maybe{} }},
		{"an embed that is counted twice", "house", "part.2.covered_pct",
			"design.1.part.2.covered_pct: An embed has 100 %, and its sunk_pct (60) and covered_pct (50) come to 110: do not count what is sunk as covered too.",
			"An embed has 100 %, and its sunk share (60) and covered share (50) come to 110: do not count what is sunk as covered too.",
			func(s *design.Set) { s.Designs[0].Parts[1].SunkPct, s.Designs[0].Parts[1].CoveredPct = 60, 50 }},
		{"a ring", "lamp", "part.2.design",
			`design.2.part.2.design: The design goes into itself: "house" → "lamp" → "house". Take it out of one of them.`,
			"The design goes into itself: “Lighthouse” → “Lamp” → “Lighthouse”. Take it out of one of them.",
			func(s *design.Set) { s.Designs[1].Parts = append(s.Designs[1].Parts, embed("house", 1, 0, 0)) }},
		{"a portion that is not there", "house", "part.1.portion",
			`design.1.part.1.portion: The formula "rock" has no portion "blue": name one that it has, or pour the batter undivided.`,
			"The formula “Night rock” has no portion “blue”: name one that it has, or pour the batter undivided.",
			func(s *design.Set) { s.Designs[0].Parts[0].Formula, s.Designs[0].Parts[0].Portion = "rock", "blue" }},
		{"a density that is none", "rock", "density_g_ml",
			`formula.2.density_g_ml: The density of "rock" cannot be 0: give g/ml above 0, such as 1.035.`,
			"The density of “Night rock” cannot be 0: give g/ml above 0, such as 1.035.",
			func(s *design.Set) { s.Batters[1].DensityGML = 0 }},
	} {
		s := lighthouse()
		c.change(s)
		_, err := design.Explode(s, []design.Want{{Design: "house", Pieces: 3}}, design.Options{})
		l := fault.All(err)
		if len(l) != 1 {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if e := l[0]; e.Error() != c.file || e.In(page) != c.page || e.Of.ID != c.of || e.OfField != c.field {
			t.Errorf("%s:\ngot  %s\n     %s\n     %s of %s\nwant %s\n     %s\n     %s of %s", c.name, e.Error(), e.In(page), e.OfField, e.Of, c.file, c.page,
				c.field, c.of)
		}
	}
}
