package store

import (
	"context"

	"barwright/studio"
)

const runColumns = `r.id, r.number, r.code, r.taken_on, r.taken_at, r.format, r.asked`

const (
	selectRunByID   = `SELECT ` + runColumns + `, r.working FROM run r WHERE r.id = $1`
	selectRunByCode = `SELECT ` + runColumns + `, r.working FROM run r WHERE r.code = $1`
	selectRunSpan   = `SELECT ` + runColumns + ` FROM run r WHERE r.number BETWEEN $1 AND $2 ORDER BY r.number DESC`
)

func scanRun(row scanner, more ...any) (r studio.RunRow, err error) {
	var takenAt string
	dest := []any{&r.ID, &r.Number, &r.Code, &r.Date, &takenAt, &r.Asked.Format, &r.Asked.Body}
	if err := row.Scan(append(dest, more...)...); err != nil {
		return r, none(err)
	}
	r.TakenAt, err = parseWhen(takenAt)
	return r, err
}

func (t *tx) run(ctx context.Context, query, arg string) (studio.RunRow, error) {
	var working []byte
	r, err := scanRun(t.QueryRowContext(ctx, query, arg), &working)
	if err != nil {
		return r, err
	}
	r.Working = working
	one := []studio.RunRow{r}
	err = t.withParts(ctx, one)
	return one[0], err
}

func (t *tx) RunByID(ctx context.Context, id string) (studio.RunRow, error) {
	return t.run(ctx, selectRunByID, id)
}

func (t *tx) RunByCode(ctx context.Context, code string) (studio.RunRow, error) {
	return t.run(ctx, selectRunByCode, code)
}

const (
	countRuns   = `SELECT COUNT(*) FROM run`
	countRunsOf = `SELECT COUNT(*) FROM run_design WHERE design_id = $1`

	selectRuns   = `SELECT ` + runColumns + ` FROM run r ORDER BY r.number DESC LIMIT $1 OFFSET $2`
	selectRunsOf = `SELECT ` + runColumns + ` FROM run r JOIN run_design d ON d.run_id = r.id AND d.design_id = $1 ORDER BY r.number DESC LIMIT $2 OFFSET $3`
)

func (t *tx) RunPage(ctx context.Context, designID string, limit, offset int) ([]studio.RunRow, int, error) {
	count, page, of := countRuns, selectRuns, []any{}
	if designID != "" {
		count, page, of = countRunsOf, selectRunsOf, []any{designID}
	}
	var total int
	if err := t.QueryRowContext(ctx, count, of...).Scan(&total); err != nil {
		return nil, 0, err
	}
	rows, err := t.QueryContext(ctx, page, append(of, limit, offset)...)
	out, err := all(rows, err, func(row scanner) (studio.RunRow, error) { return scanRun(row) })
	if err != nil {
		return nil, 0, err
	}
	return out, total, t.withParts(ctx, out)
}

const (
	selectRunDesigns = `SELECT run_id, design_id, n, design_name, pieces, made FROM run_design WHERE run_id IN `
	orderRunDesigns  = ` ORDER BY run_id, place`
	selectRunBatches = `SELECT run_id, letter, formula_id, n, formula_name, mass_g FROM run_batch WHERE run_id IN `
	orderRunBatches  = ` ORDER BY run_id, LENGTH(letter), letter`
	selectRunMoulds  = `SELECT run_id, mould_id FROM run_mould WHERE run_id IN `
	orderRunMoulds   = ` ORDER BY run_id, mould_id`
)

// withParts reads the designs, batches and moulds of runs into them.
func (t *tx) withParts(ctx context.Context, runs []studio.RunRow) error {
	ids := make([]string, len(runs))
	at := make(map[string]*studio.RunRow, len(runs))
	for i := range runs {
		ids[i] = runs[i].ID
		at[ids[i]] = &runs[i]
	}
	type nothing struct{}
	if _, err := listed(ctx, t, selectRunDesigns, orderRunDesigns, ids, func(row scanner) (_ nothing, err error) {
		var id string
		var d studio.RunDesign
		if err = row.Scan(&id, &d.DesignID, &d.N, &d.Name, &d.Pieces, &d.Made); err == nil {
			at[id].Designs = append(at[id].Designs, d)
		}
		return
	}); err != nil {
		return err
	}
	if _, err := listed(ctx, t, selectRunBatches, orderRunBatches, ids, func(row scanner) (_ nothing, err error) {
		var id string
		var b studio.RunBatch
		if err = row.Scan(&id, &b.Letter, &b.FormulaID, &b.N, &b.FormulaName, &b.MassG); err == nil {
			at[id].Batches = append(at[id].Batches, b)
		}
		return
	}); err != nil {
		return err
	}
	_, err := listed(ctx, t, selectRunMoulds, orderRunMoulds, ids, func(row scanner) (_ nothing, err error) {
		var id, mouldID string
		if err = row.Scan(&id, &mouldID); err == nil {
			at[id].MouldIDs = append(at[id].MouldIDs, mouldID)
		}
		return
	})
	return err
}

const (
	insertRun = `
		INSERT INTO run (id, number, code, taken_on, taken_at, format, asked, working)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`
	insertRunDesign = `
		INSERT INTO run_design (run_id, place, design_id, n, design_name, pieces, made)
		VALUES ($1, $2, $3, $4, $5, $6, $7)`
	insertRunBatch = `
		INSERT INTO run_batch (run_id, letter, formula_id, n, formula_name, mass_g)
		VALUES ($1, $2, $3, $4, $5, $6)`
	insertRunMould = `INSERT INTO run_mould (run_id, mould_id) VALUES ($1, $2)`
)

func (t *tx) AddRun(ctx context.Context, r studio.RunRow) error {
	if _, err := t.ExecContext(ctx, insertRun, r.ID, r.Number, r.Code, r.Date, when(r.TakenAt), r.Asked.Format, string(r.Asked.Body), string(r.Working)); err != nil {
		return err
	}
	for i, d := range r.Designs {
		if _, err := t.ExecContext(ctx, insertRunDesign, r.ID, i+1, d.DesignID, d.N, d.Name, d.Pieces, d.Made); err != nil {
			return err
		}
	}
	for _, b := range r.Batches {
		if _, err := t.ExecContext(ctx, insertRunBatch, r.ID, b.Letter, b.FormulaID, b.N, b.FormulaName, b.MassG); err != nil {
			return err
		}
	}
	for _, id := range r.MouldIDs {
		if _, err := t.ExecContext(ctx, insertRunMould, r.ID, id); err != nil {
			return err
		}
	}
	return nil
}
