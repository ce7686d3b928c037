package store_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/fault"
	"barwright/internal/store"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// What the fixtures of forms 1 and 2 call their formula and their mould.
const (
	fixtureFormula = "01a212be-d453-7e51-854f-11b5001e5250" // Storm lantern, dimmed: version 2
	fixtureMould   = "01a212be-d458-795c-a971-2cb1dc6b4f17" // Long loaf
)

// oldRows adds to a studio of form n what its fixture does not have. The fixtures
// stay as they were released.
func oldRows(t *testing.T, db *sql.DB, n int) {
	t.Helper()
	exec := func(statement string, args ...any) {
		t.Helper()
		if _, err := db.Exec(statement, args...); err != nil {
			t.Fatal(err)
		}
	}
	addMould := func(id, name string, away any) {
		t.Helper()
		exec(`INSERT INTO mould (id, name, name_key, format, document, changed_at, put_away_at) VALUES ($1, $2, $3, 1, $4, '2026-03-02T08:00:00.000001Z', $5)`,
			id, name, studio.NameKey(name),
			`{"id":"`+id+`","name":"`+name+`","shape":"cuboid","length_mm":100,"width_mm":80.1,"depth_mm":30,"cavities":1,"sets":1}`, away)
	}
	addMould("mould-away", "Crème fraîche", "2026-03-03T08:00:00.000001Z")
	addMould("mould-tub", "Größe  Ⅳ", nil)
	addSheet := func(id string, number int, mould any, size, working string) {
		t.Helper()
		exec(`INSERT INTO sheet (id, number, code, formula_id, n, formula_name, mould_id, taken_on, taken_at, format, size, working)
			VALUES ($1, $2, $3, $4, 2, 'Storm lantern, dimmed', $5, '2026-03-04', '2026-03-04T09:10:11.000012Z', 1, $6, $7)`,
			id, number, fmt.Sprintf("%04d", number), fixtureFormula, mould, size, working)
	}
	addSheet("sheet-worked", 41, "mould-away", `{"by":"mould","mould_id":"mould-away","pieces":7,"fill_pct":33.333333333333336}`,
		`{"Batter":{"MassG":1234.5,"VolumeML":1},"note":"ø"}`)
	addSheet("sheet-batter", 42, nil, `{"by":"batter","batter_g":1500.25}`, `{"of": "another shape"}`)
	addSheet("sheet-fats", 43, nil, `{"by":"fats","fats_g":0.30000000000000004}`, `[1, 2]`)
	addSheet("sheet-tiny", 44, nil, `{"by":"fats","fats_g":1}`, `{"Batter":{"MassG":0.0001}}`)
	// An ingredient that a formula has as a fat and as an extra keeps both roles.
	exec(`INSERT INTO formula_ingredient (formula_id, ingredient_id, last_n, as_fat, as_extra) VALUES ($1, 'both-at-once', 2, 1, 1)`, fixtureFormula)
	if n < 2 {
		return
	}
	exec(`INSERT INTO design (id, name, name_key, search_key, newest, kept_at) VALUES ('design-salt', 'Salt light', 'SALT LIGHT', 'SALT LIGHT', 2, '2026-03-02T08:00:00.000003Z')`)
	for v, item := range []string{"sea salt", "Grüne Perlen"} {
		exec(`INSERT INTO design_version (design_id, n, kept_at, note, format, document) VALUES ('design-salt', $1, '2026-03-02T08:00:00.000003Z', '', 1, $2)`,
			v+1,
			`{"id":"design-salt","name":"Salt light","mould":"`+fixtureMould+`","parts":[{"kind":"pour","formula":"`+fixtureFormula+`","fill_to_pct":60},`+
				`{"kind":"sprinkle","mass_g":1.5,"item":"`+item+`"},{"kind":"wrap","count":1,"item":"paper band"}]}`)
	}
	exec(`INSERT INTO design_use (design_id, kind, used_id, last_n) VALUES ('design-salt', 'mould', $1, 2)`, fixtureMould)
	exec(`INSERT INTO design_use (design_id, kind, used_id, last_n) VALUES ('design-salt', 'formula', $1, 2)`, fixtureFormula)
	exec(`INSERT INTO run (id, number, code, taken_on, taken_at, format, asked, working) VALUES ('run-many', 57, '0057', '2026-03-05', '2026-03-05T10:11:12.000013Z', 1, '{"overage_pct":0.1}', '{}')`)
	exec(`INSERT INTO run_design (run_id, place, design_id, n, design_name, pieces, made) VALUES ('run-many', 1, 'design-salt', 1, 'Salt light', 5, 5)`)
	exec(`INSERT INTO run_mould (run_id, mould_id) VALUES ('run-many', 'mould-away')`)
	for i := range 30 {
		exec(`INSERT INTO run_batch (run_id, letter, formula_id, n, formula_name, mass_g) VALUES ('run-many', $1, $2, 1, 'Storm lantern', $3)`,
			words.Letters(i), fixtureFormula, oldMassG(i))
	}
	exec(`INSERT INTO run (id, number, code, taken_on, taken_at, format, asked, working) VALUES ('run-cast', 56, '0056', '2026-03-05', '2026-03-05T10:11:12.000012Z', 1, '{"overage_pct":0}', '{}')`)
	exec(`INSERT INTO run_design (run_id, place, design_id, n, design_name, pieces, made) VALUES ('run-cast', 1, 'design-salt', 2, 'Salt light', 5, 0)`)
}

// oldMassG is the mass of a batch of the run of thirty: among them what is less
// than half a milligram, half of one, the most that a batch may have, and a sum
// that binary fractions only come near to.
func oldMassG(i int) float64 {
	switch i {
	case 0:
		return 0.0002
	case 1:
		return 0.0025
	case 2:
		return 1e7
	case 3:
		return 0.1 + 0.2
	}
	return float64(i) + 0.5
}

func oldMassMG(i int) quantity.Milligrams {
	switch i {
	case 0:
		return 1
	case 1:
		return 3
	case 2:
		return 10_000_000_000
	case 3:
		return 300
	}
	return quantity.Milligrams(i)*1000 + 500
}

// arrives says what of an older form is to be found as what in form 3, column by
// column. Since is the form that brought it.
var arrives = []struct {
	since         int
	before, after string
}{
	{1, `SELECT id, name, name_key, search_key, newest, kept_at, put_away_at, from_id, from_n FROM formula`,
		`SELECT id, name, name_key, search_key, newest, kept_at, archived_at, from_id, from_n FROM record WHERE kind = 'formula'`},
	{1, `SELECT formula_id, n, kept_at, note, format, document, kept FROM formula_version`,
		`SELECT v.record_id, v.n, v.kept_at, v.note, v.format, v.document, v.figures FROM record_version v JOIN record r ON r.id = v.record_id WHERE r.kind = 'formula'`},
	{1, `SELECT formula_id, ingredient_id, last_n, as_fat, as_extra FROM formula_ingredient`,
		`SELECT record_id, used_id, MAX(last_n), MAX(CASE role WHEN 'fat' THEN 1 ELSE 0 END), MAX(CASE role WHEN 'extra' THEN 1 ELSE 0 END)
		FROM record_use WHERE kind = 'ingredient' GROUP BY record_id, used_id`},
	{1, `SELECT id, format, document, changed_at FROM entry`, `SELECT id, format, document, changed_at FROM ingredient`},
	{1, `SELECT revision FROM entry_revision`, `SELECT revision FROM ingredient_revision`},
	{1, `SELECT id, name, name_key, 1, changed_at, put_away_at FROM mould`,
		`SELECT id, name, name_key, newest, kept_at, archived_at FROM record WHERE kind = 'mould'`},
	{1, `SELECT id, 1, changed_at, '', format, document, '' FROM mould`,
		`SELECT v.record_id, v.n, v.kept_at, v.note, v.format, v.document, v.figures FROM record_version v JOIN record r ON r.id = v.record_id WHERE r.kind = 'mould'`},
	{1, `SELECT format, document, changed_at FROM settings`, `SELECT format, document, changed_at FROM settings`},
	{1, `SELECT id, number, code, taken_on, taken_at, format, working FROM sheet`,
		`SELECT id, number, code, made_on, made_at, format, working FROM run WHERE NOT EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = run.id)`},
	{1, `SELECT id, code, formula_id, n, formula_name, 1 FROM sheet`,
		`SELECT run_id, code, formula_id, formula_n, formula_name, n FROM batch WHERE NOT EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = batch.run_id)`},
	{1, `SELECT id, mould_id FROM sheet WHERE mould_id IS NOT NULL`,
		`SELECT run_id, mould_id FROM run_mould WHERE NOT EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = run_mould.run_id)`},
	{1, `SELECT id, id, taken_at FROM sheet`,
		`SELECT id, result, done_at FROM done WHERE what = 'make run' AND NOT EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = done.id)`},
	{2, `SELECT id, name, name_key, search_key, newest, kept_at, put_away_at, from_id, from_n FROM design`,
		`SELECT id, name, name_key, search_key, newest, kept_at, archived_at, from_id, from_n FROM record WHERE kind = 'design'`},
	{2, `SELECT design_id, n, kept_at, note, format, document, '' FROM design_version`,
		`SELECT v.record_id, v.n, v.kept_at, v.note, v.format, v.document, v.figures FROM record_version v JOIN record r ON r.id = v.record_id WHERE r.kind = 'design'`},
	{2, `SELECT design_id, kind, used_id, last_n, '' FROM design_use`,
		`SELECT record_id, kind, used_id, last_n, role FROM record_use WHERE kind IN ('formula', 'mould', 'design')`},
	{2, `SELECT id, number, code, taken_on, taken_at, format, asked, working FROM run`,
		`SELECT id, number, code, made_on, made_at, format, asked, working FROM run WHERE EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = run.id)`},
	{2, `SELECT run_id, place, design_id, n, design_name, pieces, made FROM run_design`,
		`SELECT run_id, place, design_id, n, design_name, pieces, made FROM run_design`},
	{2, `SELECT b.run_id, r.code || '-' || b.letter, b.formula_id, b.n, b.formula_name FROM run_batch b JOIN run r ON r.id = b.run_id`,
		`SELECT run_id, code, formula_id, formula_n, formula_name FROM batch WHERE EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = batch.run_id)`},
	{2, `SELECT run_id, mould_id FROM run_mould`,
		`SELECT run_id, mould_id FROM run_mould WHERE EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = run_mould.run_id)`},
	// A record was used when it was kept, and whenever something was made of it.
	{2, `SELECT u.id, MAX(u.at) FROM (SELECT id, kept_at AS at FROM formula UNION ALL SELECT formula_id, taken_at FROM sheet
		UNION ALL SELECT b.formula_id, r.taken_at FROM run_batch b JOIN run r ON r.id = b.run_id) u GROUP BY u.id`,
		`SELECT id, used_at FROM record WHERE kind = 'formula'`},
	{2, `SELECT u.id, MAX(u.at) FROM (SELECT id, kept_at AS at FROM design
		UNION ALL SELECT d.design_id, r.taken_at FROM run_design d JOIN run r ON r.id = d.run_id) u GROUP BY u.id`,
		`SELECT id, used_at FROM record WHERE kind = 'design'`},
	{2, `SELECT u.id, MAX(u.at) FROM (SELECT id, changed_at AS at FROM mould UNION ALL SELECT mould_id, taken_at FROM sheet WHERE mould_id IS NOT NULL
		UNION ALL SELECT m.mould_id, r.taken_at FROM run_mould m JOIN run r ON r.id = m.run_id) u GROUP BY u.id`,
		`SELECT id, used_at FROM record WHERE kind = 'mould'`},
	{2, `SELECT id, id, taken_at FROM run`,
		`SELECT id, result, done_at FROM done WHERE what = 'make run' AND EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = done.id)`},
}

// rowsOf are the rows of a query as text, sorted.
func rowsOf(t *testing.T, db *sql.DB, query string) (out []string) {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		cells, dest := make([]sql.NullString, len(columns)), make([]any, len(columns))
		for i := range cells {
			dest[i] = &cells[i]
		}
		if err := rows.Scan(dest...); err != nil {
			t.Fatal(err)
		}
		var line []string
		for _, c := range cells {
			line = append(line, map[bool]string{true: c.String, false: "NULL"}[c.Valid])
		}
		out = append(out, strings.Join(line, " | "))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

// oldStudio leaves a studio of form n with its fixture and oldRows behind, and
// gives all that is to arrive.
func oldStudio(t *testing.T, where string, n int) map[string][]string {
	t.Helper()
	olden(t, where, n)
	s, err := store.OpenAs(t.Context(), where, n)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	oldRows(t, s.DB(), n)
	return snapshot(t, s.DB(), n)
}

func snapshot(t *testing.T, db *sql.DB, n int) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, a := range arrives {
		if a.since > n {
			continue
		}
		out[a.before] = rowsOf(t, db, a.before)
		if len(out[a.before]) == 0 {
			t.Fatalf("nothing is there to arrive: %s", a.before)
		}
	}
	return out
}

func TestAnOlderStudioArrivesWhole(t *testing.T) {
	for n := 1; n <= 2; n++ {
		t.Run(fmt.Sprintf("form %d", n), func(t *testing.T) {
			onEach(t, func(t *testing.T, where string) {
				before := oldStudio(t, where, n)
				s := opened(t, where)
				db := raw(t, where)
				for _, a := range arrives {
					if a.since > n {
						continue
					}
					if diff := cmp.Diff(before[a.before], rowsOf(t, db, a.after)); diff != "" {
						t.Errorf("%s\narrived as\n%s:\n%s", a.before, a.after, diff)
					}
				}
				sound(t, where)
				if !strings.HasPrefix(where, "postgres://") {
					if broken := rowsOf(t, db, "PRAGMA foreign_key_check"); len(broken) > 0 {
						t.Errorf("references that lead nowhere: %v", broken)
					}
				}
				mouldsArrived(t, s, db)
				sheetsArrived(t, s)
				if n == 2 {
					designsArrived(t, s)
				}
				goesOn(t, s, n)
			})
		})
	}
}

func mouldsArrived(t *testing.T, s *studio.Studio, db *sql.DB) {
	t.Helper()
	ctx := t.Context()
	for query, want := range map[string]string{"creme": "Crème fraîche", "FRAÎCHE": "Crème fraîche"} {
		if p := must(t, func() (studio.Page[studio.Record[mould.Mould]], error) {
			return s.Moulds.ListArchived(ctx, query, studio.Slice{})
		}); len(p.Items) != 1 || p.Items[0].Name != want {
			t.Errorf("%q finds %v", query, names(p))
		}
	}
	for query, want := range map[string]int{"größe": 1, "GRÖẞE iv": 1, "grosse": 0} { // simple folding keeps the length
		if p := must(t, func() (studio.Page[studio.Record[mould.Mould]], error) {
			return s.Moulds.List(ctx, query, studio.Slice{})
		}); p.Total != want {
			t.Errorf("%q finds %v", query, names(p))
		}
	}
	// The search key is the one that the program makes today.
	for _, row := range rowsOf(t, db, `SELECT name, search_key FROM record WHERE kind = 'mould'`) {
		name, key, _ := strings.Cut(row, " | ")
		if key != studio.SearchKey(name) {
			t.Errorf("%q is searched as %q, want %q", name, key, studio.SearchKey(name))
		}
	}
	tub := must(t, func() (studio.Record[mould.Mould], error) { return s.Moulds.Get(ctx, "mould-tub") })
	if tub.Newest.N != 1 || tub.Newest.Doc.WidthMM.V != 80.1 || tub.Archived() {
		t.Errorf("the tub is %+v", tub)
	}
	// It goes on as a versioned record.
	m := tub.Newest.Doc
	m.Sets = 4
	if v := must(t, func() (studio.Version[mould.Mould], error) { return s.Moulds.Keep(ctx, tub.ID, 1, m, "") }); v.N != 2 {
		t.Errorf("the next version of a mould is %d, want 2", v.N)
	}
}

func sheetsArrived(t *testing.T, s *studio.Studio) {
	t.Helper()
	for _, want := range []struct {
		code, id string
		size     studio.Size
		mass     quantity.Milligrams
		moulds   []string
		working  string
	}{
		{"0041", "sheet-worked", studio.Size{By: studio.ByMould, MouldID: "mould-away", Pieces: 7, FillPct: 100.0 / 3}, 1_234_500, []string{"mould-away"},
			`{"Batter":{"MassG":1234.5,"VolumeML":1},"note":"ø"}`},
		{"0042", "sheet-batter", studio.Size{By: studio.ByBatter, BatterG: 1500.25}, 1_500_250, nil, `{"of": "another shape"}`},
		{"0043", "sheet-fats", studio.Size{By: studio.ByFats, FatsG: 0.30000000000000004}, 0, nil, `[1, 2]`},
		{"0044", "sheet-tiny", studio.Size{By: studio.ByFats, FatsG: 1}, 0, nil, `{"Batter":{"MassG":0.0001}}`},
	} {
		run := must(t, func() (studio.Run, error) { return s.Run(t.Context(), want.code) })
		if run.ID != want.id || run.Date.String() != "2026-03-04" || run.OveragePct != 0 || run.Stock != nil || !run.Alone() ||
			string(run.Working) != want.working {
			t.Errorf("%s is %+v", want.code, run)
		}
		if diff := cmp.Diff(&want.size, run.Size); diff != "" {
			t.Errorf("%s: %s", want.code, diff)
		}
		batch := studio.Batch{ID: want.id + ".A", Code: want.code, N: 1, FormulaID: fixtureFormula, FormulaN: 2, FormulaName: "Storm lantern, dimmed",
			Mass: want.mass}
		if diff := cmp.Diff([]studio.Batch{batch}, run.Batches); diff != "" {
			t.Errorf("%s: %s", want.code, diff)
		}
		if diff := cmp.Diff(want.moulds, run.MouldIDs); diff != "" {
			t.Errorf("%s: %s", want.code, diff)
		}
	}
}

func designsArrived(t *testing.T, s *studio.Studio) {
	t.Helper()
	ctx := t.Context()
	run := must(t, func() (studio.Run, error) { return s.Run(ctx, "0057-AD") })
	if run.ID != "run-many" || len(run.Batches) != 30 || run.Size != nil || run.OveragePct != 0.1 || len(run.Designs) != 1 || run.Designs[0].N != 1 {
		t.Fatalf("the run of thirty batches is %+v", run)
	}
	for i, b := range run.Batches {
		letter := words.Letters(i)
		want := studio.Batch{ID: "run-many." + letter, Code: "0057-" + letter, N: i + 1, FormulaID: fixtureFormula, FormulaN: 1,
			FormulaName: "Storm lantern", Mass: oldMassMG(i)}
		if diff := cmp.Diff(want, b); diff != "" {
			t.Error(diff)
		}
	}
	if cast := must(t, func() (studio.Run, error) { return s.Run(ctx, "0056") }); len(cast.Batches) != 0 || cast.Alone() || len(cast.MouldIDs) != 0 {
		t.Errorf("the run without batches is %+v", cast)
	}
	got := must(t, func() ([]string, error) { return s.UsedIDs(ctx, studio.KindItem) })
	if diff := cmp.Diff([]string{"Grüne Perlen", "glass beads", "paper band"}, got); diff != "" {
		t.Errorf("items in use:\n%s", diff)
	}
	if u := uses(t, s, studio.KindItem, "sea salt"); len(u) != 1 || u[0].ID != "design-salt" || u[0].N != 1 || u[0].Newest {
		t.Errorf("sea salt is used in %+v", u)
	}
	if u := uses(t, s, studio.KindItem, "paper band"); len(u) != 3 || u[1].Name != "Salt light" || u[1].N != 2 || !u[1].Newest {
		t.Errorf("the paper band is used in %+v", u)
	}
	// What stands on a record is still in its way.
	refused(t, s.Moulds.Archive(ctx, fixtureMould), fault.Conflict, "", "“Salt light”")
}

// goesOn checks that an id that was used once still counts once, and that codes
// go on from the highest.
func goesOn(t *testing.T, s *studio.Studio, n int) {
	t.Helper()
	ctx := t.Context()
	olds := map[string]string{"sheet-worked": "0041", "sheet-tiny": "0044"}
	next := "0045"
	if n == 2 {
		olds["run-many"] = "0057"
		next = "0058"
	}
	for id, code := range olds {
		again := must(t, func() (studio.Run, error) {
			return s.MakeRun(studio.Once(ctx, id), alone(fixtureFormula, 2, studio.Size{FatsG: 500}))
		})
		if diff := cmp.Diff(must(t, func() (studio.Run, error) { return s.Run(ctx, code) }), again); diff != "" {
			t.Errorf("%s sent again gives another run:\n%s", id, diff)
		}
		_, err := s.Formulas.New(studio.Once(ctx, id), studio.Formula{Formula: lantern("Under an old id"), Kept: worked()}, "")
		refused(t, err, fault.Conflict, "")
	}
	if got := mustMake(t, s, alone(fixtureFormula, 2, studio.Size{FatsG: 500})); got.Code != next {
		t.Errorf("the next code is %s, want %s", got.Code, next)
	}
}

// The copy that is made before an older studio is brought up to date is the
// studio as it was.
func TestABackupOfAnOlderStudioIsThatForm(t *testing.T) {
	for n := 1; n <= 2; n++ {
		dir := sqliteWhere(t)
		before := oldStudio(t, dir, n)
		opened(t, dir)
		opened(t, dir)
		copies := backups(t, dir)
		if len(copies) != 1 {
			t.Fatalf("form %d: backups %v, want one", n, copies)
		}
		back := sqliteWhere(t)
		b, err := os.ReadFile(copies[0])
		if err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(back, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(back, "studio.db"), b, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := store.OpenAs(t.Context(), back, n)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(before, snapshot(t, s.DB(), n)); diff != "" {
			t.Errorf("form %d: %s", n, diff)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		// And it can be brought up to date in its turn.
		sheetsArrived(t, opened(t, back))
	}
}

// A batch of an old run whose mass no batch can have arrives without one.
func TestAnImpossibleMassArrivesAsUnknown(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		oldStudio(t, where, 2)
		s, err := store.OpenAs(t.Context(), where, 2)
		if err != nil {
			t.Fatal(err)
		}
		for letter, g := range map[string]float64{"A": 1e9 + 1, "B": 1e300, "C": 1e9} {
			if _, err := s.DB().Exec(`UPDATE run_batch SET mass_g = $1 WHERE run_id = 'run-many' AND letter = $2`, g, letter); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		run := must(t, func() (studio.Run, error) { return opened(t, where).Run(t.Context(), "0057") })
		for i, want := range []quantity.Milligrams{0, 0, 1_000_000_000_000, 300} {
			if run.Batches[i].Mass != want {
				t.Errorf("batch %s has %d mg, want %d", run.Batches[i].Code, run.Batches[i].Mass, want)
			}
		}
	})
}

// A studio that was brought up to date has the tables and the indexes that a
// fresh one has.
func TestAnOlderStudioEndsInTheShapeOfAFreshOne(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		postgres := strings.HasPrefix(where, "postgres://")
		fresh := map[bool]func(testing.TB) string{true: postgresWhere, false: sqliteWhere}[postgres](t)
		oldStudio(t, where, 2)
		query := `SELECT m.type, m.name, p.name, p.type, p."notnull", p.pk FROM sqlite_master m LEFT JOIN pragma_table_info(m.name) p ON m.type = 'table'
			WHERE m.name NOT LIKE 'sqlite_%'`
		if postgres {
			query = `SELECT c.table_name, c.column_name, c.data_type, c.is_nullable FROM information_schema.columns c WHERE c.table_schema = current_schema()`
		}
		opened(t, where)
		opened(t, fresh)
		want := rowsOf(t, raw(t, fresh), query)
		if len(want) < 20 {
			t.Fatalf("a fresh studio has %d columns: this test has tested nothing", len(want))
		}
		if diff := cmp.Diff(want, rowsOf(t, raw(t, where), query)); diff != "" {
			t.Error(diff)
		}
	})
}
