package store

import (
	"context"
	"database/sql"
	"fmt"

	"barwright/quantity"
	"barwright/studio"
)

const takeNumber = `UPDATE counter SET value = value + 1 WHERE name = 'run' RETURNING value`

func (t *tx) NextNumber(ctx context.Context) (n int, err error) {
	err = t.QueryRowContext(ctx, takeNumber).Scan(&n)
	return n, err
}

const runColumns = `r.id, r.number, r.code, r.made_on, r.made_at, r.format, r.asked`

const (
	selectRunByID   = `SELECT ` + runColumns + `, r.working FROM run r WHERE r.id = $1`
	selectRunByCode = `SELECT ` + runColumns + `, r.working FROM run r
		WHERE r.code = $1 OR r.id = (SELECT b.run_id FROM batch b WHERE b.code = $1)`
)

func scanRun(row scanner, more ...any) (r studio.RunRow, err error) {
	var madeOn, madeAt string
	dest := []any{&r.ID, &r.Number, &r.Code, &madeOn, &madeAt, &r.Asked.Format, &r.Asked.Body}
	if err := row.Scan(append(dest, more...)...); err != nil {
		return r, none(err)
	}
	if r.Date, err = quantity.ParseDate(madeOn); err != nil {
		return r, fmt.Errorf("date in the store: %w", err)
	}
	r.MadeAt, err = parseWhen(madeAt)
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
	if !storable(code) {
		return studio.RunRow{}, studio.ErrNone
	}
	return t.run(ctx, selectRunByCode, code)
}

// The page and the count share their conditions.
const (
	fromRuns      = ` FROM run r WHERE 1 = 1`
	ofFormula     = ` AND r.id IN (SELECT b.run_id FROM batch b WHERE b.formula_id = ?)`
	ofDesign      = ` AND r.id IN (SELECT d.run_id FROM run_design d WHERE d.design_id = ?)`
	withoutDesign = ` AND NOT EXISTS (SELECT 1 FROM run_design d WHERE d.run_id = r.id)`
	orderRuns     = ` ORDER BY r.number DESC LIMIT ? OFFSET ?`
)

func (t *tx) RunPage(ctx context.Context, q studio.RunQuery) ([]studio.RunRow, int, error) {
	where, args := fromRuns, []any(nil)
	if q.FormulaID != "" {
		where, args = where+ofFormula, append(args, q.FormulaID)
	}
	if q.DesignID != "" {
		where, args = where+ofDesign, append(args, q.DesignID)
	}
	if q.Alone {
		where += withoutDesign
	}
	var total int
	if err := t.QueryRowContext(ctx, numbered(countRows+where), args...).Scan(&total); err != nil {
		return nil, 0, err
	}
	rows, err := t.QueryContext(ctx, numbered(`SELECT `+runColumns+where+orderRuns), append(args, q.Limit, q.Offset)...)
	out, err := all(rows, err, func(row scanner) (studio.RunRow, error) { return scanRun(row) })
	if err != nil {
		return nil, 0, err
	}
	return out, total, t.withParts(ctx, out)
}

const (
	selectRunDesigns = `SELECT run_id, design_id, n, design_name, pieces, made FROM run_design WHERE run_id IN `
	orderRunDesigns  = ` ORDER BY run_id, place`
	selectBatches    = `SELECT run_id, id, code, n, formula_id, formula_n, formula_name, mass_mg FROM batch WHERE run_id IN `
	orderBatches     = ` ORDER BY run_id, n`
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
	if _, err := listed(ctx, t, selectBatches, orderBatches, ids, func(row scanner) (_ nothing, err error) {
		var id string
		var b studio.Batch
		var mass sql.NullInt64
		if err = row.Scan(&id, &b.ID, &b.Code, &b.N, &b.FormulaID, &b.FormulaN, &b.FormulaName, &mass); err == nil {
			b.Mass = quantity.Milligrams(mass.Int64)
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
		INSERT INTO run (id, number, code, made_on, made_at, format, asked, working)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`
	insertRunDesign = `
		INSERT INTO run_design (run_id, place, design_id, n, design_name, pieces, made)
		VALUES ($1, $2, $3, $4, $5, $6, $7)`
	insertBatch = `
		INSERT INTO batch (id, code, run_id, n, formula_id, formula_n, formula_name, mass_mg)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`
	insertRunMould = `INSERT INTO run_mould (run_id, mould_id) VALUES ($1, $2)`
)

func (t *tx) AddRun(ctx context.Context, r studio.RunRow) error {
	if _, err := t.ExecContext(ctx, insertRun, r.ID, r.Number, r.Code, r.Date.String(), when(r.MadeAt), r.Asked.Format, string(r.Asked.Body),
		string(r.Working)); err != nil {
		return err
	}
	for i, d := range r.Designs {
		if _, err := t.ExecContext(ctx, insertRunDesign, r.ID, i+1, d.DesignID, d.N, d.Name, d.Pieces, d.Made); err != nil {
			return err
		}
	}
	for _, b := range r.Batches {
		mass := sql.NullInt64{Int64: int64(b.Mass), Valid: b.Mass > 0}
		if _, err := t.ExecContext(ctx, insertBatch, b.ID, b.Code, r.ID, b.N, b.FormulaID, b.FormulaN, b.FormulaName, mass); err != nil {
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

const (
	selectDone = `SELECT id, what, digest, result, n, done_at FROM done WHERE id = $1`
	insertDone = `INSERT INTO done (id, what, digest, result, n, done_at) VALUES ($1, $2, $3, $4, $5, $6)`
)

func (t *tx) Done(ctx context.Context, id string) (d studio.DoneRow, err error) {
	var at string
	if err := t.QueryRowContext(ctx, selectDone, id).Scan(&d.ID, &d.What, &d.Digest, &d.Result, &d.N, &at); err != nil {
		return d, none(err)
	}
	d.At, err = parseWhen(at)
	return d, err
}

func (t *tx) AddDone(ctx context.Context, d studio.DoneRow) error {
	_, err := t.ExecContext(ctx, insertDone, d.ID, d.What, d.Digest, d.Result, d.N, when(d.At))
	return err
}
