package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"barwright/fault"
)

type postgresEngine struct{ host, database string }

func openPostgres(where string) (*Store, error) {
	c, err := pgx.ParseConfig(where)
	if err != nil {
		// pgx leaves the password out of its words.
		return nil, &fault.Error{Kind: fault.Invalid, Field: "--db", Message: "The address of the PostgreSQL server cannot be read. Write it as " +
			"postgres://user@host:5432/database.", Err: err}
	}
	// Whatever the server's defaults: an acknowledged write is on its disk, and
	// a session of ours can be told from others.
	c.RuntimeParams["synchronous_commit"] = "on"
	c.RuntimeParams["application_name"] = "barwright"
	db := stdlib.OpenDB(*c)
	const most = 10 // a server has 100 connections for everybody by default
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return &Store{db: db, engine: postgresEngine{net.JoinHostPort(c.Host, fmt.Sprint(c.Port)), c.Database}}, nil
}

func (e postgresEngine) where() string {
	return fmt.Sprintf("postgres://%s/%s", e.host, e.database)
}

// reading sees one snapshot; it needs no more, as it changes nothing.
func (e postgresEngine) reading() *sql.TxOptions {
	return &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
}

func (e postgresEngine) writing() *sql.TxOptions {
	return &sql.TxOptions{Isolation: sql.LevelSerializable}
}

func (e postgresEngine) oneWriter() bool { return false }

// SQLSTATE codes: PostgreSQL documentation, appendix A.
const (
	serializationFailure = "40001"
	deadlockDetected     = "40P01"
	uniqueViolation      = "23505"
)

// again says that err came from another transaction in between. A key that is
// there already is one too: every key is looked for before it is written, so it
// came meanwhile, and the next try finds it and says so in words.
func (e postgresEngine) again(err error) bool {
	var p *pgconn.PgError
	if !errors.As(err, &p) {
		return false
	}
	return p.Code == serializationFailure || p.Code == deadlockDetected || p.Code == uniqueViolation
}

func (e postgresEngine) words(err error) *fault.Error {
	say := func(sentence string) *fault.Error {
		return &fault.Error{Kind: fault.Internal, Message: fmt.Sprintf(sentence, e.host, e.database), Err: err}
	}
	var p *pgconn.PgError
	if errors.As(err, &p) && len(p.Code) == 5 {
		switch {
		case p.Code[:2] == "28":
			return say("The PostgreSQL server at %s does not let this user in to the database %s. Check the user and the password.")
		case p.Code == "3D000":
			return say("The PostgreSQL server at %s has no database %s. Make it with createdb, then try again.")
		case p.Code == "42501":
			return say("On the PostgreSQL server at %s this user may not do that in the database %s. Let it own the database.")
		case p.Code[:2] == "53":
			return say("The PostgreSQL server at %s has no room left for %s (disk, memory or connections). Nothing was kept; try again.")
		case p.Code[:2] == "57" || p.Code[:2] == "08":
			return say("The PostgreSQL server at %s broke off while working on %s. Nothing was kept; try again.")
		}
		return nil
	}
	var c *pgconn.ConnectError
	if errors.As(err, &c) {
		return say("The PostgreSQL server at %s does not answer for the database %s. Check that it runs and that the address is right.")
	}
	return nil
}

// A table is looked for by reading the list of tables. to_regclass looked in the
// session's cache, which does not hear of a table that another program made
// while this one waited for the lock on migrations.
const postgresHasVersions = `
	SELECT EXISTS (SELECT 1 FROM pg_catalog.pg_tables WHERE schemaname = current_schema() AND tablename = 'schema_version')`

func (e postgresEngine) hasVersions(ctx context.Context, t *sql.Tx) (has bool, err error) {
	err = t.QueryRowContext(ctx, postgresHasVersions).Scan(&has)
	return has, err
}

// migrationLock is a number of our own, "barwrigh" in ASCII, so that the lock
// is not another program's.
const migrationLock = 0x6261727772696768

const advisoryLock = `SELECT pg_advisory_xact_lock($1)`

func (e postgresEngine) lockMigrations(ctx context.Context, t *sql.Tx) error {
	_, err := t.ExecContext(ctx, advisoryLock, int64(migrationLock))
	return err
}

// backUp has nothing to do: who runs a server has backups of it, and each
// migration is one transaction.
func (e postgresEngine) backUp(context.Context, *sql.DB, int) error { return nil }
