package store

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// fillRecords ends migration 3: the search keys of moulds, the items of designs
// and the masses of old sheets' batches, which SQL cannot read out of the
// documents. What it reads is written out here, as it stood then, so that a later
// change of the program does not change what an old studio becomes.
func fillRecords(ctx context.Context, t *tx) error {
	for _, fill := range []func(context.Context, *tx) error{fillSearchKeys, fillItems, fillMasses} {
		if err := fill(ctx, t); err != nil {
			return err
		}
	}
	return nil
}

func fillSearchKeys(ctx context.Context, t *tx) error {
	type named struct{ id, name string }
	moulds, err := all(ctx, t, func(m *named) []any { return []any{&m.id, &m.name} }, `SELECT id, name FROM record WHERE kind = 'mould'`)
	if err != nil {
		return err
	}
	for _, m := range moulds {
		if err := t.exec(ctx, `UPDATE record SET search_key = $2 WHERE id = $1`, m.id, searchKeyOf3(m.name)); err != nil {
			return err
		}
	}
	return nil
}

// searchKeyOf3 folds a name for searching as form 3 did: compatibility
// decomposition, no marks, simple case folding, runs of space as one.
func searchKeyOf3(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		low := r
		for q := unicode.SimpleFold(r); q != r; q = unicode.SimpleFold(q) {
			low = min(low, q)
		}
		return low
	}, norm.NFKD.String(s))
	return strings.Join(strings.Fields(s), " ")
}

func fillItems(ctx context.Context, t *tx) error {
	type version struct {
		id       string
		n        int64
		document []byte
	}
	// In order of version, so that the last one to have an item is the one kept.
	versions, err := all(ctx, t, func(v *version) []any { return []any{&v.id, &v.n, &v.document} },
		`SELECT v.record_id, v.n, v.document FROM record_version v
		JOIN record r ON r.id = v.record_id WHERE r.kind = 'design' ORDER BY v.record_id, v.n`)
	if err != nil {
		return err
	}
	for _, v := range versions {
		var design struct {
			Parts []struct {
				Item string `json:"item"`
			} `json:"parts"`
		}
		if json.Unmarshal(v.document, &design) != nil {
			continue // it cannot be read later either, and says so then
		}
		for _, p := range design.Parts {
			if p.Item == "" {
				continue
			}
			if err := t.exec(ctx, `INSERT INTO record_use (record_id, last_n, kind, used_id, role) VALUES ($1, $2, 'item', $3, '')
				ON CONFLICT (record_id, kind, used_id, role) DO UPDATE SET last_n = excluded.last_n`, v.id, v.n, p.Item); err != nil {
				return err
			}
		}
	}
	return nil
}

func fillMasses(ctx context.Context, t *tx) error {
	ids, err := all(ctx, t, column[string], `SELECT id FROM batch WHERE mass_mg IS NULL`)
	if err != nil {
		return err
	}
	for _, id := range ids { // one by one: a sheet's working may be as large as 1 MiB
		var askedJSON, workingJSON []byte
		row := t.QueryRowContext(ctx, `SELECT r.asked, r.working FROM batch b JOIN run r ON r.id = b.run_id WHERE b.id = $1`, id)
		if err := row.Scan(&askedJSON, &workingJSON); err != nil {
			return err
		}
		var working struct{ Batter struct{ MassG float64 } }
		var asked struct {
			Size struct {
				BatterG float64 `json:"batter_g"`
			} `json:"size"`
		}
		_ = json.Unmarshal(workingJSON, &working) // a working of another shape has no mass
		_ = json.Unmarshal(askedJSON, &asked)
		g := working.Batter.MassG
		if g == 0 {
			g = asked.Size.BatterG
		}
		if mg := math.Round(g * 1000); mg >= 1 && mg <= 1e12 {
			if err := t.exec(ctx, `UPDATE batch SET mass_mg = $2 WHERE id = $1`, id, int64(mg)); err != nil {
				return err
			}
		}
	}
	return nil
}
