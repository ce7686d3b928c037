package store

import (
	"context"
	"database/sql"

	"barwright/studio"
)

const mouldColumns = `id, name, name_key, format, document, changed_at, put_away_at`

const selectMould = `SELECT ` + mouldColumns + ` FROM mould WHERE id = $1`

const selectMoulds = `SELECT ` + mouldColumns + ` FROM mould`

func scanMould(row scanner) (m studio.MouldRow, err error) {
	var changedAt string
	var putAwayAt sql.NullString
	if err := row.Scan(&m.ID, &m.Name, &m.NameKey, &m.Mould.Format, &m.Mould.Body, &changedAt, &putAwayAt); err != nil {
		return m, none(err)
	}
	if m.ChangedAt, err = parseWhen(changedAt); err != nil {
		return m, err
	}
	m.PutAwayAt, err = parseWhenSet(putAwayAt)
	return m, err
}

func (t *tx) Mould(ctx context.Context, id string) (studio.MouldRow, error) {
	return scanMould(t.QueryRowContext(ctx, selectMould, id))
}

func (t *tx) Moulds(ctx context.Context) ([]studio.MouldRow, error) {
	rows, err := t.QueryContext(ctx, selectMoulds)
	return all(rows, err, scanMould)
}

const upsertMould = `
	INSERT INTO mould (id, name, name_key, format, document, changed_at, put_away_at)
	VALUES ($1, $2, $3, $4, $5, $6, $7)
	ON CONFLICT (id) DO UPDATE SET name = excluded.name, name_key = excluded.name_key, format = excluded.format,
	    document = excluded.document, changed_at = excluded.changed_at, put_away_at = excluded.put_away_at`

func (t *tx) PutMould(ctx context.Context, m studio.MouldRow) error {
	_, err := t.ExecContext(ctx, upsertMould, m.ID, m.Name, m.NameKey, m.Mould.Format, string(m.Mould.Body), when(m.ChangedAt), whenSet(m.PutAwayAt))
	return err
}
