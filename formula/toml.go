package formula

import (
	"strconv"
	"strings"

	"barwright/internal/tomlscan"
)

// MaxFileBytes is the largest file that is read as a formula: 1 MiB.
const MaxFileBytes = tomlscan.MaxFileBytes

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
	r, ok := tomlscan.Read(file, data, fileRules)
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
var fileRules = tomlscan.Rules{
	What: "a formula", Least: "name, method, superfat, lye_concentration, fats_g and one [[fat]]", Example: "olive-oil",
	Places: []tomlscan.Place{
		{Keys: []string{"name", "method", "superfat", "lye_concentration", "fats_g", "cure_water_loss_pct", "cook_loss_pct", "measured_density_g_ml"}},
		{Name: "alkali", Keys: []string{"koh_mol_pct", "naoh_purity_pct", "koh_purity_pct", "purity_half_width_pct"}},
		{Name: "scale", Keys: []string{"division_g"}},
		{Name: "fat", List: true, Keys: []string{"id", "pct", "sap_mg_koh_g", "sap_half_width", "cooked"}},
		{Name: "extra", List: true, Keys: []string{"id", "dose_g", "per", "into", "fat_pct", "water_pct", "sap_mg_koh_g"}},
		{Name: "scent", List: true, Keys: []string{"name", "dose_pct", "of", "limit_pct"}},
	},
}

// readFormula reads the whole file. Where a value is at fault the field is left as
// it is and the fault noted.
func readFormula(r *tomlscan.Reader) *Formula {
	f := &Formula{}
	top := r.Top()
	r.Open("", "", top)

	f.Name = r.Text(top, "", "name", `the formula's name, as name = "Storm lantern"`)
	if word, line, ok := top.Word("method"); ok && word == methodWords[Melt] {
		r.Wrong(line, "method", "a melt of ready-made base has no lye to work out, and a file has no key for its base: keep melts in the studio, and write cold or hot here")
	} else {
		r.Choice(top, "", "method", `method = "cold" or method = "hot"`, methodWords[1:3], func(i int) { f.Method = Method(i + 1) })
	}
	f.SuperfatPct, _ = r.Number(top, "", "superfat", "the % of the saponifiable fat left free, as superfat = 5.0")
	f.Water.Value, _ = r.Number(top, "", "lye_concentration", "the lye concentration in % by mass, as lye_concentration = 33.0")
	f.FatsG, _ = r.Number(top, "", "fats_g", "the mass of all fats in g, as fats_g = 1000.0")
	f.CureWaterLossPct = r.Maybe(top, "", "cure_water_loss_pct")
	f.CookLossPct = r.Maybe(top, "", "cook_loss_pct")
	f.DensityGML = r.Maybe(top, "", "measured_density_g_ml")

	if t := r.Sub("alkali"); t != nil {
		r.Open("alkali", "alkali", t)
		f.Alkali.KOHMolPct, _ = r.Number(t, "alkali", "koh_mol_pct", "")
		f.Alkali.NaOHPurityPct = r.Maybe(t, "alkali", "naoh_purity_pct")
		f.Alkali.KOHPurityPct = r.Maybe(t, "alkali", "koh_purity_pct")
		f.Alkali.PurityHalfWidthPct, _ = r.Number(t, "alkali", "purity_half_width_pct", "")
	}
	if t := r.Sub("scale"); t != nil {
		r.Open("scale", "scale", t)
		f.ScaleDivisionG = r.Maybe(t, "scale", "division_g")
	}
	for i, t := range r.Lists(top, "", "fat") {
		var x Fat
		if t != nil {
			path := "fat." + strconv.Itoa(i+1)
			r.Open(path, "fat", t)
			x.ID = r.Text(t, path, "id", `which fat it is, as id = "olive-oil"`)
			x.Pct, _ = r.Number(t, path, "pct", "its share of the fats in %, as pct = 60.0")
			x.SAP = r.Maybe(t, path, "sap_mg_koh_g")
			x.SAPHalfWidth = r.Maybe(t, path, "sap_half_width")
			x.Cooked = r.Flag(t, path, "cooked")
		}
		f.Fats = append(f.Fats, x)
	}
	for i, t := range r.Lists(top, "", "extra") {
		var x Extra
		if t != nil {
			path := "extra." + strconv.Itoa(i+1)
			r.Open(path, "extra", t)
			x.ID = r.Text(t, path, "id", `which extra it is, as id = "sea-salt"`)
			x.Dose, _ = r.Number(t, path, "dose_g", "its dose in g, as dose_g = 20.0")
			r.Choice(t, path, "per", `what the dose is counted on: per = "kg-fats", "kg-batter" or "batch"`, perWords[:PerLiquid], func(i int) { x.Per = Per(i) })
			r.Choice(t, path, "into", "", intoWords[:], func(i int) { x.Into = Into(i) })
			x.FatPct = r.Maybe(t, path, "fat_pct")
			x.WaterPct = r.Maybe(t, path, "water_pct")
			x.SAP = r.Maybe(t, path, "sap_mg_koh_g")
		}
		f.Extras = append(f.Extras, x)
	}
	for i, t := range r.Lists(top, "", "scent") {
		var x Scent
		if t != nil {
			path := "scent." + strconv.Itoa(i+1)
			r.Open(path, "scent", t)
			x.Name = r.Text(t, path, "name", `the scent's name, as name = "Fig and sea salt"`)
			x.DosePct, _ = r.Number(t, path, "dose_pct", "its dose in %, as dose_pct = 3.0")
			r.Choice(t, path, "of", `what the dose is a share of: of = "fats", "batter" or "bar"`, ofWords[:], func(i int) { x.Of = Of(i) })
			x.LimitPct = r.Maybe(t, path, "limit_pct")
		}
		f.Scents = append(f.Scents, x)
	}
	return f
}

// short keeps a name printable and within a line.
func short(name string) string { return tomlscan.Short(name) }
