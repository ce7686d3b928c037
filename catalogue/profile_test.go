package catalogue

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tol)
	}
}

// Saponification and iodine values worked out from the fatty acids of Codex
// Table 1 (midpoints) must lie in the ranges of Codex Table 2, which were
// measured by other methods on other samples. There is no tolerance.
func TestFattyAcidsGiveTheCodexRanges(t *testing.T) {
	const (
		cxs210 = "CXS 210-1999 Table 2"
		cxs33  = "CXS 33-1981 Appendix"
		cxs211 = "CXS 211-1999 Table 2"
	)
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	inf := math.Inf(1)
	fats := []struct {
		id             string
		sapLo, sapHi   float64
		ivLo, ivHi     float64
		codexPublished string
	}{
		{"coconut-oil", 248, 265, 6.3, 10.6, cxs210},
		{"palm-kernel-oil", 230, 254, 14.1, 21.0, cxs210},
		{"palm-oil", 190, 209, 50.0, 55.0, cxs210},
		{"palm-olein", 194, 202, 56, inf, cxs210},
		{"palm-stearin", 193, 205, 0, 48, cxs210},
		{"olive-oil", 184, 196, 75, 94, cxs33},
		{"olive-pomace-oil", 182, 193, 75, 92, cxs33},
		{"sunflower-oil", 187, 194, 118, 141, cxs210 + ", 2022 amendment"},
		{"sunflower-oil-high-oleic", 182, 194, 78, 90, cxs210},
		{"safflower-oil", 186, 198, 136, 148, cxs210},
		{"safflower-oil-high-oleic", 186, 194, 80, 100, cxs210},
		{"rapeseed-oil-low-erucic", 182, 193, 105, 126, cxs210},
		{"soybean-oil", 189, 195, 124, 139, cxs210},
		{"maize-oil", 187, 195, 103, 135, cxs210},
		{"cottonseed-oil", 189, 198, 100, 123, cxs210},
		{"grapeseed-oil", 188, 194, 128, 150, cxs210},
		{"rice-bran-oil", 180, 199, 90, 115, cxs210},
		{"sesame-oil", 186, 195, 104, 120, cxs210},
		{"peanut-oil", 187, 196, 77, 107, cxs210},
		{"mustard-oil", 168, 184, 92, 125, cxs210},
		{"linseed-oil", 185, 197, 170, 211, cxs210},
		{"almond-oil-sweet", 183, 207, 85, 109, cxs210},
		{"hazelnut-oil", 188, 198, 81, 95, cxs210},
		{"walnut-oil", 189, 198, 132, 162, cxs210},
		{"lard", 192, 203, 55, 65, cxs211},
		{"beef-tallow", 190, 202, 40, 53, cxs211},
		{"shea-butter", 160, 195, 30, 75, "CXS 325R-2017 Table 2"},
	}
	if len(fats) < 20 {
		t.Fatal("fewer than 20 fats: this test has tested too little")
	}
	for _, f := range fats {
		in, err := c.Get(f.id)
		if err != nil {
			t.Fatal(err)
		}
		sap, iv := in.Fat.Profile.SAP(Triglyceride), in.Fat.Profile.Iodine(Triglyceride)
		if !sap.Known || sap.V < f.sapLo || sap.V > f.sapHi {
			t.Errorf("%s: SAP %.2f from its acids, %s says %g to %g", f.id, sap.V, f.codexPublished, f.sapLo, f.sapHi)
		}
		if !iv.Known || iv.V < f.ivLo || iv.V > f.ivHi {
			t.Errorf("%s: iodine value %.2f from its acids, %s says %g to %g", f.id, iv.V, f.codexPublished, f.ivLo, f.ivHi)
		}
		if in.Fat.SAP.Min.V != f.sapLo || in.Fat.SAP.Max.V != f.sapHi {
			t.Errorf("%s: the table holds SAP %v, %s says %g to %g", f.id, in.Fat.SAP, f.codexPublished, f.sapLo, f.sapHi)
		}
	}
}

// Only babassu has Codex midpoints that differ from its Codex values: they hold
// more oleic and linoleic acid than its iodine value allows. It passes the
// loader's 5 %. If that changes, this test says so.
func TestBabassuIsTheExceptionThatTheTolerancesAllow(t *testing.T) {
	in := get(t, "babassu-oil")
	near(t, "SAP of babassu from its acids", in.Fat.Profile.SAP(Triglyceride).V, 244.4, 0.05) // below 245
	near(t, "iodine value of babassu from its acids", in.Fat.Profile.Iodine(Triglyceride).V, 18.1, 0.05)
}

func get(t *testing.T, id string) *Ingredient {
	t.Helper()
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	in, err := c.Get(id)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func pure(a Acid) *Profile {
	var p Profile
	p[a] = 1
	return &p
}

// Molar masses of the triglycerides: CRC Handbook of Chemistry and Physics,
// physical constants of organic compounds (from memory). SAP = 3 M(KOH) / M,
// with KOH 56.106 from the same book. The tolerance of 0.01 allows for the
// book's atomic weights.
func TestPureTriglycerides(t *testing.T) {
	for _, g := range []struct {
		name string
		acid Acid
		mass float64
	}{
		{"trilaurin", C12x0, 639.001},
		{"trimyristin", C14x0, 723.161},
		{"tripalmitin", C16x0, 807.320},
		{"tristearin", C18x0, 891.480},
		{"triolein", C18x1, 885.432},
		{"trilinolein", C18x2, 879.384},
	} {
		near(t, "mass of "+g.name, shapes[g.acid].glyceride, g.mass, 0.03)
		near(t, "SAP of "+g.name, pure(g.acid).SAP(Triglyceride).V, 3*56106/g.mass, 0.01)
	}
}

// NIST Chemistry WebBook (SRD 69) molecular weights, from memory. The tolerance
// is 5 parts in 100 000, since its atomic weights of C, H and O are older.
func TestMolarMassesAgainstNIST(t *testing.T) {
	for _, m := range []struct {
		name string
		got  float64
		nist float64
	}{
		{"water", MolarWater, 18.0153},
		{"sodium hydroxide", MolarNaOH, 39.9971},
		{"potassium hydroxide", MolarKOH, 56.1056},
		{"glycerol", MolarGlycerol, 92.0938},
		{"butanoic acid", C4x0.MolarMass(), 88.1051},
		{"hexanoic acid", C6x0.MolarMass(), 116.1583},
		{"octanoic acid", C8x0.MolarMass(), 144.2114},
		{"decanoic acid", C10x0.MolarMass(), 172.2646},
		{"dodecanoic acid", C12x0.MolarMass(), 200.3178},
		{"tetradecanoic acid", C14x0.MolarMass(), 228.3709},
		{"hexadecanoic acid", C16x0.MolarMass(), 256.4241},
		{"octadecanoic acid", C18x0.MolarMass(), 284.4772},
		{"oleic acid", C18x1.MolarMass(), 282.4614},
		{"linoleic acid", C18x2.MolarMass(), 280.4455},
		{"alpha-linolenic acid", C18x3.MolarMass(), 278.4296},
		{"ricinoleic acid", C18x1OH.MolarMass(), 298.4608},
		{"icosanoic acid", C20x0.MolarMass(), 312.5304},
		{"docosanoic acid", C22x0.MolarMass(), 340.5836},
		{"erucic acid", C22x1.MolarMass(), 338.5677},
	} {
		near(t, m.name, m.got, m.nist, 5e-5*m.nist)
	}
	// NaOH from the atomic weights of IUPAC 2021.
	near(t, "NaOH", MolarNaOH, 39.9968, 5e-5)
	near(t, "KOH", MolarKOH, 56.1053, 5e-5)
}

// AOCS Cd 1c-85, Calculated Iodine Value: factors for each percent of an acid,
// in triglycerides and as free acid. They are printed to three or four figures.
func TestIodineFactorsOfAOCS(t *testing.T) {
	for _, f := range []struct {
		acid           Acid
		glyceride, ffa float64
	}{
		{C16x1, 0.950, 0.9976},
		{C18x1, 0.860, 0.8986},
		{C18x2, 1.732, 1.810},
		{C18x3, 2.616, 2.735},
		{C20x1, 0.785, 0.8175},
		{C22x1, 0.723, 0.7497},
		{C18x1OH, 0.816, 0.850}, // derived by the same rule
		{C18x0, 0, 0},
	} {
		near(t, f.acid.String()+" in a triglyceride", f.acid.IodineFactor(Triglyceride)/100, f.glyceride, 6e-4)
		near(t, f.acid.String()+" free", f.acid.IodineFactor(FreeAcid)/100, f.ffa, 6e-4)
	}
}

// Worked values with their own sources.
func TestWorkedValues(t *testing.T) {
	// Tristearin, computed: 1000 g takes 134.6 g NaOH or 188.8 g KOH, and gives
	// 1031.3 g of sodium stearate and 103.3 g of glycerol.
	sap := pure(C18x0).SAP(Triglyceride).V
	mol := 1000 * sap / 1000 / MolarKOH
	near(t, "NaOH for tristearin", mol*MolarNaOH, 134.6, 0.05)
	near(t, "KOH for tristearin", mol*MolarKOH, 188.8, 0.05)
	near(t, "sodium stearate", mol*(C18x0.MolarMass()-MolarH+MolarNa), 1031.3, 0.05)
	near(t, "glycerol", mol/3*MolarGlycerol, 103.3, 0.05)
	// Tripalmitin, computed: 148.6 g NaOH per 1000 g.
	near(t, "NaOH for tripalmitin", pure(C16x0).SAP(Triglyceride).V/MolarKOH*MolarNaOH, 148.6, 0.05)
	// AOCS Cd 1c-85: triolein 86.0, oleic acid 89.86, tristearin 0.
	near(t, "iodine value of triolein", pure(C18x1).Iodine(Triglyceride).V, 86.0, 0.05)
	near(t, "iodine value of oleic acid", pure(C18x1).Iodine(FreeAcid).V, 89.86, 0.01)
	near(t, "iodine value of tristearin", pure(C18x0).Iodine(Triglyceride).V, 0, 0)
	// Vietnamese Chemistry 12, lesson 5: 720 kg of sodium stearate needs 698.05 kg
	// of tristearin with rounded masses, 698.15 with exact ones.
	near(t, "tristearin for 720 kg", 720/(3*(C18x0.MolarMass()-MolarH+MolarNa))*shapes[C18x0].glyceride, 698.15, 0.01)
	// SAP 190 means a mean triglyceride of 885.9 g/mol.
	near(t, "mean mass at SAP 190", 3000*MolarKOH/190, 885.9, 0.05)
	// Jojoba, Merck Index: one ester group, mean mass 606; measured SAP 92.2.
	jojoba := get(t, "jojoba-oil").Fat
	if s := 1000 * MolarKOH / 606; s < jojoba.SAP.Min.V || s > jojoba.SAP.Max.V {
		t.Errorf("jojoba: %.1f lies outside %v", s, jojoba.SAP)
	}
	// Stearic acid: acid value 197.2, USP Purified Stearic Acid 195 to 200.
	near(t, "acid value of stearic acid", pure(C18x0).SAP(FreeAcid).V, 197.2, 0.05)
}

func TestAnEmptyProfileAndAWaxGiveNoValue(t *testing.T) {
	var p Profile
	if p.SAP(Triglyceride).Known || p.Iodine(FreeAcid).Known || p.MeanMolarMass().Known {
		t.Error("an empty profile gave a value")
	}
	p[C18x1] = math.NaN()
	if m := p.MeanMolarMass(); m.Known {
		t.Errorf("a profile of NaN gave %v", m.V)
	}
	if w := pure(C20x1); w.SAP(Wax).Known || w.Iodine(Wax).Known {
		t.Error("a wax was worked out as a triglyceride")
	}
}

func TestGroupsOfTheAcids(t *testing.T) {
	want := map[Group][]Acid{
		Quick:    {C4x0, C6x0, C8x0, C10x0, C12x0, C14x0},
		Slow:     {C16x0, C18x0, C20x0, C22x0, C24x0},
		Mellow:   {C16x1, C18x1, C20x1, C22x1, C24x1},
		Fleeting: {C18x2, C18x3},
		Holder:   {C18x1OH},
	}
	n := 0
	for g, acids := range want {
		for _, a := range acids {
			n++
			if a.Group() != g {
				t.Errorf("%s is %s, want %s", a, a.Group(), g)
			}
		}
	}
	if n != NumAcids || len(want) != NumGroups {
		t.Errorf("%d of %d acids and %d of %d groups were looked at", n, NumAcids, len(want), NumGroups)
	}
	for i, info := range AcidTable() {
		if info.Symbol != Acid(i).String() || info.Trivial == "" || info.Formula == "" || info.MolarSource == "" {
			t.Errorf("acid %d has no names: %+v", i, info)
		}
		if a, err := ParseAcid(info.Symbol); err != nil || a != Acid(i) {
			t.Errorf("%s reads as %v, %v", info.Symbol, a, err)
		}
	}
	if none := Acid(200); none.MolarMass() != 0 || none.IodineFactor(FreeAcid) != 0 || none.DoubleBonds() != 0 || none.String() != "C?" {
		t.Error("an acid that does not exist has chemistry")
	}
}
