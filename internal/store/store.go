// Package store keeps the studio's records in SQLite or in PostgreSQL. All SQL
// of the program is here, one text for both; what differs between the two is in
// sqlite.go and postgres.go.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"barwright/fault"
	"barwright/studio"
)

// Store is an open studio. Its methods may be called from many goroutines.
type Store struct {
	db     *sql.DB
	engine engine
	// writing is held by the one writer of this process, where the engine can
	// have only one: waiting here is fair and ends with the context, while
	// waiting in the engine is polling.
	writing chan struct{}
}

var _ studio.Store = (*Store)(nil)

// An engine is what differs between SQLite and PostgreSQL.
type engine struct {
	where            string // names the studio to a person, without a password
	reading, writing sql.TxOptions
	oneWriter        bool   // a second writer would only wait
	hasVersions      string // the statement that says whether the table of migrations exists
	// lockMigrations is the statement that keeps other programs from migrating until
	// the transaction ends; "" where the transaction does so by itself.
	lockMigrations string
	// listIn is the statement that gives the texts of an array in JSON, its only
	// argument, so that any number of ids is one argument.
	listIn string
	// again says that a transaction, which took that long, failed only because another
	// came between.
	again func(err error, took time.Duration) bool
	// words is a sentence for the maker on a fault of the engine, and its kind; ""
	// when it has none.
	words func(error) (string, fault.Kind)
	// backUp copies the studio as it stands, before a migration of an existing one,
	// and says where the copy is; nil where that is not the program's to do.
	backUp func(ctx context.Context, db *sql.DB, version int) (string, error)
}

// Open opens the studio at where: a directory, in which studio.db is made when
// it is missing, or a URL postgres://user@host/database. It brings an older
// studio up to date, after a backup where the studio is a file, and refuses one
// that a newer program has written.
//
// Errors are fault.Error with a sentence for the maker.
func Open(ctx context.Context, where string) (*Store, error) {
	return open(ctx, where, migrations)
}

func open(ctx context.Context, where string, steps []migration) (*Store, error) {
	var s *Store
	var err error
	if strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://") {
		s, err = openPostgres(where)
	} else {
		s, err = openSQLite(where)
	}
	if err != nil {
		return nil, err
	}
	if s.engine.oneWriter {
		s.writing = make(chan struct{}, 1)
	}
	if err := s.migrate(ctx, steps); err != nil {
		return nil, errors.Join(s.inWords(err), s.db.Close())
	}
	return s, nil
}

// Close closes the studio. On SQLite it folds the write-ahead log into the file.
func (s *Store) Close() error { return s.db.Close() }

// Where names the studio to a person: the path of its file, or the server and
// the database, without a password.
func (s *Store) Where() string { return s.engine.where }

// DefaultDir is the directory where this platform keeps a user's data:
// $XDG_DATA_HOME/barwright or ~/.local/share/barwright (XDG Base Directory
// Specification 0.8), ~/Library/Application Support/Barwright on macOS,
// %LocalAppData%\Barwright on Windows. It is not made here. Errors: fault.Error
// when the platform does not say.
func DefaultDir() (string, error) {
	home, _ := os.UserHomeDir() // "" is handled where home is needed
	return defaultDir(runtime.GOOS, os.Getenv, home)
}

func defaultDir(goos string, getenv func(string) string, home string) (string, error) {
	none := func(what string) (string, error) {
		return "", fault.Invalidf("--data", "The place for your studio cannot be found: %s is not set. Name a directory with --data.", what)
	}
	switch goos {
	case "windows":
		dir := getenv("LocalAppData")
		if dir == "" {
			return none("%LocalAppData%")
		}
		return filepath.Join(dir, "Barwright"), nil
	case "darwin", "ios":
		if home == "" {
			return none("$HOME")
		}
		return filepath.Join(home, "Library", "Application Support", "Barwright"), nil
	}
	// The specification says to ignore a relative path.
	if dir := getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "barwright"), nil
	}
	if home == "" {
		return none("$HOME")
	}
	return filepath.Join(home, ".local", "share", "barwright"), nil
}

// mostTries is how often a transaction is run before the store gives up on the
// others letting it through. With the pauses below that is some seconds.
const mostTries = 40

// Write runs f in one transaction, as if no other ran (SQLite has one writer;
// PostgreSQL is SERIALIZABLE, and runs f again when another came between).
// When it returns nil, what f wrote survives a kill of the machine.
func (s *Store) Write(ctx context.Context, f func(studio.Writer) error) error {
	if s.writing != nil {
		select {
		case s.writing <- struct{}{}:
			defer func() { <-s.writing }()
		case <-ctx.Done():
			return s.inWords(ctx.Err())
		}
	}
	return s.tx(ctx, s.engine.writing, true, func(t *tx) error { return f(t) })
}

// Read runs f on one steady view of the records.
func (s *Store) Read(ctx context.Context, f func(studio.Reader) error) error {
	return s.tx(ctx, s.engine.reading, false, func(t *tx) error { return f(t) })
}

// tx is the one place where a transaction begins and ends.
func (s *Store) tx(ctx context.Context, opts sql.TxOptions, keep bool, f func(*tx) error) error {
	for try := 1; ; try++ {
		began := time.Now()
		err := s.once(ctx, opts, keep, f)
		if err == nil {
			return nil
		}
		if try == mostTries || !s.engine.again(err, time.Since(began)) {
			return s.inWords(err)
		}
		// Those who came between one another must not do so again in step.
		pause := time.Duration(rand.Int64N(int64(min(try, 10)) * int64(10*time.Millisecond)))
		select {
		case <-time.After(pause):
		case <-ctx.Done():
			return s.inWords(ctx.Err())
		}
	}
}

func (s *Store) once(ctx context.Context, opts sql.TxOptions, keep bool, f func(*tx) error) error {
	t, err := s.db.BeginTx(ctx, &opts)
	if err != nil {
		return err
	}
	// After a Commit this does nothing; after a panic in f it lets the writer go.
	defer func() { _ = t.Rollback() }()
	if err := f(&tx{t, s.engine.listIn}); err != nil {
		return err
	}
	if !keep {
		return nil
	}
	return t.Commit()
}

// inWords lets faults for the maker through as they are, and gives those of the
// engine a sentence.
func (s *Store) inWords(err error) error {
	var f *fault.Error
	var l fault.List
	if err == nil || errors.As(err, &f) || errors.As(err, &l) || errors.Is(err, studio.ErrNone) {
		return err
	}
	if sentence, kind := s.engine.words(err); sentence != "" {
		return &fault.Error{Kind: kind, Message: sentence, Err: err}
	}
	if s.engine.again(err, 0) {
		return &fault.Error{Kind: fault.Conflict, Message: "The studio is being written to by others all the time. Nothing was kept; try once more.", Err: err}
	}
	return fmt.Errorf("store %s: %w", s.Where(), err)
}

// tx is a transaction, and every statement of the program as a method of it.
type tx struct {
	*sql.Tx
	listIn string // of the engine
}

// instant is ISO 8601 in UTC, always of the same length, so that text sorts as
// time does, in every collation.
const instant = "2006-01-02T15:04:05.000000Z"

func when(t time.Time) string { return t.UTC().Format(instant) }

// whenSet is null for the zero time.
func whenSet(t time.Time) sql.NullString {
	return sql.NullString{String: when(t), Valid: !t.IsZero()}
}

// textTo reads a column of text; null leaves what is there.
type textTo func(string) error

// Scan makes textTo a place that a column is read to.
func (f textTo) Scan(column any) error {
	var s sql.NullString
	if err := s.Scan(column); err != nil || !s.Valid {
		return err
	}
	return f(s.String)
}

// whenTo reads an instant.
func whenTo(t *time.Time) textTo {
	return func(s string) (err error) {
		if *t, err = time.Parse(instant, s); err != nil {
			return fmt.Errorf("instant in the store: %w", err)
		}
		return nil
	}
}

// none turns the driver's word for no row into the studio's.
func none(err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return studio.ErrNone
	}
	return err
}

// storable reports that a text can be looked for: PostgreSQL refuses a zero byte
// and what is not UTF-8, and then the whole transaction. Nothing is stored under
// such a text.
func storable(s string) bool { return utf8.ValidString(s) && !strings.Contains(s, "\x00") }

// exec runs a statement that gives no rows.
func (t *tx) exec(ctx context.Context, statement string, args ...any) error {
	_, err := t.ExecContext(ctx, statement, args...)
	return err
}

// one reads the only row of a statement; to gives where its columns go. Without a
// row the error is studio.ErrNone.
func one[T any](ctx context.Context, t *tx, to func(*T) []any, statement string, args ...any) (v T, err error) {
	err = none(t.QueryRowContext(ctx, statement, args...).Scan(to(&v)...))
	return v, err
}

// all reads every row of a statement.
func all[T any](ctx context.Context, t *tx, to func(*T) []any, statement string, args ...any) ([]T, error) {
	rows, err := t.QueryContext(ctx, statement, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		var v T
		if err := rows.Scan(to(&v)...); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// column is where the only column of a row goes.
func column[T any](v *T) []any { return []any{v} }

// mostListed is how many ids one statement lists, well within what either engine
// takes.
const mostListed = 500

// listed reads the rows of a statement that ends in IN, then the list of ids,
// then order; for a long list it is asked several times.
func listed[T any](ctx context.Context, t *tx, to func(*T) []any, statement, order string, ids []string) ([]T, error) {
	var out []T
	ids = slices.DeleteFunc(slices.Clone(ids), func(id string) bool { return !storable(id) })
	for part := range slices.Chunk(ids, mostListed) {
		args := make([]any, len(part))
		for i, id := range part {
			args[i] = id
		}
		some, err := all(ctx, t, to, numbered(statement+"(?"+strings.Repeat(", ?", len(part)-1)+")"+order), args...)
		if err != nil {
			return nil, err
		}
		out = append(out, some...)
	}
	return out, nil
}
