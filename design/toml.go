package design

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/tomlscan"
	"barwright/mould"
)

// MaxFileBytes is the largest file that is read as designs: 1 MiB.
const MaxFileBytes = tomlscan.MaxFileBytes

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
var fileRules = tomlscan.Rules{
	What: "a file of designs", Least: "main, one [[mould]], one [[formula]] and one [[design]] with a [[design.part]]", Example: "harbour-light",
	Places: []tomlscan.Place{
		{Keys: []string{"name", "main", "pieces", "overage_pct"}},
		{Name: "mould", List: true, Keys: []string{"id", "shape", "water_g", "water_c", "cavities", "sets", "length_mm", "width_mm", "depth_mm",
			"diameter_mm", "top_diameter_mm", "bottom_diameter_mm", "top_length_mm", "top_width_mm", "bottom_length_mm", "bottom_width_mm", "rim_diameter_mm"}},
		{Name: "formula", List: true, Keys: []string{"id", "density_g_ml", "file", "pot_loss_g"}},
		{Name: "design", List: true, Keys: []string{"id", "mould"}},
		{Name: "design.part", List: true, Keys: []string{"kind", "formula", "fill_to_pct", "volume_ml", "mass_g",
			"design", "count", "sunk_pct", "covered_pct", "item"}},
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
	r, ok := tomlscan.Read(file, data, fileRules)
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
		// Nor is there a density where its file will not do.
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
func named(r *tomlscan.Reader, t *tomlscan.Table, path, key, write string) string {
	s := r.Text(t, path, key, write)
	c := checker{}
	c.text(strings.TrimPrefix(path+"."+key, "."), s, key, maxName, true)
	for _, e := range c.List {
		r.Wrong(r.Line(e.Field), e.Field, "%s", e.Message)
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
func readFile(r *tomlscan.Reader, load func(string) (float64, error)) *File {
	f := &File{}
	top := r.Top()
	r.Open("", "", top)
	f.Name = named(r, top, "", "name", "")
	f.Main = r.Text(top, "", "main", `the id of the design that is counted in pieces, as main = "harbour-light"`)
	if top.Has("pieces") {
		f.Pieces = whole(r, top, "", "pieces", "")
		if !r.Bad("pieces") && (f.Pieces < 1 || f.Pieces > maxPieces) {
			r.Wrong(r.Line("pieces"), "pieces", "%d pieces cannot be made: give 1 to %d.", f.Pieces, maxPieces)
		}
	}
	f.OveragePct, _ = r.Number(top, "", "overage_pct", "")

	shapes := mould.Shapes()
	names := make([]string, len(shapes))
	for i, s := range shapes {
		names[i] = s.String()
	}
	for i, t := range r.Lists(top, "", "mould") {
		var m mould.Mould
		if t != nil {
			path := "mould." + strconv.Itoa(i+1)
			r.Open(path, "mould", t)
			m.ID = named(r, t, path, "id", `by what the designs name it, as id = "lantern-house"`)
			r.Choice(t, path, "shape", `its shape, as shape = "measured"`, names, func(i int) { m.Shape = shapes[i] })
			m.WaterG, _ = r.Numbers(t, path, "water_g", "")
			m.WaterC = r.Maybe(t, path, "water_c")
			for _, key := range fileRules.Places[1].Keys {
				if d := m.Field(key); d != nil {
					*d = r.Maybe(t, path, key)
				}
			}
			m.Cavities = whole(r, t, path, "cavities", "how many cavities one set has, as cavities = 6")
			m.Sets = whole(r, t, path, "sets", "how many sets of it there are, as sets = 2")
		}
		f.Set.Moulds = append(f.Set.Moulds, m)
	}
	for i, t := range r.Lists(top, "", "formula") {
		var b Batter
		var file string
		if t != nil {
			path := "formula." + strconv.Itoa(i+1)
			r.Open(path, "formula", t)
			b.ID = named(r, t, path, "id", `by what the designs name it, as id = "sea-white"`)
			b.DensityGML, _ = r.Number(t, path, "density_g_ml", "")
			file = r.Text(t, path, "file", "")
			b.PotLossG, _ = r.Number(t, path, "pot_loss_g", "")
			switch given := t.Has("density_g_ml"); {
			case given && t.Has("file"):
				r.Wrong(r.Line(path+".file"), path+".file", "The density is given twice, as density_g_ml and as what the file works out: keep one of them.")
			case !given && !t.Has("file"):
				r.Wrong(r.Line(path), path+".density_g_ml",
					`Give the density as poured, as density_g_ml = 1.035, or the formula's file, as file = "sea-white.toml".`)
			case !given && !r.Bad(path+".file"):
				b.DensityGML = loaded(r, path+".file", file, load)
			}
		}
		f.Set.Batters = append(f.Set.Batters, b)
		f.Formulas = append(f.Formulas, file)
	}
	kinds := Kinds()
	for i, t := range r.Lists(top, "", "design") {
		var d Design
		if t != nil {
			path := "design." + strconv.Itoa(i+1)
			r.Open(path, "design", t)
			d.ID = named(r, t, path, "id", `by what it is named, as id = "harbour-light"`)
			d.Mould = r.Text(t, path, "mould", `which mould it is cast in, as mould = "lantern-house"`)
			for k, t := range r.Lists(t, path, "part") {
				var p Part
				if t != nil {
					path := path + ".part." + strconv.Itoa(k+1)
					r.Open(path, "design.part", t)
					r.Choice(t, path, "kind", `what it is, as kind = "pour"`, kindWords[1:], func(i int) { p.Kind = kinds[i] })
					p.Formula = r.Text(t, path, "formula", "")
					p.FillToPct = r.Maybe(t, path, "fill_to_pct")
					p.VolumeML = r.Maybe(t, path, "volume_ml")
					p.MassG = r.Maybe(t, path, "mass_g")
					p.Design = r.Text(t, path, "design", "")
					p.Count = r.Maybe(t, path, "count")
					p.SunkPct, _ = r.Number(t, path, "sunk_pct", "")
					p.CoveredPct, _ = r.Number(t, path, "covered_pct", "")
					p.Item = r.Text(t, path, "item", "")
				}
				d.Parts = append(d.Parts, p)
			}
		}
		f.Set.Designs = append(f.Set.Designs, d)
	}
	return f
}

// whole reads a number that must be a whole one; what is none is noted.
func whole(r *tomlscan.Reader, t *tomlscan.Table, path, key, write string) int {
	n, ok := r.Number(t, path, key, write)
	if !ok {
		return 0
	}
	full := strings.TrimPrefix(path+"."+key, ".")
	switch {
	case math.Abs(n) > 1e9:
		r.Wrong(r.Line(full), full, "%s is more than anyone counts out: give a whole number, as 6.", plainNumber(n))
		return 0
	case n != math.Trunc(n):
		r.Wrong(r.Line(full), full, "%s cannot be counted out: give a whole number, as 6.", plainNumber(n))
		return 0
	}
	return int(n)
}

// loaded asks for the density of a formula's file, and notes what was wrong.
func loaded(r *tomlscan.Reader, path, name string, load func(string) (float64, error)) float64 {
	if load == nil {
		r.Wrong(r.Line(path), path, "Formula files cannot be read from here: give density_g_ml instead.")
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
	r.Wrong(r.Line(path), path, "The file %s cannot be used: %s", fault.Ref{Kind: "file", ID: name}, strings.Join(said, "; "))
	return 0
}
