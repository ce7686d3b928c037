package store

import (
	"context"
	"database/sql"
	"strconv"
	"strings"

	"barwright/studio"
)

const formulaColumns = `f.id, f.name, f.name_key, f.search_key, f.newest, f.kept_at, f.put_away_at, f.from_id, f.from_n`

const selectFormula = `SELECT ` + formulaColumns + ` FROM formula f WHERE f.id = $1`

const selectLivingFormula = `SELECT ` + formulaColumns + ` FROM formula f WHERE f.name_key = $1 AND f.put_away_at IS NULL`

func formulaTo(f *studio.FormulaRow, more ...any) (dest []any, finish func() error) {
	var keptAt string
	var putAwayAt, fromID sql.NullString
	var fromN sql.NullInt64
	dest = append([]any{&f.ID, &f.Name, &f.NameKey, &f.SearchKey, &f.Newest, &keptAt, &putAwayAt, &fromID, &fromN}, more...)
	return dest, func() (err error) {
		f.FromID, f.FromN = fromID.String, int(fromN.Int64)
		if f.KeptAt, err = parseWhen(keptAt); err != nil {
			return err
		}
		f.PutAwayAt, err = parseWhenSet(putAwayAt)
		return err
	}
}

func scanFormula(row scanner) (f studio.FormulaRow, err error) {
	dest, finish := formulaTo(&f)
	if err := row.Scan(dest...); err != nil {
		return f, none(err)
	}
	return f, finish()
}

func (t *tx) Formula(ctx context.Context, id string) (studio.FormulaRow, error) {
	return scanFormula(t.QueryRowContext(ctx, selectFormula, id))
}

func (t *tx) LivingFormula(ctx context.Context, nameKey string) (studio.FormulaRow, error) {
	return scanFormula(t.QueryRowContext(ctx, selectLivingFormula, nameKey))
}

const insertFormula = `
	INSERT INTO formula (id, name, name_key, search_key, newest, kept_at, put_away_at, from_id, from_n)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`

func (t *tx) AddFormula(ctx context.Context, f studio.FormulaRow) error {
	_, err := t.ExecContext(ctx, insertFormula, f.ID, f.Name, f.NameKey, f.SearchKey, f.Newest, when(f.KeptAt), whenSet(f.PutAwayAt),
		sql.NullString{String: f.FromID, Valid: f.FromID != ""}, sql.NullInt64{Int64: int64(f.FromN), Valid: f.FromID != ""})
	return err
}

// Where a formula came from is not changed.
const updateFormula = `
	UPDATE formula SET name = $2, name_key = $3, search_key = $4, newest = $5, kept_at = $6, put_away_at = $7
	WHERE id = $1
	RETURNING id`

func (t *tx) SetFormula(ctx context.Context, f studio.FormulaRow) error {
	var id string
	return none(t.QueryRowContext(ctx, updateFormula, f.ID, f.Name, f.NameKey, f.SearchKey, f.Newest, when(f.KeptAt), whenSet(f.PutAwayAt)).Scan(&id))
}

const versionColumns = `v.formula_id, v.n, v.kept_at, v.note, v.format, v.document, v.kept`

const selectVersionOf = `SELECT ` + versionColumns + ` FROM formula_version v WHERE v.formula_id = $1 AND v.n = $2`

const selectVersions = `SELECT ` + versionColumns + ` FROM formula_version v WHERE v.formula_id = $1 ORDER BY v.n DESC`

func versionTo(v *studio.VersionRow) (dest []any, finish func() error) {
	var keptAt string
	dest = []any{&v.FormulaID, &v.N, &keptAt, &v.Note, &v.Formula.Format, &v.Formula.Body, &v.Kept.Body}
	return dest, func() (err error) {
		v.Kept.Format = v.Formula.Format
		v.KeptAt, err = parseWhen(keptAt)
		return err
	}
}

func scanVersion(row scanner) (v studio.VersionRow, err error) {
	dest, finish := versionTo(&v)
	if err := row.Scan(dest...); err != nil {
		return v, none(err)
	}
	return v, finish()
}

func (t *tx) Version(ctx context.Context, formulaID string, n int) (studio.VersionRow, error) {
	return scanVersion(t.QueryRowContext(ctx, selectVersionOf, formulaID, n))
}

func (t *tx) Versions(ctx context.Context, formulaID string) ([]studio.VersionRow, error) {
	rows, err := t.QueryContext(ctx, selectVersions, formulaID)
	return all(rows, err, scanVersion)
}

// The newest version of every living formula, or of those listed after it.
const (
	selectNewestLiving = `SELECT ` + versionColumns + ` FROM formula f JOIN formula_version v ON v.formula_id = f.id AND v.n = f.newest WHERE f.put_away_at IS NULL`
	selectNewestOf     = `SELECT ` + versionColumns + ` FROM formula f JOIN formula_version v ON v.formula_id = f.id AND v.n = f.newest WHERE f.id IN `
)

func (t *tx) NewestVersions(ctx context.Context, ids ...string) ([]studio.VersionRow, error) {
	if len(ids) == 0 {
		rows, err := t.QueryContext(ctx, selectNewestLiving)
		return all(rows, err, scanVersion)
	}
	return listed(ctx, t, selectNewestOf, "", ids, scanVersion)
}

const insertVersionOf = `
	INSERT INTO formula_version (formula_id, n, kept_at, note, format, document, kept)
	VALUES ($1, $2, $3, $4, $5, $6, $7)`

const upsertIngredient = `
	INSERT INTO formula_ingredient (formula_id, last_n, ingredient_id, as_fat, as_extra)
	VALUES ($1, $2, $3, $4, $5)
	ON CONFLICT (formula_id, ingredient_id) DO UPDATE SET last_n = excluded.last_n,
	    as_fat = CASE WHEN excluded.as_fat = 1 THEN 1 ELSE formula_ingredient.as_fat END,
	    as_extra = CASE WHEN excluded.as_extra = 1 THEN 1 ELSE formula_ingredient.as_extra END`

func (t *tx) AddVersion(ctx context.Context, v studio.VersionRow, uses []studio.UseRow) error {
	if _, err := t.ExecContext(ctx, insertVersionOf, v.FormulaID, v.N, when(v.KeptAt), v.Note, v.Formula.Format, string(v.Formula.Body), string(v.Kept.Body)); err != nil {
		return err
	}
	for _, u := range uses {
		if _, err := t.ExecContext(ctx, upsertIngredient, v.FormulaID, v.N, u.IngredientID, bit(u.AsFat), bit(u.AsExtra)); err != nil {
			return err
		}
	}
	return nil
}

func bit(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// The page and the count share their conditions: one of the two lists, then for
// every word of the search whereWord with what follows it.
const (
	fromLiving = ` FROM formula f WHERE f.put_away_at IS NULL`
	fromAway   = ` FROM formula f WHERE f.put_away_at IS NOT NULL`

	whereWord = ` AND (f.search_key LIKE ? ESCAPE '!'`
	// Only the newest version counts. With few ingredients the formulas that have
	// one are listed once.
	orListed = ` OR (f.id, f.newest) IN (SELECT i.formula_id, i.last_n FROM formula_ingredient i WHERE i.ingredient_id IN (`
	// With many, as for the word "oil", that list would be longer than all the
	// formulas, and each formula's own ingredients are looked at instead. The
	// empty text keeps both engines from the other index.
	orLookedAt = ` OR EXISTS (SELECT 1 FROM formula_ingredient i WHERE i.formula_id = f.id AND i.last_n = f.newest AND i.ingredient_id || '' IN (`
	endOr      = `))`
	endWord    = `)`

	countRows  = `SELECT COUNT(*)`
	selectPage = `SELECT ` + formulaColumns + `, ` + versionColumns + `
		FROM (SELECT f.*`
	orderPage = ` ORDER BY f.kept_at DESC, f.id DESC LIMIT ? OFFSET ?) f
		JOIN formula_version v ON v.formula_id = f.id AND v.n = f.newest
		ORDER BY f.kept_at DESC, f.id DESC`
)

// manyIngredients is where the second way became the quicker one, measured with
// 5000 formulas of ten ingredients.
const manyIngredients = 20

// likeEscaper takes the meaning out of the two wildcards.
var likeEscaper = strings.NewReplacer("!", "!!", "%", "!%", "_", "!_")

func (t *tx) FormulaPage(ctx context.Context, q studio.FormulaQuery) ([]studio.FormulaRow, []studio.VersionRow, int, error) {
	var where strings.Builder
	var args []any
	if q.PutAway {
		where.WriteString(fromAway)
	} else {
		where.WriteString(fromLiving)
	}
	for _, term := range q.Terms {
		where.WriteString(whereWord)
		args = append(args, "%"+likeEscaper.Replace(term.Key)+"%")
		if len(term.IngredientIDs) > 0 {
			if len(term.IngredientIDs) < manyIngredients {
				where.WriteString(orListed)
			} else {
				where.WriteString(orLookedAt)
			}
			for i, id := range term.IngredientIDs {
				if i > 0 {
					where.WriteByte(',')
				}
				where.WriteByte('?')
				args = append(args, id)
			}
			where.WriteString(endOr)
		}
		where.WriteString(endWord)
	}
	// Counting by itself is quicker than a window over the rows, which would
	// have to be made in full; the page stops at its last row.
	var total int
	if err := t.QueryRowContext(ctx, numbered(countRows+where.String()), args...).Scan(&total); err != nil {
		return nil, nil, 0, err
	}
	type pair struct {
		f studio.FormulaRow
		v studio.VersionRow
	}
	rows, err := t.QueryContext(ctx, numbered(selectPage+where.String()+orderPage), append(args, q.Limit, q.Offset)...)
	page, err := all(rows, err, func(row scanner) (l pair, err error) {
		toV, finishV := versionTo(&l.v)
		toF, finishF := formulaTo(&l.f, toV...)
		if err := row.Scan(toF...); err != nil {
			return l, err
		}
		if err := finishF(); err != nil {
			return l, err
		}
		return l, finishV()
	})
	if err != nil {
		return nil, nil, 0, err
	}
	formulas, versions := make([]studio.FormulaRow, len(page)), make([]studio.VersionRow, len(page))
	for i := range page {
		formulas[i], versions[i] = page[i].f, page[i].v
	}
	return formulas, versions, total, nil
}

// numbered gives the place of each argument its number: $1, $2, … in order. Only
// statements whose length depends on what is asked are put together like this.
func numbered(statement string) string {
	var b strings.Builder
	n := 0
	for _, r := range statement {
		if r != '?' {
			b.WriteRune(r)
			continue
		}
		n++
		b.WriteByte('$')
		b.WriteString(strconv.Itoa(n))
	}
	return b.String()
}

const selectUses = `
	SELECT i.ingredient_id, i.as_fat, i.as_extra, f.id, f.name, i.last_n, f.newest, f.put_away_at
	FROM formula_ingredient i JOIN formula f ON f.id = i.formula_id
	WHERE i.ingredient_id = $1`

func (t *tx) Uses(ctx context.Context, ingredientID string) ([]studio.UseRow, error) {
	rows, err := t.QueryContext(ctx, selectUses, ingredientID)
	return all(rows, err, func(row scanner) (u studio.UseRow, err error) {
		var asFat, asExtra int64
		var putAwayAt sql.NullString
		err = row.Scan(&u.IngredientID, &asFat, &asExtra, &u.FormulaID, &u.Name, &u.N, &u.Newest, &putAwayAt)
		u.AsFat, u.AsExtra, u.PutAway = asFat == 1, asExtra == 1, putAwayAt.Valid
		return u, err
	})
}
