package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"barwright/studio"
)

const recordColumns = `r.id, r.kind, r.name, r.name_key, r.search_key, r.newest, r.kept_at, r.used_at, r.archived_at,
	COALESCE(r.from_id, ''), COALESCE(r.from_n, 0)`

const (
	selectRecord       = `SELECT ` + recordColumns + ` FROM record r WHERE r.kind = $1 AND r.id = $2`
	selectLivingRecord = `SELECT ` + recordColumns + ` FROM record r WHERE r.kind = $1 AND r.name_key = $2 AND r.archived_at IS NULL`
)

// recordTo gives where a row of recordColumns is read to.
func recordTo(r *studio.RecordRow) []any {
	return []any{&r.ID, &r.Kind, &r.Name, &r.NameKey, &r.SearchKey, &r.Newest, whenTo(&r.KeptAt), whenTo(&r.UsedAt), whenTo(&r.ArchivedAt), &r.FromID,
		&r.FromN}
}

func (t *tx) Record(ctx context.Context, kind studio.Kind, id string) (studio.RecordRow, error) {
	if !storable(id) {
		return studio.RecordRow{}, studio.ErrNone
	}
	return one(ctx, t, recordTo, selectRecord, string(kind), id)
}

func (t *tx) LivingRecord(ctx context.Context, kind studio.Kind, nameKey string) (studio.RecordRow, error) {
	return one(ctx, t, recordTo, selectLivingRecord, string(kind), nameKey)
}

const insertRecord = `
	INSERT INTO record (id, kind, name, name_key, search_key, newest, kept_at, used_at, archived_at, from_id, from_n)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`

func (t *tx) AddRecord(ctx context.Context, r studio.RecordRow) error {
	return t.exec(ctx, insertRecord, r.ID, string(r.Kind), r.Name, r.NameKey, r.SearchKey, r.Newest, when(r.KeptAt), when(r.UsedAt),
		whenSet(r.ArchivedAt),
		sql.NullString{String: r.FromID, Valid: r.FromID != ""}, sql.NullInt64{Int64: int64(r.FromN), Valid: r.FromID != ""})
}

// What a record is of, and where it came from, is not changed.
const updateRecord = `
	UPDATE record SET name = $2, name_key = $3, search_key = $4, newest = $5, kept_at = $6, used_at = $7, archived_at = $8
	WHERE id = $1
	RETURNING id`

func (t *tx) SetRecord(ctx context.Context, r studio.RecordRow) error {
	_, err := one(ctx, t, column[string], updateRecord, r.ID, r.Name, r.NameKey, r.SearchKey, r.Newest, when(r.KeptAt), when(r.UsedAt),
		whenSet(r.ArchivedAt))
	return err
}

const touchRecord = `UPDATE record SET used_at = $2 WHERE id = $1 AND used_at < $2`

func (t *tx) Touch(ctx context.Context, at time.Time, ids ...string) error {
	for _, id := range ids {
		if err := t.exec(ctx, touchRecord, id, when(at)); err != nil {
			return err
		}
	}
	return nil
}

// A kept version raises newest; what is used moves used_at; what comes or goes
// changes the count, and what comes back is used just then.
const selectRecordState = `
	SELECT COUNT(*) || ' ' || COALESCE(SUM(r.newest), 0) || ' ' || COALESCE(MAX(r.used_at), '')
	FROM record r WHERE r.kind = $1 AND r.archived_at IS NULL`

func (t *tx) RecordState(ctx context.Context, kind studio.Kind) (string, error) {
	return one(ctx, t, column[string], selectRecordState, string(kind))
}

const selectRecordNames = `SELECT r.id, r.name, r.newest FROM record r WHERE r.kind = $1 AND r.archived_at IS NULL ORDER BY r.used_at DESC, r.id DESC`

func (t *tx) RecordNames(ctx context.Context, kind studio.Kind) ([]studio.Name, error) {
	return all(ctx, t, func(n *studio.Name) []any { return []any{&n.ID, &n.Name, &n.Newest} }, selectRecordNames, string(kind))
}

const versionColumns = `v.record_id, v.n, v.kept_at, v.note, v.format, v.document, v.format, v.figures`

const (
	selectVersionOf = `SELECT ` + versionColumns + ` FROM record_version v WHERE v.record_id = $1 AND v.n = $2`
	selectVersions  = `SELECT ` + versionColumns + ` FROM record_version v WHERE v.record_id = $1 ORDER BY v.n DESC`
)

func versionTo(v *studio.VersionRow) []any {
	return []any{&v.RecordID, &v.N, whenTo(&v.KeptAt), &v.Note, &v.Document.Format, &v.Document.Body, &v.Figures.Format, &v.Figures.Body}
}

// newestTo gives where a row of recordColumns and versionColumns is read to.
func newestTo(r *studio.NewestRow) []any {
	return append(recordTo(&r.RecordRow), versionTo(&r.Version)...)
}

func (t *tx) Version(ctx context.Context, recordID string, n int) (studio.VersionRow, error) {
	return one(ctx, t, versionTo, selectVersionOf, recordID, n)
}

func (t *tx) Versions(ctx context.Context, recordID string) ([]studio.VersionRow, error) {
	return all(ctx, t, versionTo, selectVersions, recordID)
}

// The newest version of every living record of a kind, or of those listed after it.
const (
	fromNewest         = ` FROM record r JOIN record_version v ON v.record_id = r.id AND v.n = r.newest`
	selectNewestLiving = `SELECT ` + recordColumns + `, ` + versionColumns + fromNewest + ` WHERE r.kind = $1 AND r.archived_at IS NULL`
	selectNewestOf     = `SELECT ` + recordColumns + `, ` + versionColumns + fromNewest + ` WHERE r.id IN `
)

func (t *tx) NewestVersions(ctx context.Context, kind studio.Kind, ids ...string) ([]studio.NewestRow, error) {
	if len(ids) == 0 {
		return all(ctx, t, newestTo, selectNewestLiving, string(kind))
	}
	list, err := listed(ctx, t, newestTo, selectNewestOf, "", ids)
	return slices.DeleteFunc(list, func(r studio.NewestRow) bool { return r.Kind != kind }), err
}

const insertVersionOf = `
	INSERT INTO record_version (record_id, n, kept_at, note, format, document, figures)
	VALUES ($1, $2, $3, $4, $5, $6, $7)`

const upsertUse = `
	INSERT INTO record_use (record_id, last_n, kind, used_id, role)
	VALUES ($1, $2, $3, $4, $5)
	ON CONFLICT (record_id, kind, used_id, role) DO UPDATE SET last_n = excluded.last_n`

func (t *tx) AddVersion(ctx context.Context, v studio.VersionRow, on []studio.Link) error {
	if err := t.exec(ctx, insertVersionOf, v.RecordID, v.N, when(v.KeptAt), v.Note, v.Document.Format, string(v.Document.Body),
		string(v.Figures.Body)); err != nil {
		return err
	}
	for _, l := range on {
		if err := t.exec(ctx, upsertUse, v.RecordID, v.N, string(l.Kind), l.ID, l.Role); err != nil {
			return err
		}
	}
	return nil
}

// The page and the count share their conditions: one of the two lists, then for
// every word of the search whereWord with what follows it.
const (
	fromLiving   = ` FROM record r WHERE r.kind = ? AND r.archived_at IS NULL`
	fromArchived = ` FROM record r WHERE r.kind = ? AND r.archived_at IS NOT NULL`

	whereWord = ` AND (r.search_key LIKE ? ESCAPE '!'`
	// Only the newest version counts. With few things the records that stand on
	// one are listed once.
	orListed = ` OR (r.id, r.newest) IN (SELECT u.record_id, u.last_n FROM record_use u WHERE u.kind = 'ingredient' AND u.used_id IN (`
	// With many, as for the word "oil", that list would be longer than all the
	// records, and what each record stands on is looked at instead. The empty text
	// keeps both engines from the other index. The things are one argument, as an
	// engine takes only so many of them.
	orLookedAt = ` OR EXISTS (SELECT 1 FROM record_use u WHERE u.record_id = r.id AND u.last_n = r.newest AND u.used_id || '' IN (`
	endOr      = `))`
	endWord    = `)`

	countRows  = `SELECT COUNT(*)`
	selectPage = `SELECT ` + recordColumns + `, ` + versionColumns + `
		FROM (SELECT r.*`
	orderPage = ` ORDER BY r.kept_at DESC, r.id DESC LIMIT ? OFFSET ?) r
		JOIN record_version v ON v.record_id = r.id AND v.n = r.newest
		ORDER BY r.kept_at DESC, r.id DESC`
)

// manyThings is where the second way became the quicker one, measured with 5000
// formulas of ten ingredients.
const manyThings = 20

// likeEscaper takes the meaning out of the two wildcards.
var likeEscaper = strings.NewReplacer("!", "!!", "%", "!%", "_", "!_")

func (t *tx) RecordPage(ctx context.Context, q studio.RecordQuery) ([]studio.NewestRow, int, error) {
	var where strings.Builder
	args := []any{string(q.Kind)}
	if q.Archived {
		where.WriteString(fromArchived)
	} else {
		where.WriteString(fromLiving)
	}
	for _, term := range q.Terms {
		where.WriteString(whereWord)
		args = append(args, "%"+likeEscaper.Replace(term.Key)+"%")
		switch ids := slices.DeleteFunc(slices.Clone(term.IDs), func(id string) bool { return !storable(id) }); {
		case len(ids) == 0:
		case len(ids) < manyThings:
			where.WriteString(orListed + "?" + strings.Repeat(",?", len(ids)-1) + endOr)
			for _, id := range ids {
				args = append(args, id)
			}
		default:
			list, err := json.Marshal(ids)
			if err != nil {
				return nil, 0, err
			}
			where.WriteString(orLookedAt + t.listIn + endOr)
			args = append(args, string(list))
		}
		where.WriteString(endWord)
	}
	// Counting by itself is quicker than a window over the rows, which would
	// have to be made in full; the page stops at its last row.
	total, err := one(ctx, t, column[int], numbered(countRows+where.String()), args...)
	if err != nil {
		return nil, 0, err
	}
	rows, err := all(ctx, t, newestTo, numbered(selectPage+where.String()+orderPage), append(args, q.Limit, q.Offset)...)
	return rows, total, err
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

const selectLinks = `
	SELECT u.kind, u.used_id, u.role
	FROM record_use u JOIN record r ON r.id = u.record_id AND r.newest = u.last_n
	WHERE u.record_id = $1 ORDER BY u.kind, u.used_id, u.role`

func (t *tx) Links(ctx context.Context, recordID string) ([]studio.Link, error) {
	return all(ctx, t, func(l *studio.Link) []any { return []any{&l.Kind, &l.ID, &l.Role} }, selectLinks, recordID)
}

const selectUses = `
	SELECT r.kind, r.id, r.name, u.role, u.last_n, r.newest, r.archived_at IS NOT NULL
	FROM record_use u JOIN record r ON r.id = u.record_id
	WHERE u.kind = $1 AND u.used_id = $2`

func (t *tx) Uses(ctx context.Context, on studio.Link) ([]studio.UseRow, error) {
	if !storable(on.ID) {
		return nil, nil
	}
	return all(ctx, t, func(u *studio.UseRow) []any {
		return []any{&u.Kind, &u.RecordID, &u.Name, &u.Role, &u.N, &u.Newest, &u.Archived}
	}, selectUses, string(on.Kind), on.ID)
}

const selectUsedIDs = `
	SELECT DISTINCT u.used_id
	FROM record_use u JOIN record r ON r.id = u.record_id AND r.newest = u.last_n
	WHERE u.kind = $1 AND r.archived_at IS NULL`

func (t *tx) UsedIDs(ctx context.Context, kind studio.Kind) ([]string, error) {
	return all(ctx, t, column[string], selectUsedIDs, string(kind))
}
