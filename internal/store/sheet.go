package store

import (
	"context"
	"database/sql"

	"barwright/studio"
)

const sheetColumns = `id, number, code, formula_id, n, formula_name, mould_id, taken_on, taken_at, format, size`

// Sheets and runs are numbered in one sequence.
const selectLastNumber = `
	SELECT COALESCE(MAX(number), 0) FROM (SELECT MAX(number) AS number FROM sheet UNION ALL SELECT MAX(number) FROM run) taken`

func (t *tx) LastNumber(ctx context.Context) (n int, err error) {
	err = t.QueryRowContext(ctx, selectLastNumber).Scan(&n)
	return n, err
}

const (
	selectSheetByID   = `SELECT ` + sheetColumns + `, working FROM sheet WHERE id = $1`
	selectSheetByCode = `SELECT ` + sheetColumns + `, working FROM sheet WHERE code = $1`
)

func scanSheet(row scanner, more ...any) (s studio.SheetRow, err error) {
	var mouldID sql.NullString
	var takenAt string
	dest := []any{&s.ID, &s.Number, &s.Code, &s.FormulaID, &s.N, &s.FormulaName, &mouldID, &s.Date, &takenAt, &s.Size.Format, &s.Size.Body}
	if err := row.Scan(append(dest, more...)...); err != nil {
		return s, none(err)
	}
	s.MouldID = mouldID.String
	s.TakenAt, err = parseWhen(takenAt)
	return s, err
}

func (t *tx) sheet(ctx context.Context, query, arg string) (studio.SheetRow, error) {
	var working []byte
	s, err := scanSheet(t.QueryRowContext(ctx, query, arg), &working)
	s.Working = working
	return s, err
}

func (t *tx) SheetByID(ctx context.Context, id string) (studio.SheetRow, error) {
	return t.sheet(ctx, selectSheetByID, id)
}

func (t *tx) SheetByCode(ctx context.Context, code string) (studio.SheetRow, error) {
	return t.sheet(ctx, selectSheetByCode, code)
}

const (
	countSheets   = `SELECT COUNT(*) FROM sheet`
	countSheetsOf = `SELECT COUNT(*) FROM sheet WHERE formula_id = $1`

	selectSheets   = `SELECT ` + sheetColumns + ` FROM sheet ORDER BY number DESC LIMIT $1 OFFSET $2`
	selectSheetsOf = `SELECT ` + sheetColumns + ` FROM sheet WHERE formula_id = $1 ORDER BY number DESC LIMIT $2 OFFSET $3`
)

func (t *tx) SheetPage(ctx context.Context, formulaID string, limit, offset int) ([]studio.SheetRow, int, error) {
	count, page, of := countSheets, selectSheets, []any{}
	if formulaID != "" {
		count, page, of = countSheetsOf, selectSheetsOf, []any{formulaID}
	}
	var total int
	if err := t.QueryRowContext(ctx, count, of...).Scan(&total); err != nil {
		return nil, 0, err
	}
	rows, err := t.QueryContext(ctx, page, append(of, limit, offset)...)
	out, err := all(rows, err, func(row scanner) (studio.SheetRow, error) { return scanSheet(row) })
	return out, total, err
}

const insertSheet = `
	INSERT INTO sheet (id, number, code, formula_id, n, formula_name, mould_id, taken_on, taken_at, format, size, working)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`

func (t *tx) AddSheet(ctx context.Context, s studio.SheetRow) error {
	_, err := t.ExecContext(ctx, insertSheet, s.ID, s.Number, s.Code, s.FormulaID, s.N, s.FormulaName,
		sql.NullString{String: s.MouldID, Valid: s.MouldID != ""}, s.Date, when(s.TakenAt), s.Size.Format, string(s.Size.Body), string(s.Working))
	return err
}

const (
	countTaken = `SELECT (SELECT COUNT(*) FROM sheet) + (SELECT COUNT(*) FROM run)`

	// A page is all that was taken down from one number to another.
	selectTakenSpan = `
		SELECT COALESCE(MIN(number), 0), COALESCE(MAX(number), 0) FROM (
		    SELECT number FROM sheet UNION ALL SELECT number FROM run ORDER BY number DESC LIMIT $1 OFFSET $2) taken`

	selectSheetSpan = `SELECT ` + sheetColumns + ` FROM sheet WHERE number BETWEEN $1 AND $2 ORDER BY number DESC`
)

func (t *tx) TakenPage(ctx context.Context, limit, offset int) ([]studio.SheetRow, []studio.RunRow, int, error) {
	var total, low, high int
	if err := t.QueryRowContext(ctx, countTaken).Scan(&total); err != nil {
		return nil, nil, 0, err
	}
	if err := t.QueryRowContext(ctx, selectTakenSpan, limit, offset).Scan(&low, &high); err != nil {
		return nil, nil, 0, err
	}
	rows, err := t.QueryContext(ctx, selectSheetSpan, low, high)
	sheets, err := all(rows, err, func(row scanner) (studio.SheetRow, error) { return scanSheet(row) })
	if err != nil {
		return nil, nil, 0, err
	}
	rows, err = t.QueryContext(ctx, selectRunSpan, low, high)
	runs, err := all(rows, err, func(row scanner) (studio.RunRow, error) { return scanRun(row) })
	if err != nil {
		return nil, nil, 0, err
	}
	return sheets, runs, total, t.withParts(ctx, runs)
}
