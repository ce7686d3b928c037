package store

import (
	"context"

	"barwright/studio"
)

const selectRevision = `SELECT revision FROM entry_revision WHERE one = 1`

func (t *tx) EntryRevision(ctx context.Context) (n int, err error) {
	err = t.QueryRowContext(ctx, selectRevision).Scan(&n)
	return n, err
}

const raiseRevision = `UPDATE entry_revision SET revision = revision + 1 WHERE one = 1`

const selectEntries = `SELECT id, format, document, changed_at FROM entry`

func (t *tx) Entries(ctx context.Context) ([]studio.EntryRow, error) {
	rows, err := t.QueryContext(ctx, selectEntries)
	return all(rows, err, func(row scanner) (e studio.EntryRow, err error) {
		var changedAt string
		if err := row.Scan(&e.ID, &e.Entry.Format, &e.Entry.Body, &changedAt); err != nil {
			return e, err
		}
		e.ChangedAt, err = parseWhen(changedAt)
		return e, err
	})
}

const upsertEntry = `
	INSERT INTO entry (id, format, document, changed_at) VALUES ($1, $2, $3, $4)
	ON CONFLICT (id) DO UPDATE SET format = excluded.format, document = excluded.document, changed_at = excluded.changed_at`

func (t *tx) PutEntry(ctx context.Context, e studio.EntryRow) error {
	if _, err := t.ExecContext(ctx, upsertEntry, e.ID, e.Entry.Format, string(e.Entry.Body), when(e.ChangedAt)); err != nil {
		return err
	}
	_, err := t.ExecContext(ctx, raiseRevision)
	return err
}

const deleteEntry = `DELETE FROM entry WHERE id = $1 RETURNING id`

func (t *tx) RemoveEntry(ctx context.Context, id string) error {
	if err := t.QueryRowContext(ctx, deleteEntry, id).Scan(&id); err != nil {
		return none(err)
	}
	_, err := t.ExecContext(ctx, raiseRevision)
	return err
}
