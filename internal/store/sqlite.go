package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"barwright/fault"
)

// fileName is the studio's file within its directory.
const fileName = "studio.db"

func openSQLite(dir string) (*Store, error) {
	refuse := func(err error, sentence string, args ...any) (*Store, error) {
		return nil, &fault.Error{Kind: fault.Invalid, Field: "--data", Message: fmt.Sprintf(sentence, args...), Err: err}
	}
	switch {
	case dir == "":
		return refuse(nil, "No directory was named for the studio. Name one with --data.")
	case strings.Contains(dir, "://"):
		return refuse(nil, "This program keeps a studio in a directory or in PostgreSQL (postgres://user@host/database), and %q is neither.",
			strings.SplitN(dir, "://", 2)[0]+"://…")
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return refuse(err, "The directory %s cannot be found from here.", dir)
	}
	// Only its maker may read the studio.
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return refuse(err, "The directory %s cannot be made. Check that it may be written to, or name another with --data.", dir)
	}
	path := filepath.Join(dir, fileName)
	// The write-ahead log takes its permissions from the file, so the file is
	// made before SQLite would.
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return refuse(err, "The studio's file %s cannot be opened for writing. Check who owns it, or name another directory with --data.", path)
	}
	if err := f.Close(); err != nil {
		return refuse(err, "The studio's file %s cannot be written.", path)
	}
	db, err := sql.Open("sqlite", dsn(path))
	if err != nil {
		return nil, err
	}
	// Readers do not wait for the writer nor for one another. Idle connections
	// are kept, as opening one costs more than a query.
	n := max(4, runtime.NumCPU()) + 1
	db.SetMaxOpenConns(n)
	db.SetMaxIdleConns(n)
	return &Store{db: db, engine: engine{
		where: path, reading: sql.TxOptions{ReadOnly: true}, // begins without the lock
		oneWriter: true, hasVersions: sqliteHasVersions, // and the transaction of a migration holds the file
		listIn: `SELECT value FROM json_each(?)`,
		// That another program held the studio for as long as the timeout is said in
		// words, not tried 40 times. But where programs open one studio at once, as it
		// is made or closed, the engine does not wait at all.
		again: func(err error, took time.Duration) bool { return isBusy(err) && took < busyTimeout/2 },
		words: func(err error) (string, fault.Kind) { return sqliteWords(err, path) },
		backUp: func(ctx context.Context, db *sql.DB, version int) (string, error) {
			return backUpFile(ctx, db, path, version)
		},
	}}, nil
}

// busyTimeout is how long a program waits for another that writes to the studio.
const busyTimeout = 10 * time.Second

// isBusy reports that another program holds the studio.
func isBusy(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_BUSY
}

// dsn names path with every setting, so that each pooled connection has them.
func dsn(path string) string {
	// A path is percent-escaped, as a bare ? or % would end it; on Windows it
	// has slashes, and one before the drive (SQLite, "Uniform Resource Identifiers").
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	u := url.URL{Scheme: "file", Path: p, RawQuery: url.Values{
		"_pragma": {
			fmt.Sprintf("busy_timeout(%d)", busyTimeout.Milliseconds()), // another program may hold the studio; first, so that the rest waits too
			"journal_mode(WAL)", // readers beside a writer
			"synchronous(FULL)", // what was acknowledged is on the disk
			"fullfsync(1)",      // also on macOS, whose fsync alone does not reach it
			"foreign_keys(1)",
		},
		// A write takes its lock at the start: a transaction that begins by
		// reading can not then find that it may not write.
		"_txlock": {"immediate"},
	}.Encode()}
	return u.String()
}

func sqliteWords(err error, path string) (string, fault.Kind) {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return "", fault.Internal
	}
	sentence, kind := "", fault.Internal
	switch e.Code() & 0xff { // the primary result code
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		sentence, kind = "Another program has been writing to the studio's file %s for ten seconds. Nothing was kept; try again.", fault.Conflict
	case sqlite3.SQLITE_FULL:
		sentence = "The disk that holds %s is full. Nothing was kept; make room and try again."
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		sentence = "The studio's file %s may not be written to. Nothing was kept; check who owns it and its directory."
	case sqlite3.SQLITE_CANTOPEN:
		sentence = "The studio's file %s cannot be opened. Check that it and its directory are there and may be written to."
	case sqlite3.SQLITE_IOERR:
		sentence = "The disk that holds %s does not answer as it should. Nothing was kept; check the disk, then try again."
	case sqlite3.SQLITE_CORRUPT:
		sentence = "The studio's file %s is damaged. Close the program, keep the file, and bring back a backup."
	case sqlite3.SQLITE_NOTADB:
		sentence = "The file %s is not a studio. Move it away, or name another directory with --data."
	default:
		return "", fault.Internal
	}
	return fmt.Sprintf(sentence, path), kind
}

const sqliteHasVersions = `SELECT COUNT(*) > 0 FROM sqlite_schema WHERE type = 'table' AND name = 'schema_version'`

const (
	vacuumInto  = `VACUUM INTO $1`
	foldLogBack = `PRAGMA wal_checkpoint(TRUNCATE)`
)

// backUpFile copies the studio beside itself, under backups/, and gives the path of
// the copy; "" where another program has brought the studio up to date meanwhile. A
// copy has its name only once it is whole and on the disk, and what was broken off
// is taken away first. A studio that has not changed since its last copy is not
// copied again.
func backUpFile(ctx context.Context, db *sql.DB, studio string, version int) (string, error) {
	dir := filepath.Join(filepath.Dir(studio), "backups")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	// So that a state of the studio is one state of its file. Where another program
	// is reading, the log is left, and is a part of that state.
	if err := db.QueryRowContext(ctx, foldLogBack).Scan(new(int), new(int), new(int)); err != nil {
		return "", err
	}
	// A transaction holds the file, so that nobody else writes to it or copies it meanwhile.
	held, err := db.BeginTx(ctx, nil)
	if err != nil {
		return "", err
	}
	defer func() { _ = held.Rollback() }()
	if have, err := one(ctx, &tx{Tx: held}, column[int], selectVersion); err != nil || have != version {
		return "", err
	}
	if err := sweep(dir); err != nil {
		return "", err
	}
	state, err := stateOf(studio)
	if err != nil {
		return "", err
	}
	form := fmt.Sprintf("studio-form-%04d-", version)
	before, err := named(dir, func(name string) bool {
		return strings.HasPrefix(name, form) && strings.HasSuffix(name, "-"+state+".db")
	})
	if err != nil || len(before) > 0 {
		return strings.Join(before[:min(len(before), 1)], ""), err
	}
	path := filepath.Join(dir, form+time.Now().UTC().Format("20060102T150405.000000Z")+"-"+state+".db")
	if err := copyWhole(ctx, db, path); err != nil {
		return "", errors.Join(err, sweep(dir)) // half a backup is none
	}
	return path, nil
}

// part is the end of the name of a copy that is being written.
const part = ".part"

// copyWhole copies the studio to path, which is there only if all of it is.
func copyWhole(ctx context.Context, db *sql.DB, path string) error {
	// Made empty first, which SQLite accepts, so that nobody else may read it.
	f, err := os.OpenFile(path+part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, vacuumInto, path+part); err != nil {
		return err
	}
	if err := syncFile(path + part); err != nil {
		return err
	}
	if err := os.Rename(path+part, path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

// sweep takes away what is left of copies that were broken off. Those that an
// earlier program broke off have the name of a whole one, and a journal beside them.
func sweep(dir string) error {
	broken, err := named(dir, func(name string) bool {
		return strings.HasPrefix(name, "studio-form-") && (strings.HasSuffix(name, part) || strings.HasSuffix(name, "-journal"))
	})
	for _, path := range broken {
		err = errors.Join(err, os.Remove(path))
		if copied, ok := strings.CutSuffix(path, ".db-journal"); ok {
			if rm := os.Remove(copied + ".db"); !errors.Is(rm, fs.ErrNotExist) {
				err = errors.Join(err, rm)
			}
		}
	}
	return err
}

// named are the paths of the files in a directory whose name is as wanted.
func named(dir string, wanted func(name string) bool) ([]string, error) {
	entries, err := os.ReadDir(dir)
	var out []string
	for _, e := range entries {
		if wanted(e.Name()) {
			out = append(out, filepath.Join(dir, e.Name()))
		}
	}
	return out, err
}

// stateOf is a digest of the studio's file and its log, short enough for a name.
func stateOf(studio string) (string, error) {
	sum := sha256.New()
	for _, path := range []string{studio, studio + "-wal"} {
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = io.Copy(sum, f)
		if err := errors.Join(err, f.Close()); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(sum.Sum(nil)[:8]), nil
}

// syncDir sees a new name in a directory onto the disk. Windows has no such call,
// and does not need it.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncFile sees a file onto the disk, which VACUUM INTO does not promise.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
