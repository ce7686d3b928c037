package design

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/filescan"
	"barwright/mould"
)

// MaxFileBytes is the largest file that is read as designs: 1 MiB.
const MaxFileBytes = 1 << 20

// File is what a file of designs holds.
type File struct {
	Name       string // "" when the file gives none
	Main       string // the id of the design that is counted in pieces
	Pieces     int    // 0 when the file gives none
	OveragePct float64
	Set        Set
	// Formulas are, batter by batter, the names of the files that their densities
	// were worked out from; "" where the density stands in this one.
	Formulas []string
}

// fileRules are the keys of the file, by table, in the order in which they are
// written.
var fileRules = filescan.Rules{
	What: "a file of designs", Least: "main, one [[mould]], one [[formula]] and one [[design]] with a [[design.part]]", Example: "harbour-light",
	MaxBytes: MaxFileBytes,
	Places: []filescan.Place{
		{Keys: []string{"name", "main", "pieces", "overage_pct"}},
		{Name: "mould", List: true, Keys: []string{"id", "shape", "water_g", "water_c", "cavities", "sets", "length_mm", "width_mm", "depth_mm",
			"diameter_mm", "top_diameter_mm", "bottom_diameter_mm", "top_length_mm", "top_width_mm", "bottom_length_mm", "bottom_width_mm",
			"rim_diameter_mm"}},
		{Name: "formula", List: true, Keys: []string{"id", "density_g_ml", "file", "pot_loss_g"}},
		{Name: "design", List: true, Keys: []string{"id", "mould"}},
		{Name: "design.part", List: true, Keys: []string{"kind", "formula", "fill_to_pct", "volume_ml", "mass_g", "design", "count",
			"sunk_pct", "covered_pct", "item"}},
	},
}

// ReadTOML reads moulds, formulas and designs from a file's bytes; file is its
// name, for the faults.
//
// The keys are: name, main (required), pieces, overage_pct; [[mould]] id, shape,
// cavities, sets (required), water_g and water_c of a measured one, else the
// dimensions of its shape; [[formula]] id (required), density_g_ml or file, and
// pot_loss_g; [[design]] id, mould (required); [[design.part]] kind (required),
// formula, design or item, one of fill_to_pct, volume_ml, mass_g and count, and of
// an embed sunk_pct and covered_pct. An overage, a pot loss or a share that is
// left out is 0.
//
// load gives the density, g/mL, that a formula's file pours with; where it is nil
// such files are refused.
//
// The error is a fault.List of everything that is wrong (the first twenty), each
// with File, Field as Set.Validate has it, and Line where there is one: kind
// fault.NotFound for an id that names nothing, else fault.Invalid. There is no
// File then.
func ReadTOML(file string, data []byte, load func(name string) (density float64, err error)) (*File, error) {
	r, ok := filescan.TOML(file, data, fileRules)
	if !ok {
		return nil, r.Err()
	}
	f := readFile(r, load)
	lost := map[string]bool{} // lists with an id that could not be read
	for key, n := range map[string]int{"mould": len(f.Set.Moulds), "formula": len(f.Set.Batters), "design": len(f.Set.Designs)} {
		for i := range n {
			if path := key + "." + strconv.Itoa(i+1); r.Bad(path) || r.Bad(path+".id") || f.id(key, i) == "" {
				lost[key] = true
			}
		}
		lost[key] = lost[key] || r.Bad(key)
	}
	found := f.Set.Validate()
	found = append(found, Options{OveragePct: f.OveragePct}.Validate()...)
	if f.Main != "" && !slices.ContainsFunc(f.Set.Designs, func(d Design) bool { return d.ID == f.Main }) {
		p := newPlan(&f.Set)
		found.Add(p.noSuch("main", "design", f.Main, p.designs))
	}
	for _, e := range found {
		// What is missing may be what could not be read.
		if e.Kind == fault.NotFound {
			_, key, _ := cutLast(e.Field)
			if key == "main" {
				key = "design"
			}
			if lost[key] {
				continue
			}
		}
		// Nor is there a density where its file cannot be used.
		if at, key, _ := cutLast(e.Field); key == "density_g_ml" && (r.Bad(at+".file") || r.Bad(e.Field)) {
			continue
		}
		// What a part lacks may stand under a key that could not be read.
		if at, _, ok := cutLast(e.Field); ok && strings.Contains(at, ".part.") && r.BadBelow(at) {
			continue
		}
		r.Add(e)
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return f, nil
}

// id is that of the entry i of a list, by the list's name.
func (f *File) id(list string, i int) string {
	switch list {
	case "mould":
		return f.Set.Moulds[i].ID
	case "formula":
		return f.Set.Batters[i].ID
	}
	return f.Set.Designs[i].ID
}

// named reads a name or an id, which stands in the answer as it is: on a terminal
// it must be one line of letters.
func named(t *filescan.Table, key string, write ...string) string {
	s := t.Text(key, write...)
	c := checker{}
	c.text(key, s, key, maxName, true)
	for _, e := range c.List {
		t.Wrong(key, "%s", e.Message)
	}
	return s
}

// cutLast parts a key path at its last point.
func cutLast(path string) (before, key string, ok bool) {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return "", path, false
	}
	return path[:i], path[i+1:], true
}

// readFile reads the whole file. Where a value is at fault the field is left as it
// is and the fault noted.
func readFile(r *filescan.Reader, load func(string) (float64, error)) *File {
	f := &File{}
	top := r.Top()
	f.Name = named(top, "name")
	f.Main = top.Text("main", "the id of the design that is counted in pieces", `"harbour-light"`)
	f.Pieces, _ = top.Whole("pieces", 1, maxPieces)
	f.OveragePct = top.Number("overage_pct")
	for _, t := range top.Tables("mould", math.MaxInt) {
		f.Set.Moulds = append(f.Set.Moulds, readMould(t))
	}
	for _, t := range top.Tables("formula", math.MaxInt) {
		b := Batter{
			ID:         named(t, "id", "the id by which the designs name it", `"sea-white"`),
			DensityGML: t.Number("density_g_ml"),
			PotLossG:   t.Number("pot_loss_g"),
		}
		file := t.Text("file")
		switch given := t.Has("density_g_ml"); {
		case given && t.Has("file"):
			t.Wrong("file", "the density is given twice, as %s and as what the file works out: keep one of them", fault.Key("density_g_ml"))
		case !given && !t.Has("file"):
			t.Wrong("density_g_ml", `this is missing: write the density as poured, as density_g_ml = 1.035, or the formula's file, as file = "sea-white.toml"`)
		case !given && !t.Bad("file"):
			b.DensityGML = loaded(t, file, load)
		}
		f.Set.Batters = append(f.Set.Batters, b)
		f.Formulas = append(f.Formulas, file)
	}
	for _, t := range top.Tables("design", math.MaxInt) {
		d := Design{
			ID:    named(t, "id", "the id by which it is named", `"harbour-light"`),
			Mould: t.Text("mould", "which mould it is cast in", `"lantern-house"`),
		}
		for _, t := range t.Tables("part", math.MaxInt) {
			d.Parts = append(d.Parts, readPart(t))
		}
		f.Set.Designs = append(f.Set.Designs, d)
	}
	return f
}

func readMould(t *filescan.Table) mould.Mould {
	shapes := mould.Shapes()
	names := make([]string, len(shapes))
	for i, s := range shapes {
		names[i] = s.String()
	}
	m := mould.Mould{
		ID:       named(t, "id", "the id by which the designs name it", `"lantern-house"`),
		WaterG:   t.Numbers("water_g"),
		WaterC:   t.Maybe("water_c"),
		Cavities: counted(t, "cavities", "how many cavities one set has", "6"),
		Sets:     counted(t, "sets", "how many sets of it there are", "2"),
	}
	t.Choice("shape", names, func(i int) { m.Shape = shapes[i] }, "its shape", `"measured"`)
	for _, key := range fileRules.Places[1].Keys {
		if d := m.Field(key); d != nil {
			*d = t.Maybe(key)
		}
	}
	return m
}

func readPart(t *filescan.Table) Part {
	p := Part{
		Formula:    t.Text("formula"),
		FillToPct:  t.Maybe("fill_to_pct"),
		VolumeML:   t.Maybe("volume_ml"),
		MassG:      t.Maybe("mass_g"),
		Design:     t.Text("design"),
		Count:      t.Maybe("count"),
		SunkPct:    t.Number("sunk_pct"),
		CoveredPct: t.Number("covered_pct"),
		Item:       t.Text("item"),
	}
	t.Choice("kind", kinds.Words[1:], func(i int) { p.Kind = Kinds()[i] }, "what it is", `"pour"`)
	return p
}

// counted reads a whole number. How large it may be is the mould's rule.
func counted(t *filescan.Table, key string, write ...string) int {
	n, _ := t.Whole(key, -maxMade, maxMade, write...)
	return n
}

// loaded asks for the density of a formula's file, and notes what was wrong.
func loaded(t *filescan.Table, name string, load func(string) (float64, error)) float64 {
	if load == nil {
		t.Wrong("file", "formula files cannot be read from here: write %s instead", fault.Key("density_g_ml"))
		return 0
	}
	density, err := load(name)
	if err == nil {
		return density
	}
	var said []string
	for _, e := range fault.All(err) {
		said = append(said, e.Error())
	}
	if len(said) > 3 {
		said = append(said[:3], "and "+strconv.Itoa(len(said)-3)+" more")
	}
	t.Wrong("file", "The file %s cannot be used: %s", fault.Ref{Kind: "file", ID: name}, strings.Join(said, "; "))
	return 0
}
