package store

import (
	"context"

	"barwright/studio"
)

const selectRevision = `SELECT revision FROM ingredient_revision WHERE one = 1`

func (t *tx) IngredientRevision(ctx context.Context) (int, error) {
	return one(ctx, t, column[int], selectRevision)
}

const raiseRevision = `UPDATE ingredient_revision SET revision = revision + 1 WHERE one = 1`

const selectIngredients = `SELECT id, format, document, changed_at FROM ingredient`

func (t *tx) Ingredients(ctx context.Context) ([]studio.IngredientRow, error) {
	return all(ctx, t, func(e *studio.IngredientRow) []any {
		return []any{&e.ID, &e.Entry.Format, &e.Entry.Body, whenTo(&e.ChangedAt)}
	}, selectIngredients)
}

const upsertIngredient = `
	INSERT INTO ingredient (id, format, document, changed_at) VALUES ($1, $2, $3, $4)
	ON CONFLICT (id) DO UPDATE SET format = excluded.format, document = excluded.document, changed_at = excluded.changed_at`

func (t *tx) PutIngredient(ctx context.Context, e studio.IngredientRow) error {
	if err := t.exec(ctx, upsertIngredient, e.ID, e.Entry.Format, string(e.Entry.Body), when(e.ChangedAt)); err != nil {
		return err
	}
	return t.exec(ctx, raiseRevision)
}

const deleteIngredient = `DELETE FROM ingredient WHERE id = $1 RETURNING id`

func (t *tx) RemoveIngredient(ctx context.Context, id string) error {
	if _, err := one(ctx, t, column[string], deleteIngredient, id); err != nil {
		return err
	}
	return t.exec(ctx, raiseRevision)
}
