package store

import (
	"context"
	"time"

	"barwright/studio"
)

const selectSettings = `SELECT format, document FROM settings WHERE one = 1`

func (t *tx) Settings(ctx context.Context) (d studio.Document, err error) {
	err = t.QueryRowContext(ctx, selectSettings).Scan(&d.Format, &d.Body)
	return d, none(err)
}

const upsertSettings = `
	INSERT INTO settings (one, format, document, changed_at) VALUES (1, $1, $2, $3)
	ON CONFLICT (one) DO UPDATE SET format = excluded.format, document = excluded.document, changed_at = excluded.changed_at`

func (t *tx) PutSettings(ctx context.Context, d studio.Document, changedAt time.Time) error {
	_, err := t.ExecContext(ctx, upsertSettings, d.Format, string(d.Body), when(changedAt))
	return err
}
