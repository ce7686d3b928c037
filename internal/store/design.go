package store

import (
	"context"
	"database/sql"

	"barwright/studio"
)

const designColumns = `d.id, d.name, d.name_key, d.search_key, d.newest, d.kept_at, d.put_away_at, d.from_id, d.from_n`

const selectDesign = `SELECT ` + designColumns + ` FROM design d WHERE d.id = $1`

const selectLivingDesign = `SELECT ` + designColumns + ` FROM design d WHERE d.name_key = $1 AND d.put_away_at IS NULL`

// designTo is formulaTo for the same columns of a design.
func designTo(d *studio.DesignRow, more ...any) (dest []any, finish func() error) {
	f := new(studio.FormulaRow)
	dest, read := formulaTo(f, more...)
	return dest, func() error {
		err := read()
		*d = studio.DesignRow(*f)
		return err
	}
}

func scanDesign(row scanner) (d studio.DesignRow, err error) {
	dest, finish := designTo(&d)
	if err := row.Scan(dest...); err != nil {
		return d, none(err)
	}
	return d, finish()
}

func (t *tx) Design(ctx context.Context, id string) (studio.DesignRow, error) {
	return scanDesign(t.QueryRowContext(ctx, selectDesign, id))
}

func (t *tx) LivingDesign(ctx context.Context, nameKey string) (studio.DesignRow, error) {
	return scanDesign(t.QueryRowContext(ctx, selectLivingDesign, nameKey))
}

const insertDesign = `
	INSERT INTO design (id, name, name_key, search_key, newest, kept_at, put_away_at, from_id, from_n)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`

func (t *tx) AddDesign(ctx context.Context, d studio.DesignRow) error {
	_, err := t.ExecContext(ctx, insertDesign, d.ID, d.Name, d.NameKey, d.SearchKey, d.Newest, when(d.KeptAt), whenSet(d.PutAwayAt),
		sql.NullString{String: d.FromID, Valid: d.FromID != ""}, sql.NullInt64{Int64: int64(d.FromN), Valid: d.FromID != ""})
	return err
}

// Where a design came from is not changed.
const updateDesign = `
	UPDATE design SET name = $2, name_key = $3, search_key = $4, newest = $5, kept_at = $6, put_away_at = $7
	WHERE id = $1
	RETURNING id`

func (t *tx) SetDesign(ctx context.Context, d studio.DesignRow) error {
	var id string
	return none(t.QueryRowContext(ctx, updateDesign, d.ID, d.Name, d.NameKey, d.SearchKey, d.Newest, when(d.KeptAt), whenSet(d.PutAwayAt)).Scan(&id))
}

const (
	designVersionColumns = `v.design_id, v.n, v.kept_at, v.note, v.format, v.document`

	fromNewestDesigns = ` FROM design d JOIN design_version v ON v.design_id = d.id AND v.n = d.newest`

	selectDesignVersion  = `SELECT ` + designVersionColumns + ` FROM design_version v WHERE v.design_id = $1 AND v.n = $2`
	selectDesignVersions = `SELECT ` + designVersionColumns + ` FROM design_version v WHERE v.design_id = $1 ORDER BY v.n DESC`

	// The newest version of every living design, or of those listed after it.
	selectNewestLivingDesigns = `SELECT ` + designVersionColumns + fromNewestDesigns + ` WHERE d.put_away_at IS NULL`
	selectNewestDesignsOf     = `SELECT ` + designVersionColumns + fromNewestDesigns + ` WHERE d.id IN `
)

func designVersionTo(v *studio.DesignVersionRow) (dest []any, finish func() error) {
	var keptAt string
	dest = []any{&v.DesignID, &v.N, &keptAt, &v.Note, &v.Design.Format, &v.Design.Body}
	return dest, func() (err error) {
		v.KeptAt, err = parseWhen(keptAt)
		return err
	}
}

func scanDesignVersion(row scanner) (v studio.DesignVersionRow, err error) {
	dest, finish := designVersionTo(&v)
	if err := row.Scan(dest...); err != nil {
		return v, none(err)
	}
	return v, finish()
}

func (t *tx) DesignVersion(ctx context.Context, designID string, n int) (studio.DesignVersionRow, error) {
	return scanDesignVersion(t.QueryRowContext(ctx, selectDesignVersion, designID, n))
}

func (t *tx) DesignVersions(ctx context.Context, designID string) ([]studio.DesignVersionRow, error) {
	rows, err := t.QueryContext(ctx, selectDesignVersions, designID)
	return all(rows, err, scanDesignVersion)
}

func (t *tx) NewestDesignVersions(ctx context.Context, ids ...string) ([]studio.DesignVersionRow, error) {
	if len(ids) == 0 {
		rows, err := t.QueryContext(ctx, selectNewestLivingDesigns)
		return all(rows, err, scanDesignVersion)
	}
	return listed(ctx, t, selectNewestDesignsOf, "", ids, scanDesignVersion)
}

const insertDesignVersion = `
	INSERT INTO design_version (design_id, n, kept_at, note, format, document)
	VALUES ($1, $2, $3, $4, $5, $6)`

const upsertDesignUse = `
	INSERT INTO design_use (design_id, last_n, kind, used_id)
	VALUES ($1, $2, $3, $4)
	ON CONFLICT (design_id, kind, used_id) DO UPDATE SET last_n = excluded.last_n`

func (t *tx) AddDesignVersion(ctx context.Context, v studio.DesignVersionRow, on []studio.DesignLink) error {
	if _, err := t.ExecContext(ctx, insertDesignVersion, v.DesignID, v.N, when(v.KeptAt), v.Note, v.Design.Format, string(v.Design.Body)); err != nil {
		return err
	}
	for _, l := range on {
		if _, err := t.ExecContext(ctx, upsertDesignUse, v.DesignID, v.N, string(l.Kind), l.ID); err != nil {
			return err
		}
	}
	return nil
}

// The page and the count share their conditions, as those of formulas do.
const (
	fromLivingDesigns = ` FROM design d WHERE d.put_away_at IS NULL`
	fromAwayDesigns   = ` FROM design d WHERE d.put_away_at IS NOT NULL`

	whereDesignWord = ` AND d.search_key LIKE ? ESCAPE '!'`

	selectDesignPage = `SELECT ` + designColumns + `, ` + designVersionColumns + `
		FROM (SELECT d.*`
	orderDesignPage = ` ORDER BY d.kept_at DESC, d.id DESC LIMIT ? OFFSET ?) d
		JOIN design_version v ON v.design_id = d.id AND v.n = d.newest
		ORDER BY d.kept_at DESC, d.id DESC`
)

func (t *tx) DesignPage(ctx context.Context, q studio.DesignQuery) ([]studio.DesignRow, []studio.DesignVersionRow, int, error) {
	where := fromLivingDesigns
	if q.PutAway {
		where = fromAwayDesigns
	}
	var args []any
	for _, term := range q.Terms {
		where += whereDesignWord
		args = append(args, "%"+likeEscaper.Replace(term)+"%")
	}
	var total int
	if err := t.QueryRowContext(ctx, numbered(countRows+where), args...).Scan(&total); err != nil {
		return nil, nil, 0, err
	}
	var designs []studio.DesignRow
	rows, err := t.QueryContext(ctx, numbered(selectDesignPage+where+orderDesignPage), append(args, q.Limit, q.Offset)...)
	versions, err := all(rows, err, func(row scanner) (v studio.DesignVersionRow, err error) {
		var d studio.DesignRow
		toV, finishV := designVersionTo(&v)
		toD, finishD := designTo(&d, toV...)
		if err := row.Scan(toD...); err != nil {
			return v, err
		}
		if err := finishD(); err != nil {
			return v, err
		}
		designs = append(designs, d)
		return v, finishV()
	})
	if err != nil {
		return nil, nil, 0, err
	}
	return designs, versions, total, nil
}

const selectDesignLinks = `
	SELECT u.kind, u.used_id
	FROM design_use u JOIN design d ON d.id = u.design_id AND d.newest = u.last_n
	WHERE u.design_id = $1 ORDER BY u.kind, u.used_id`

func (t *tx) DesignLinks(ctx context.Context, designID string) ([]studio.DesignLink, error) {
	rows, err := t.QueryContext(ctx, selectDesignLinks, designID)
	return all(rows, err, func(row scanner) (l studio.DesignLink, err error) {
		return l, row.Scan(&l.Kind, &l.ID)
	})
}

const selectDesignUses = `
	SELECT d.id, d.name, u.last_n, d.newest, d.put_away_at
	FROM design_use u JOIN design d ON d.id = u.design_id
	WHERE u.kind = $1 AND u.used_id = $2`

func (t *tx) DesignUses(ctx context.Context, on studio.DesignLink) ([]studio.DesignUseRow, error) {
	rows, err := t.QueryContext(ctx, selectDesignUses, string(on.Kind), on.ID)
	return all(rows, err, func(row scanner) (u studio.DesignUseRow, err error) {
		var putAwayAt sql.NullString
		err = row.Scan(&u.DesignID, &u.Name, &u.N, &u.Newest, &putAwayAt)
		u.PutAway = putAwayAt.Valid
		return u, err
	})
}
