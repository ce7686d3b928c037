package store

import (
	"context"

	"barwright/studio"
)

const selectRevision = `SELECT revision FROM ingredient_revision WHERE one = 1`

func (t *tx) IngredientRevision(ctx context.Context) (n int, err error) {
	err = t.QueryRowContext(ctx, selectRevision).Scan(&n)
	return n, err
}

const raiseRevision = `UPDATE ingredient_revision SET revision = revision + 1 WHERE one = 1`

const selectIngredients = `SELECT id, format, document, changed_at FROM ingredient`

func (t *tx) Ingredients(ctx context.Context) ([]studio.IngredientRow, error) {
	rows, err := t.QueryContext(ctx, selectIngredients)
	return all(rows, err, func(row scanner) (e studio.IngredientRow, err error) {
		var changedAt string
		if err := row.Scan(&e.ID, &e.Entry.Format, &e.Entry.Body, &changedAt); err != nil {
			return e, err
		}
		e.ChangedAt, err = parseWhen(changedAt)
		return e, err
	})
}

const upsertIngredient = `
	INSERT INTO ingredient (id, format, document, changed_at) VALUES ($1, $2, $3, $4)
	ON CONFLICT (id) DO UPDATE SET format = excluded.format, document = excluded.document, changed_at = excluded.changed_at`

func (t *tx) PutIngredient(ctx context.Context, e studio.IngredientRow) error {
	if _, err := t.ExecContext(ctx, upsertIngredient, e.ID, e.Entry.Format, string(e.Entry.Body), when(e.ChangedAt)); err != nil {
		return err
	}
	_, err := t.ExecContext(ctx, raiseRevision)
	return err
}

const deleteIngredient = `DELETE FROM ingredient WHERE id = $1 RETURNING id`

func (t *tx) RemoveIngredient(ctx context.Context, id string) error {
	if err := t.QueryRowContext(ctx, deleteIngredient, id).Scan(&id); err != nil {
		return none(err)
	}
	_, err := t.ExecContext(ctx, raiseRevision)
	return err
}
