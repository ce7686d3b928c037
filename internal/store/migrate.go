package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"barwright/fault"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migration is one step forward. A step is never edited once it was released,
// and there is none back.
type migration struct {
	n    int // from 1, without gaps
	name string
	sql  string
	// then does what SQL cannot say, after the SQL and in the same transaction;
	// nil for nothing.
	then func(context.Context, *tx) error
}

var migrations = mustMigrations(migrationFiles, map[int]func(context.Context, *tx) error{
	3: fillRecords,
})

// mustMigrations reads the steps; a misnamed file is a programmer's mistake.
func mustMigrations(files fs.FS, then map[int]func(context.Context, *tx) error) []migration {
	names, err := fs.Glob(files, "migrations/*.sql") // in order of name
	if err != nil || len(names) == 0 {
		panic(fmt.Sprintf("store: no migrations: %v", err))
	}
	var out []migration
	for i, name := range names {
		base := strings.TrimPrefix(name, "migrations/")
		n, err := strconv.Atoi(strings.SplitN(base, "_", 2)[0])
		if err != nil || n != i+1 {
			panic(fmt.Sprintf("store: migration %d is called %s", i+1, base))
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			panic(err)
		}
		out = append(out, migration{n, base, string(text), then[n]})
	}
	return out
}

const createVersions = `
	CREATE TABLE schema_version (
	    n          BIGINT NOT NULL PRIMARY KEY CHECK (n BETWEEN 1 AND 1000000),
	    name       TEXT   NOT NULL,
	    applied_at TEXT   NOT NULL
	)`

const selectVersion = `SELECT COALESCE(MAX(n), 0) FROM schema_version`

const insertVersion = `INSERT INTO schema_version (n, name, applied_at) VALUES ($1, $2, $3)`

// migrate brings the studio up to the last of steps.
func (s *Store) migrate(ctx context.Context, steps []migration) error {
	last := steps[len(steps)-1].n
	have, err := s.version(ctx)
	if err != nil {
		return err
	}
	if have > last {
		return newer(s.Where(), have, last)
	}
	found, backup := have, ""
	if have > 0 && have < last && s.engine.backUp != nil {
		if backup, err = s.engine.backUp(ctx, s.db, have); err != nil {
			return &fault.Error{Kind: fault.Internal, Err: err,
				Message: fmt.Sprintf("The studio at %s is of an older form, and no copy of it could be made before bringing it up to date. It was left as "+
					"it is. Is there room on the disk?", s.Where())}
		}
	}
	for have < last {
		now, err := s.step(ctx, steps)
		if err != nil {
			return s.notMigrated(err, found, have, backup)
		}
		have = now
	}
	return nil
}

// notMigrated says that an older studio could not be brought up to date, which was
// of the form found and is now of the form have. Backup is where its copy is; "" for
// none. What the engine or a rule has words for keeps them.
func (s *Store) notMigrated(err error, found, have int, backup string) error {
	var f *fault.Error
	words, _ := s.engine.words(err)
	if found == 0 || words != "" || errors.As(err, &f) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	sentence := fmt.Sprintf("The studio at %s is of an older form, and something in it does not fit the form of this program, so it could not be "+
		"brought up to date.", s.Where())
	if have == found {
		sentence += " Nothing was changed."
	} else {
		sentence += fmt.Sprintf(" It was brought from form %d to form %d, and nothing else was changed.", found, have)
	}
	if backup != "" {
		sentence += fmt.Sprintf(" A copy of it as it was is at %s. Keep that copy, and go on with the program that you had before.", backup)
	} else {
		sentence += " Go on with the program that you had before."
	}
	return &fault.Error{Kind: fault.Internal, Message: sentence, Err: err}
}

func newer(where string, have, last int) error {
	return fault.Conflictf("--data", "The studio at %s was written by a newer Barwright (form %d; this program knows up to %d). It was left as it "+
		"is. Open it with the newer program.", where, have, last)
}

// version is the number of the last step that the studio has taken; 0 for an
// empty one.
func (s *Store) version(ctx context.Context) (have int, err error) {
	err = s.tx(ctx, s.engine.reading, false, func(t *tx) error {
		has, err := one(ctx, t, column[bool], s.engine.hasVersions)
		if has {
			have, err = one(ctx, t, column[int], selectVersion)
		}
		return err
	})
	return have, err
}

// step takes the next step in a transaction of its own and gives the studio's
// version after it. It looks again at where the studio stands, as another
// program may have taken the step meanwhile. A fresh studio takes all steps at
// once, so that nobody finds it half made and takes it for an older one.
func (s *Store) step(ctx context.Context, steps []migration) (have int, err error) {
	// READ COMMITTED on PostgreSQL: the lock keeps others out, and a snapshot
	// from before it was had would not see what they did.
	err = s.tx(ctx, sql.TxOptions{}, true, func(t *tx) error {
		if lock := s.engine.lockMigrations; lock != "" {
			if err := t.exec(ctx, lock); err != nil {
				return err
			}
		}
		has, err := one(ctx, t, column[bool], s.engine.hasVersions)
		if err != nil {
			return err
		}
		have = 0
		if has {
			have, err = one(ctx, t, column[int], selectVersion)
		} else {
			err = t.exec(ctx, createVersions)
		}
		if err != nil {
			return err
		}
		if have > len(steps) {
			return newer(s.Where(), have, len(steps))
		}
		if have == len(steps) {
			return nil
		}
		todo := steps[have:]
		if have > 0 {
			todo = todo[:1]
		}
		for _, m := range todo {
			err := t.exec(ctx, m.sql)
			if err == nil && m.then != nil {
				err = m.then(ctx, t)
			}
			if err == nil {
				err = t.exec(ctx, insertVersion, m.n, m.name, when(time.Now()))
			}
			if err != nil {
				return fmt.Errorf("migration %s: %w", m.name, err)
			}
			have = m.n
		}
		return nil
	})
	return have, err
}
