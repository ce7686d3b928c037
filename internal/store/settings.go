package store

import (
	"context"
	"time"

	"barwright/studio"
)

const selectSettings = `SELECT format, document FROM settings WHERE one = 1`

func (t *tx) Settings(ctx context.Context) (studio.Document, error) {
	return one(ctx, t, func(d *studio.Document) []any { return []any{&d.Format, &d.Body} }, selectSettings)
}

const upsertSettings = `
	INSERT INTO settings (one, format, document, changed_at) VALUES (1, $1, $2, $3)
	ON CONFLICT (one) DO UPDATE SET format = excluded.format, document = excluded.document, changed_at = excluded.changed_at`

func (t *tx) PutSettings(ctx context.Context, d studio.Document, changedAt time.Time) error {
	return t.exec(ctx, upsertSettings, d.Format, string(d.Body), when(changedAt))
}
