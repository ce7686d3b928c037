package formula

import (
	"math"
	"strings"

	"barwright/internal/filescan"
)

// MaxFileBytes is the largest file that is read as a formula: 1 MiB.
const MaxFileBytes = 1 << 20

// ReadTOML reads a formula from a file's bytes; file is its name, for the faults.
//
// The keys are: name, method, superfat, lye_concentration, fats_g (all
// required), cure_water_loss_pct, cook_loss_pct (method hot),
// measured_density_g_ml; [alkali] koh_mol_pct, naoh_purity_pct,
// koh_purity_pct, purity_half_width_pct; [scale] division_g; [[fat]] id, pct
// (required), sap_mg_koh_g, sap_half_width, cooked; [[extra]] id, dose_g, per
// (required), into, fat_pct, water_pct, sap_mg_koh_g; [[scent]] name, dose_pct,
// of (required), limit_pct. A purity, a division or a loss left out stays
// unknown; a KOH share or a tolerance left out is 0; into is batter.
//
// The same fat may stand twice when the two are told apart by their
// saponification values (two lots) or by being cooked or not; otherwise the
// second is refused, as is an extra that differs from another in its dose only.
//
// The error is a fault.List of kind Invalid with everything that is wrong (the
// first twenty), each with File, Field as Validate has it, and Line where there
// is one. There is no formula then. Ids are not looked up: see ReadTOMLAgainst.
func ReadTOML(file string, data []byte) (*Formula, error) {
	return readTOML(file, data, nil)
}

// ReadTOMLAgainst is ReadTOML, with the ids looked up in cat: one that it does
// not hold, and one that cannot be what the file makes of it, is a fault.
func ReadTOMLAgainst(file string, data []byte, cat Ingredients) (*Formula, error) {
	return readTOML(file, data, cat)
}

func readTOML(file string, data []byte, cat Ingredients) (*Formula, error) {
	r, ok := filescan.TOML(file, data, fileRules)
	if !ok {
		return nil, r.Err()
	}
	f := readFormula(r)
	found := f.Validate(true)
	if cat != nil {
		found = append(found, f.CheckIDs(cat)...)
	}
	for _, e := range found {
		if e.Field == "water" {
			e.Field = "lye_concentration"
		}
		// A tolerance is judged by its value; of one that could not be read nothing
		// more is to be said.
		if line, ok := strings.CutSuffix(e.Field, ".sap_half_width"); ok && r.Bad(line+".sap_mg_koh_g") {
			continue
		}
		r.Add(e)
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return f, nil
}

// fileRules are the keys of the file, by table, in the order in which they are
// written.
var fileRules = filescan.Rules{
	What: "a formula", Least: "name, method, superfat, lye_concentration, fats_g and one [[fat]]", Example: "olive-oil",
	MaxBytes: MaxFileBytes,
	Places: []filescan.Place{
		{Keys: []string{"name", "method", "superfat", "lye_concentration", "fats_g",
			"cure_water_loss_pct", "cook_loss_pct", "measured_density_g_ml"}},
		{Name: "alkali", Keys: []string{"koh_mol_pct", "naoh_purity_pct", "koh_purity_pct", "purity_half_width_pct"}},
		{Name: "scale", Keys: []string{"division_g"}},
		{Name: "fat", List: true, Keys: []string{"id", "pct", "sap_mg_koh_g", "sap_half_width", "cooked"}},
		{Name: "extra", List: true, Keys: []string{"id", "dose_g", "per", "into", "fat_pct", "water_pct", "sap_mg_koh_g"}},
		{Name: "scent", List: true, Keys: []string{"name", "dose_pct", "of", "limit_pct"}},
	},
}

// readFormula reads the whole file. Where a value is at fault the field is left as
// it is and the fault noted.
func readFormula(r *filescan.Reader) *Formula {
	f := &Formula{}
	top := r.Top()
	f.Name = top.Text("name", "the formula's name", `"Storm lantern"`)
	if top.Peek("method") == Melt.String() {
		top.Wrong("method", "a melt of ready-made base has no lye to work out, and a file has no key for its base: "+
			"keep melts in the studio, and write cold or hot here")
	} else {
		top.Choice("method", methods.Words[1:3], func(i int) { f.Method = Method(i + 1) }, "how it is made", `"cold" or "hot"`)
	}
	f.SuperfatPct = top.Number("superfat", "the % of the saponifiable fat left free", "5.0")
	f.Water.Value = top.Number("lye_concentration", "the lye concentration in % by mass", "33.0")
	f.FatsG = top.Number("fats_g", "the mass of all fats in g", "1000.0")
	f.CureWaterLossPct = top.Maybe("cure_water_loss_pct")
	f.CookLossPct = top.Maybe("cook_loss_pct")
	f.DensityGML = top.Maybe("measured_density_g_ml")

	alkali := top.Table("alkali")
	f.Alkali.KOHMolPct = alkali.Number("koh_mol_pct")
	f.Alkali.NaOHPurityPct = alkali.Maybe("naoh_purity_pct")
	f.Alkali.KOHPurityPct = alkali.Maybe("koh_purity_pct")
	f.Alkali.PurityHalfWidthPct = alkali.Number("purity_half_width_pct")
	f.ScaleDivisionG = top.Table("scale").Maybe("division_g")

	for _, t := range top.Tables("fat", math.MaxInt) {
		f.Fats = append(f.Fats, Fat{
			ID:           t.Text("id", "which fat it is", `"olive-oil"`),
			Pct:          t.Number("pct", "its share of the fats in %", "60.0"),
			SAP:          t.Maybe("sap_mg_koh_g"),
			SAPHalfWidth: t.Maybe("sap_half_width"),
			Cooked:       t.Flag("cooked"),
		})
	}
	for _, t := range top.Tables("extra", math.MaxInt) {
		x := Extra{
			ID:       t.Text("id", "which extra it is", `"sea-salt"`),
			Dose:     t.Number("dose_g", "its dose in g", "20.0"),
			FatPct:   t.Maybe("fat_pct"),
			WaterPct: t.Maybe("water_pct"),
			SAP:      t.Maybe("sap_mg_koh_g"),
		}
		t.Choice("per", doseBases.Words[:PerLiquid], func(i int) { x.Per = Per(i) }, "what the dose is counted on", `"kg-fats", "kg-batter" or "batch"`)
		t.Choice("into", places.Words, func(i int) { x.Into = Into(i) })
		f.Extras = append(f.Extras, x)
	}
	for _, t := range top.Tables("scent", math.MaxInt) {
		x := Scent{
			Name:     t.Text("name", "the scent's name", `"Fig and sea salt"`),
			DosePct:  t.Number("dose_pct", "its dose in %", "3.0"),
			LimitPct: t.Maybe("limit_pct"),
		}
		t.Choice("of", scentBases.Words, func(i int) { x.Of = Of(i) }, "what the dose is a share of", `"fats", "batter" or "bar"`)
		f.Scents = append(f.Scents, x)
	}
	return f
}

// short keeps a name printable and within a line.
func short(name string) string { return filescan.Short(name) }
