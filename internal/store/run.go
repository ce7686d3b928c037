package store

import (
	"context"
	"database/sql"
	"fmt"

	"barwright/quantity"
	"barwright/studio"
)

const takeNumber = `UPDATE counter SET value = value + 1 WHERE name = 'run' RETURNING value`

func (t *tx) NextNumber(ctx context.Context) (int, error) {
	return one(ctx, t, column[int], takeNumber)
}

const runColumns = `r.id, r.number, r.code, r.made_on, r.made_at, r.format, r.asked`

const (
	selectRunByID   = `SELECT ` + runColumns + `, r.working FROM run r WHERE r.id = $1`
	selectRunByCode = `SELECT ` + runColumns + `, r.working FROM run r
		WHERE r.code = $1 OR r.id = (SELECT b.run_id FROM batch b WHERE b.code = $1)`
)

// runTo gives where a row of runColumns is read to.
func runTo(r *studio.RunRow) []any {
	madeOn := textTo(func(s string) (err error) {
		if r.Date, err = quantity.ParseDate(s); err != nil {
			return fmt.Errorf("date in the store: %w", err)
		}
		return nil
	})
	return []any{&r.ID, &r.Number, &r.Code, madeOn, whenTo(&r.MadeAt), &r.Document.Format, &r.Document.Body}
}

func (t *tx) run(ctx context.Context, query, arg string) (studio.RunRow, error) {
	r, err := one(ctx, t, func(r *studio.RunRow) []any { return append(runTo(r), (*[]byte)(&r.Working)) }, query, arg)
	if err != nil {
		return r, err
	}
	runs := []studio.RunRow{r}
	err = t.withParts(ctx, runs)
	return runs[0], err
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
	total, err := one(ctx, t, column[int], numbered(countRows+where), args...)
	if err != nil {
		return nil, 0, err
	}
	out, err := all(ctx, t, runTo, numbered(`SELECT `+runColumns+where+orderRuns), append(args, q.Limit, q.Offset)...)
	if err != nil {
		return nil, 0, err
	}
	return out, total, t.withParts(ctx, out)
}

const (
	selectRunDesigns = `SELECT run_id, design_id, n, design_name, pieces, made FROM run_design WHERE run_id IN `
	orderRunDesigns  = ` ORDER BY run_id, place`
	selectBatches    = `SELECT run_id, id, code, n, formula_id, formula_n, formula_name, COALESCE(mass_mg, 0) FROM batch WHERE run_id IN `
	orderBatches     = ` ORDER BY run_id, n`
	selectRunMoulds  = `SELECT run_id, mould_id FROM run_mould WHERE run_id IN `
	orderRunMoulds   = ` ORDER BY run_id, mould_id`
)

// withParts reads the designs, batches and moulds of runs into them.
func (t *tx) withParts(ctx context.Context, runs []studio.RunRow) error {
	ids := make([]string, len(runs))
	for i := range runs {
		ids[i] = runs[i].ID
	}
	designs, err := partsOf(ctx, t, func(d *studio.RunDesign) []any {
		return []any{&d.DesignID, &d.N, &d.Name, &d.Pieces, &d.Made}
	}, selectRunDesigns, orderRunDesigns, ids)
	if err != nil {
		return err
	}
	batches, err := partsOf(ctx, t, func(b *studio.Batch) []any {
		return []any{&b.ID, &b.Code, &b.N, &b.FormulaID, &b.FormulaN, &b.FormulaName, &b.Mass}
	}, selectBatches, orderBatches, ids)
	if err != nil {
		return err
	}
	moulds, err := partsOf(ctx, t, column[string], selectRunMoulds, orderRunMoulds, ids)
	for i := range runs {
		r := &runs[i]
		r.Designs, r.Batches, r.MouldIDs = designs[r.ID], batches[r.ID], moulds[r.ID]
	}
	return err
}

// partsOf reads one kind of parts of runs, by run. The run's id is the first column.
func partsOf[T any](ctx context.Context, t *tx, to func(*T) []any, statement, order string, ids []string) (map[string][]T, error) {
	type part struct {
		run string
		is  T
	}
	parts, err := listed(ctx, t, func(p *part) []any { return append([]any{&p.run}, to(&p.is)...) }, statement, order, ids)
	out := map[string][]T{}
	for _, p := range parts {
		out[p.run] = append(out[p.run], p.is)
	}
	return out, err
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
	if err := t.exec(ctx, insertRun, r.ID, r.Number, r.Code, r.Date.String(), when(r.MadeAt), r.Document.Format, string(r.Document.Body),
		string(r.Working)); err != nil {
		return err
	}
	for i, d := range r.Designs {
		if err := t.exec(ctx, insertRunDesign, r.ID, i+1, d.DesignID, d.N, d.Name, d.Pieces, d.Made); err != nil {
			return err
		}
	}
	for _, b := range r.Batches {
		mass := sql.NullInt64{Int64: int64(b.Mass), Valid: b.Mass > 0}
		if err := t.exec(ctx, insertBatch, b.ID, b.Code, r.ID, b.N, b.FormulaID, b.FormulaN, b.FormulaName, mass); err != nil {
			return err
		}
	}
	for _, id := range r.MouldIDs {
		if err := t.exec(ctx, insertRunMould, r.ID, id); err != nil {
			return err
		}
	}
	return nil
}

const (
	selectDone = `SELECT id, what, digest, result, n, done_at FROM done WHERE id = $1`
	insertDone = `INSERT INTO done (id, what, digest, result, n, done_at) VALUES ($1, $2, $3, $4, $5, $6)`
)

func (t *tx) Done(ctx context.Context, id string) (studio.DoneRow, error) {
	return one(ctx, t, func(d *studio.DoneRow) []any { return []any{&d.ID, &d.What, &d.Digest, &d.Result, &d.N, whenTo(&d.At)} }, selectDone, id)
}

func (t *tx) AddDone(ctx context.Context, d studio.DoneRow) error {
	return t.exec(ctx, insertDone, d.ID, d.What, d.Digest, d.Result, d.N, when(d.At))
}
