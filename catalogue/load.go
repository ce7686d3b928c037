package catalogue

import (
	"bytes"
	"embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"sync"

	"barwright/fault"
	"barwright/quantity"
)

//go:embed data/*.csv
var data embed.FS

// The embedded tables, in the order in which they are read.
const (
	acidsFile  = "fatty-acids.csv"
	oilsFile   = "oils.csv"
	inciFile   = "inci.csv"
	extrasFile = "extras.csv"
)

// Tolerances with which the tables are checked when they are loaded.
const (
	profileSumTol = 0.1   // % by which a typical profile may differ from 100
	typTol        = 0.05  // % by which a typical value may lie outside its range
	sapTol        = 0.015 // share by which the SAP from the profile may lie outside its range
	iodineTol     = 0.05  // the same for the iodine value, or iodineAbsTol if that is more
	iodineAbsTol  = 1.0   // g I2/100 g
	molarTol      = 0.001 // g/mol
)

// Default returns the catalogue that comes with the program. It is read from
// the embedded tables once, checked in every cell, and shared by every caller.
//
// A broken table gives an Internal fault with file, line and column.
func Default() (*Catalogue, error) { return defaultOnce() }

var defaultOnce = sync.OnceValues(func() (*Catalogue, error) {
	files, err := embedded()
	if err != nil {
		return nil, err
	}
	if _, err := allergensOnce(); err != nil {
		return nil, err
	}
	return load(files)
})

// tables holds the four files by name.
type tables map[string][]byte

func embedded() (tables, error) {
	t := tables{}
	for _, name := range []string{acidsFile, oilsFile, inciFile, extrasFile} {
		b, err := data.ReadFile("data/" + name)
		if err != nil {
			return nil, &fault.Error{File: name, Message: "The table is not in the program: build it again.", Err: err}
		}
		t[name] = b
	}
	return t, nil
}

// AcidTable returns what is known of every fatty acid, in the order of Acid.
// The numbers come from the atomic weights. Code that must be fast uses the
// methods of Acid. If the embedded table is broken the names are empty, and
// Default says why.
func AcidTable() [NumAcids]AcidInfo { return acidTableOnce() }

var acidTableOnce = sync.OnceValue(func() [NumAcids]AcidInfo {
	var t [NumAcids]AcidInfo
	for i := range t {
		a := Acid(i)
		t[i] = AcidInfo{Acid: a, Symbol: a.String(), MolarMass: a.MolarMass(), DoubleBonds: a.DoubleBonds(), Hydroxyls: shapes[a].hydroxyls, Group: a.Group()}
	}
	if b, err := data.ReadFile("data/" + acidsFile); err == nil {
		if got, err := loadAcids(b); err == nil {
			t = got
		}
	}
	return t
})

func load(t tables) (*Catalogue, error) {
	if _, err := loadAcids(t[acidsFile]); err != nil {
		return nil, err
	}
	b := builder{byID: make(map[string]*Ingredient, 320)}
	for _, step := range []struct {
		file string
		read func([]byte) error
	}{{oilsFile, b.oils}, {inciFile, b.inci}, {extrasFile, b.extras}} {
		if err := step.read(t[step.file]); err != nil {
			return nil, err
		}
	}
	for _, in := range b.list {
		if in.Roles == 0 {
			return nil, &fault.Error{File: extrasFile, Field: "id", Message: fmt.Sprintf("%q of %s has no row here: add one with its roles.", in.ID, inciFile)}
		}
	}
	for id, to := range aliases {
		if b.byID[to] == nil || b.byID[id] != nil {
			return nil, &fault.Error{Message: fmt.Sprintf("The other name %q stands for %q, which the tables do not bear out.", id, to)}
		}
	}
	return index(b.list), nil
}

// table reads a CSV file row by row and finds its columns by name.
type table struct {
	file string
	r    *csv.Reader
	col  map[string]int
	row  []string
	line int
	err  *fault.Error // the first fault that was found
}

func open(file string, b []byte, columns ...string) (*table, error) {
	t := &table{file: file, r: csv.NewReader(bytes.NewReader(b)), col: map[string]int{}}
	t.r.ReuseRecord = true
	head, err := t.r.Read()
	if err != nil {
		return nil, &fault.Error{File: file, Line: 1, Message: "The table has no row of column names.", Err: err}
	}
	for i, name := range head {
		if _, ok := t.col[name]; ok {
			return nil, &fault.Error{File: file, Line: 1, Field: name, Message: "The column is there twice."}
		}
		t.col[name] = i
	}
	for _, name := range columns {
		if _, ok := t.col[name]; !ok {
			return nil, &fault.Error{File: file, Line: 1, Field: name, Message: "The column is missing."}
		}
	}
	if len(head) != len(columns) {
		return nil, &fault.Error{File: file, Line: 1, Message: fmt.Sprintf("The table has %d columns; %d are known.", len(head), len(columns))}
	}
	return t, nil
}

// next moves to the next row. It is false at the end and at a fault, which stop
// returns.
func (t *table) next() bool {
	if t.err != nil {
		return false
	}
	row, err := t.r.Read()
	if errors.Is(err, io.EOF) {
		return false
	}
	if err != nil {
		line := 0
		var pe *csv.ParseError
		if errors.As(err, &pe) {
			line = pe.Line
		}
		msg := "The row cannot be read as CSV: look at its quotes."
		if errors.Is(err, csv.ErrFieldCount) {
			msg = fmt.Sprintf("The row has %d columns; the table has %d.", len(row), len(t.col))
		}
		t.err = &fault.Error{File: t.file, Line: line, Message: msg, Err: err}
		return false
	}
	t.row = row
	t.line, _ = t.r.FieldPos(0)
	return true
}

// fail keeps the first fault.
func (t *table) fail(column, format string, args ...any) {
	if t.err == nil {
		t.err = &fault.Error{File: t.file, Line: t.line, Field: column, Message: fmt.Sprintf(format, args...)}
	}
}

// stop returns the fault that ended the reading, or nil.
func (t *table) stop() error {
	if t.err == nil {
		return nil
	}
	return t.err
}

// text returns a cell, which must have no space around it.
func (t *table) text(column string) string {
	i, ok := t.col[column]
	if !ok {
		t.fail(column, "The column is missing.")
		return ""
	}
	s := t.row[i]
	if s != strings.TrimSpace(s) {
		t.fail(column, "%q has space around it.", s)
	}
	return s
}

// need returns a cell that may not be empty.
func (t *table) need(column string) string {
	s := t.text(column)
	if s == "" {
		t.fail(column, "The cell is empty.")
	}
	return s
}

// number returns a cell that is either empty (unknown) or a plain number in
// [lo, hi].
func (t *table) number(column string, lo, hi float64) quantity.Maybe {
	s := t.text(column)
	if s == "" {
		return quantity.Maybe{}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !quantity.Finite(v) {
		t.fail(column, "%q is not a number.", s)
		return quantity.Maybe{}
	}
	if v < lo || v > hi {
		t.fail(column, "%s lies outside %g to %g.", s, lo, hi)
		return quantity.Maybe{}
	}
	return quantity.Some(v)
}

// needNumber returns a cell that must hold a number in [lo, hi].
func (t *table) needNumber(column string, lo, hi float64) float64 {
	m := t.number(column, lo, hi)
	if !m.Known {
		t.fail(column, "A number is missing.")
	}
	return m.V
}

// span returns the range of two columns, the lower end first.
func (t *table) span(min, max string, lo, hi float64) quantity.Range {
	r := quantity.Range{Min: t.number(min, lo, hi), Max: t.number(max, lo, hi)}
	if r.Known() && r.Min.V > r.Max.V {
		t.fail(min, "The lower end %g is above the upper end %g.", r.Min.V, r.Max.V)
	}
	return r
}

// source returns the source of a value. The cell may be empty only when there
// is no value.
func (t *table) source(column string, there bool) string {
	s := t.text(column)
	if there && s == "" {
		t.fail(column, "The value has no source: name one, or write assumed.")
	}
	return s
}

// id returns the row's id, which must be lower-case words joined by hyphens.
func (t *table) id() string {
	id := t.need("id")
	for i, c := range id {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && (c != '-' || i == 0 || i == len(id)-1) {
			t.fail("id", "%q is not lower case words joined by hyphens.", id)
			break
		}
	}
	return id
}

// between writes a range from its two cells as they stand in the table.
func between(lo, hi string) string {
	switch {
	case lo == hi:
		return lo
	case lo == "":
		return "at most " + hi
	case hi == "":
		return "at least " + lo
	}
	return lo + " to " + hi
}

// spell joins a source and its provenance, and writes out the tables' word for
// memory.
func spell(source, provenance string) string {
	return source + " [" + strings.ReplaceAll(provenance, "memory", "from memory") + "]"
}

var acidColumns = []string{
	"symbol", "trivial_name", "systematic_name", "formula", "molar_mass_g_mol", "double_bonds", "hydroxyl_groups",
	"sodium_soap_molar_mass_g_mol", "potassium_soap_molar_mass_g_mol", "acid_value_mg_koh_g", "triglyceride_molar_mass_g_mol",
	"triglyceride_sap_mg_koh_g", "inci_acid", "inci_sodium_soap", "inci_source", "melting_point_c", "melting_point_source", "molar_mass_source",
}

func loadAcids(b []byte) (table [NumAcids]AcidInfo, err error) {
	t, err := open(acidsFile, b, acidColumns...)
	if err != nil {
		return table, err
	}
	n := 0
	for t.next() {
		if n >= NumAcids {
			t.fail("symbol", "There are more than %d fatty acids.", NumAcids)
			break
		}
		a, s := Acid(n), shapes[n]
		info := AcidInfo{
			Acid: a, Symbol: t.need("symbol"), Trivial: t.need("trivial_name"), Systematic: t.need("systematic_name"), Formula: t.need("formula"),
			MolarMass: s.mass, DoubleBonds: s.doubleBonds, Hydroxyls: s.hydroxyls, Group: s.group,
			INCIAcid: t.text("inci_acid"), INCISodium: t.text("inci_sodium_soap"), MeltingC: t.number("melting_point_c", -100, 200),
		}
		info.INCISource = t.source("inci_source", info.INCIAcid != "" || info.INCISodium != "")
		info.MeltingSource = t.source("melting_point_source", info.MeltingC.Known)
		info.MolarSource = t.source("molar_mass_source", true)
		if info.Symbol != a.String() {
			t.fail("symbol", "%q stands where %s belongs.", info.Symbol, a)
		}
		for _, c := range []struct {
			column    string
			want, tol float64
		}{
			{"molar_mass_g_mol", s.mass, molarTol},
			{"double_bonds", float64(s.doubleBonds), 0},
			{"hydroxyl_groups", float64(s.hydroxyls), 0},
			{"sodium_soap_molar_mass_g_mol", s.mass - MolarH + MolarNa, molarTol},
			{"potassium_soap_molar_mass_g_mol", s.mass - MolarH + MolarK, molarTol},
			{"triglyceride_molar_mass_g_mol", s.glyceride, molarTol},
			// The table uses the customary 56.1056 for KOH, which is 5 ppm
			// above our value.
			{"acid_value_mg_koh_g", 1000 * MolarKOH / s.mass, 0.01},
			{"triglyceride_sap_mg_koh_g", 3000 * MolarKOH / s.glyceride, 0.01},
		} {
			if got := t.needNumber(c.column, 0, 1e4); math.Abs(got-c.want) > c.tol {
				t.fail(c.column, "%g is not what the formula gives, %.3f.", got, c.want)
			}
		}
		table[n] = info
		n++
	}
	if n < NumAcids {
		t.fail("symbol", "Only %d of %d fatty acids are there.", n, NumAcids)
	}
	return table, t.stop()
}

// builder collects the ingredients of the tables.
type builder struct {
	list []*Ingredient
	byID map[string]*Ingredient
	// seen holds the line of extras.csv that gave an ingredient its roles.
	seen map[string]int
}

// columnOf is the stem of the names of an acid's three columns in oils.csv,
// such as "c18_1_oh". C24:1 has no columns.
func columnOf(a Acid) string {
	return strings.NewReplacer(":", "_", "-", "_").Replace(strings.ToLower(a.String()))
}

var acidColumnsOf = func() (s [NumAcids]struct{ min, max, typ string }) {
	for i := range s {
		stem := columnOf(Acid(i))
		s[i].min, s[i].max, s[i].typ = stem+"_min", stem+"_max", stem+"_typ"
	}
	return s
}()

// acidKeys and acidLabels are the keys and labels of the facts about fatty
// acids.
var acidKeys, acidLabels = func() (k, l [NumAcids]string) {
	for i := range k {
		k[i], l[i] = strings.ToLower(Acid(i).String()), "Fatty acid "+Acid(i).String()
	}
	return k, l
}()

var oilColumns = func() []string {
	c := []string{
		"id", "common_name", "inci_name", "inci_sodium_soap", "inci_potassium_soap", "inci_source", "kind",
		"sap_min_mg_koh_g", "sap_max_mg_koh_g", "sap_source", "iodine_min_g_100g", "iodine_max_g_100g", "iodine_source",
		"unsaponifiable_max_g_kg", "unsaponifiable_source", "relative_density_min", "relative_density_max", "relative_density_ref",
		"density_source", "density_20c_kg_m3", "melting_or_slip_min_c", "melting_or_slip_max_c", "melting_source",
		"typ_method", "fa_source", "source_quality", "density_40c_g_ml", "density_40c_source",
		"sure_acid_value_mg_koh_g", "sure_acid_value_source", "notes",
	}
	for a, own := range acidColumnsOf {
		if Acid(a) != C24x1 {
			c = append(c, own.min, own.max, own.typ)
		}
	}
	return c
}()

var kinds = map[string]FatKind{"triglyceride": Triglyceride, "fatty_acid": FreeAcid, "wax": Wax, "wax_ester": Wax}

func (b *builder) oils(file []byte) error {
	t, err := open(oilsFile, file, oilColumns...)
	if err != nil {
		return err
	}
	for t.next() {
		in := &Ingredient{ID: t.id(), Name: t.need("common_name"), INCI: t.text("inci_name"), Roles: RoleFat, Note: t.text("notes"), Function: "fat"}
		if b.byID[in.ID] != nil {
			t.fail("id", "%q is there twice.", in.ID)
		}
		t.need("source_quality")
		in.Fat = t.fat(in)
		b.byID[in.ID] = in
		b.list = append(b.list, in)
	}
	return t.stop()
}

// fat reads the chemistry in a row of oils.csv and adds its facts to in.
func (t *table) fat(in *Ingredient) *Fat {
	kindName := t.need("kind")
	kind, ok := kinds[kindName]
	if !ok {
		t.fail("kind", "%q is none of triglyceride, fatty_acid, wax, wax_ester.", kindName)
	}
	f := &Fat{
		Kind:              kind,
		SAP:               t.span("sap_min_mg_koh_g", "sap_max_mg_koh_g", 1, 700),
		Iodine:            t.span("iodine_min_g_100g", "iodine_max_g_100g", 0, 300),
		UnsaponifiableMax: t.number("unsaponifiable_max_g_kg", 0, 1000),
		Density40:         t.number("density_40c_g_ml", 0.7, 1.2),
		Melting:           t.span("melting_or_slip_min_c", "melting_or_slip_max_c", -60, 120),
		INCISodium:        t.text("inci_sodium_soap"),
		INCIPotassium:     t.text("inci_potassium_soap"),
	}
	if !f.SAP.Known() {
		t.fail("sap_min_mg_koh_g", "A saponification value needs both ends.")
	}
	names := in.INCI != "" || f.INCISodium != "" || f.INCIPotassium != ""
	inciSource := t.source("inci_source", names)
	in.fact("inci", "INCI name", in.INCI, "", inciSource)
	in.fact("inci-sodium", "INCI name as sodium soap", f.INCISodium, "", inciSource)
	in.fact("inci-potassium", "INCI name as potassium soap", f.INCIPotassium, "", inciSource)

	label := "Saponification value"
	if kind == FreeAcid {
		label = "Acid value"
	}
	in.fact("sap", label, between(t.text("sap_min_mg_koh_g"), t.text("sap_max_mg_koh_g")), "mg KOH/g", t.source("sap_source", true))

	sure := t.number("sure_acid_value_mg_koh_g", 0, 300)
	if (kind == Wax) != sure.Known {
		t.fail("sure_acid_value_mg_koh_g", "A wax, and nothing else, needs the acid value that surely reacts.")
	}
	f.SureAcidValue = sure.V
	if f.SAP.Known() && f.SureAcidValue > f.SAP.Max.V {
		t.fail("sure_acid_value_mg_koh_g", "%g is above the saponification value.", f.SureAcidValue)
	}
	in.fact("sure-acid-value", "Acid value that surely reacts", t.text("sure_acid_value_mg_koh_g"), "mg KOH/g", t.source("sure_acid_value_source", sure.Known))

	in.fact("iodine", "Iodine value", between(t.text("iodine_min_g_100g"), t.text("iodine_max_g_100g")), "g I2/100 g",
		t.source("iodine_source", f.Iodine.Min.Known || f.Iodine.Max.Known))
	in.fact("unsaponifiable", "Unsaponifiable matter", between("", t.text("unsaponifiable_max_g_kg")), "g/kg",
		t.source("unsaponifiable_source", f.UnsaponifiableMax.Known))

	rel := t.span("relative_density_min", "relative_density_max", 0.7, 1.2)
	d20 := t.number("density_20c_kg_m3", 700, 1200)
	relRef := t.source("relative_density_ref", rel.Min.Known || rel.Max.Known)
	densitySource := t.source("density_source", rel.Min.Known || rel.Max.Known || d20.Known)
	in.fact("relative-density", "Relative density", between(t.text("relative_density_min"), t.text("relative_density_max")),
		strings.TrimSpace("at "+relRef), densitySource)
	in.fact("density-20", "Density at 20 °C", t.text("density_20c_kg_m3"), "kg/m³", "computed from the relative density; "+densitySource)
	in.fact("density-40", "Density at 40 °C", t.text("density_40c_g_ml"), "g/ml", t.source("density_40c_source", f.Density40.Known))
	in.fact("melting", "Melting or slip point", between(t.text("melting_or_slip_min_c"), t.text("melting_or_slip_max_c")), "°C",
		t.source("melting_source", f.Melting.Min.Known || f.Melting.Max.Known))
	t.profile(in, f)
	return f
}

// profile reads the fatty acids of a row, and checks the SAP and the iodine
// value against them.
func (t *table) profile(in *Ingredient, f *Fat) {
	var sum float64
	var ranged bool
	for i, c := range acidColumnsOf {
		if Acid(i) == C24x1 {
			continue
		}
		lo, hi, typ := c.min, c.max, c.typ
		r := t.span(lo, hi, 0, 100)
		v := t.number(typ, 0, 100)
		ranged = ranged || r.Min.Known || r.Max.Known
		f.HasProfile = f.HasProfile || v.Known
		if v.Known && (r.Min.Known && v.V < r.Min.V-typTol-1e-9 || r.Max.Known && v.V > r.Max.V+typTol+1e-9) {
			t.fail(typ, "The typical value %g lies outside %s.", v.V, between(t.text(lo), t.text(hi)))
		}
		f.Profile[i] = v.V
		sum += v.V
		f.ProfileRange[i] = quantity.Range{Min: share(r.Min), Max: share(r.Max)}
	}
	source := t.source("fa_source", f.HasProfile || ranged)
	method := t.source("typ_method", f.HasProfile)
	if !f.HasProfile {
		return
	}
	if math.Abs(sum-100) > profileSumTol+1e-9 {
		t.fail("typ_method", "The typical fatty acids sum to %.2f, not to 100.", sum)
		return
	}
	for i := range f.Profile {
		f.Profile[i] /= sum
	}
	both := source + "; typical value: " + method
	for i, c := range acidColumnsOf {
		if Acid(i) == C24x1 {
			continue
		}
		typ, lo, hi := t.text(c.typ), t.text(c.min), t.text(c.max)
		value := typ
		if lo != "" || hi != "" {
			value = between(lo, hi)
			if typ != "" && typ != lo && lo != hi {
				value += ", here " + typ
			}
		}
		if f.Profile[i] == 0 && (hi == "" || strings.Trim(hi, "0.") == "") {
			continue // too little to show
		}
		in.fact(acidKeys[i], acidLabels[i], value, "% of the fatty acids", both)
	}
	if sap := f.Profile.SAP(f.Kind); sap.Known && (sap.V < f.SAP.Min.V*(1-sapTol) || sap.V > f.SAP.Max.V*(1+sapTol)) {
		t.fail("sap_min_mg_koh_g", "The fatty acids ask for %.1f mg KOH/g, which the range does not reach.", sap.V)
	}
	if iv := f.Profile.Iodine(f.Kind); iv.Known {
		lo, hi := f.Iodine.Min, f.Iodine.Max
		if lo.Known && iv.V < lo.V-max(iodineTol*lo.V, iodineAbsTol) || hi.Known && iv.V > hi.V+max(iodineTol*hi.V, iodineAbsTol) {
			t.fail("iodine_min_g_100g", "The fatty acids ask for %.1f g I2/100 g, which the range does not reach.", iv.V)
		}
	}
}

// share turns a percentage into a share of 1.
func share(m quantity.Maybe) quantity.Maybe {
	if m.Known {
		m.V /= 100
	}
	return m
}

var inciColumns = []string{"id", "common_name", "inci_name", "function", "cas", "source", "provenance", "us_label_name", "us_label_provenance", "note"}

func (b *builder) inci(file []byte) error {
	t, err := open(inciFile, file, inciColumns...)
	if err != nil {
		return err
	}
	here := map[string]bool{}
	for t.next() {
		id, name, inci := t.id(), t.need("common_name"), t.need("inci_name")
		if here[id] {
			t.fail("id", "%q is there twice.", id)
		}
		here[id] = true
		source := spell(t.need("source"), t.need("provenance"))
		in := b.byID[id]
		switch {
		case in == nil:
			in = &Ingredient{ID: id, Name: name, INCI: inci, Note: t.text("note")}
			in.fact("inci", "INCI name", inci, "", source)
			b.byID[id] = in
			b.list = append(b.list, in)
		case in.INCI != inci:
			t.fail("inci_name", "%q is %q in %s: one id is one ingredient.", id, in.INCI, oilsFile)
		default:
			if note := t.text("note"); note != "" {
				in.Note = strings.TrimSpace(in.Note + " " + sentence(note))
			}
		}
		in.Function = t.need("function")
		in.CAS = t.text("cas")
		in.fact("cas", "CAS number", in.CAS, "", source)
		in.USName = t.text("us_label_name")
		if provenance := t.source("us_label_provenance", in.USName != ""); in.USName != "" {
			in.fact("us-name", "Name on a US label", in.USName, "", spell("US label name", provenance))
		}
	}
	return t.stop()
}

// sentence gives a capital and a full stop to a note that is appended to
// another.
func sentence(s string) string {
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}

var extraColumns = []string{
	"id", "roles", "fat_pct", "fat_pct_source", "fat_sap_mg_koh_g", "fat_sap_source", "water_pct", "water_source",
	"acid_mol_per_g", "acid_molar_mass_g_mol", "alkali_salt", "acid_source", "sugar_pct", "sugar_source",
	"density_g_ml", "density_source", "nature", "nature_source", "note",
}

// roleNames and natureNames hold the words of the tables and of an Entry.
var roleNames = map[string]Role{
	"fat": RoleFat, "extra": RoleExtra, "scent": RoleScent, "colourant": RoleColourant, "alkali": RoleAlkali,
	"liquid": RoleLiquid, "surfactant": RoleSurfactant, "name": RoleName,
}

var natureNames = map[string]Nature{
	"sugar": NatureSugar, "milk": NatureMilk, "honey": NatureHoney, "salt": NatureSalt, "clay": NatureClay, "acid": NatureAcid,
	"alkaline": NatureAlkaline, "alcohol": NatureAlcohol, "scratchy": NatureScratchy, "plastic": NaturePlastic,
}

func (b *builder) extras(file []byte) error {
	t, err := open(extrasFile, file, extraColumns...)
	if err != nil {
		return err
	}
	b.seen = map[string]int{}
	for t.next() {
		id := t.id()
		in := b.byID[id]
		if in == nil {
			t.fail("id", "%q has no row in %s.", id, inciFile)
			break
		}
		if b.seen[id] != 0 {
			t.fail("id", "%q is there twice.", id)
		}
		b.seen[id] = t.line
		var roles Role
		for _, w := range strings.Fields(t.need("roles")) {
			r, ok := roleNames[w]
			if !ok || r == RoleFat {
				t.fail("roles", "%q is no role that this table may give.", w)
			}
			roles |= r
		}
		in.Roles |= roles
		if roles.Has(RoleAlkali) || roles.Has(RoleName) {
			for _, c := range extraColumns[2:] {
				if t.text(c) != "" {
					t.fail(c, "%q cannot be dosed beside the fats: leave the cell empty.", id)
				}
			}
			continue
		}
		in.Extra = t.extra(in)
		if note := t.text("note"); note != "" && !strings.EqualFold(note, in.Note) {
			if in.Note == "" {
				in.Note = note
			} else {
				in.Note = sentence(in.Note) + " " + sentence(note)
			}
		}
	}
	return t.stop()
}

// extra reads a row of extras.csv and adds its facts to in.
func (t *table) extra(in *Ingredient) *Extra {
	x := &Extra{
		FatPct:        t.needNumber("fat_pct", 0, 100),
		FatSAP:        t.number("fat_sap_mg_koh_g", 1, 700),
		WaterPct:      t.needNumber("water_pct", 0, 100),
		AcidMolPerG:   t.needNumber("acid_mol_per_g", 0, 0.05),
		AlkaliSalt:    t.text("alkali_salt"),
		AcidMolarMass: t.number("acid_molar_mass_g_mol", 10, 1000).V,
		SugarPct:      t.needNumber("sugar_pct", 0, 100),
		DensityGML:    t.needNumber("density_g_ml", 0.3, 12),
	}
	for _, w := range strings.Fields(t.text("nature")) {
		n, ok := natureNames[w]
		if !ok {
			t.fail("nature", "%q is no nature that is known.", w)
		}
		x.Nature |= n
	}
	if bad := x.faults(); len(bad) > 0 {
		t.fail(bad[0].Field, "%s", bad[0].Message)
	}
	in.fact("fat", "Fat in it", t.text("fat_pct"), "% of its mass", t.source("fat_pct_source", true))
	in.fact("fat-sap", "Saponification value of that fat", t.text("fat_sap_mg_koh_g"), "mg KOH/g", t.source("fat_sap_source", x.FatSAP.Known))
	in.fact("water", "Water in it", t.text("water_pct"), "% of its mass", t.source("water_source", true))
	acidSource := t.source("acid_source", true)
	in.fact("acid", "Alkali that it takes first", t.text("acid_mol_per_g"), "mol/g", acidSource)
	in.fact("acid-molar-mass", "Acid per mol of alkali", t.text("acid_molar_mass_g_mol"), "g/mol", acidSource)
	in.fact("alkali-salt", "What the acid leaves", x.AlkaliSalt, "", acidSource)
	in.fact("sugar", "Sugar in it", t.text("sugar_pct"), "% of its mass", t.source("sugar_source", true))
	in.fact("density", "Density, stirred in", t.text("density_g_ml"), "g/ml", t.source("density_source", true))
	in.fact("nature", "Nature", x.Nature.String(), "", t.source("nature_source", x.Nature != 0))
	return x
}

// faults returns what cannot be true of an extra, each on the column that says
// so. A table and an Entry use the same names.
func (x *Extra) faults() fault.List {
	var l fault.List
	if x.FatPct > 0 && !x.FatSAP.Known {
		l.Add(fault.Invalidf("fat_sap_mg_koh_g", "There is fat in it: give the saponification value of that fat, in mg KOH/g."))
	}
	acid := x.AcidMolPerG > 0
	if acid && x.AlkaliSalt == "" {
		l.Add(fault.Invalidf("alkali_salt", "It takes alkali: say what the neutralised acid leaves, as citrate."))
	}
	if acid && x.AcidMolarMass == 0 {
		l.Add(fault.Invalidf("acid_molar_mass_g_mol", "It takes alkali: give the acid's mass per mol of alkali, in g/mol."))
	}
	if !acid && (x.AlkaliSalt != "" || x.AcidMolarMass != 0) {
		l.Add(fault.Invalidf("acid_mol_per_g", "There is a salt but no acid: give the alkali that 1 g takes, in mol."))
	}
	// Sugar is not in the sum, because the figure for acid or fat may include
	// it.
	if sum := x.FatPct + x.WaterPct + 100*x.AcidMolPerG*x.AcidMolarMass; sum > 100.5 {
		l.Add(fault.Invalidf("water_pct", "Fat, water and acid come to %.1f %% of its mass: that is more than there is.", sum))
	}
	return l
}

// fact adds a value. An empty value is not added.
func (in *Ingredient) fact(key, label, value, unit, source string) {
	if value == "" || value == "at most " {
		return
	}
	if in.Facts == nil {
		in.Facts = make([]Fact, 0, 16) // enough for most ingredients; growing the slice took a third of the loading time
	}
	in.Facts = append(in.Facts, Fact{Key: key, Label: label, Value: value, Unit: unit, Source: source})
}
