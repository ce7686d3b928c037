package store

import (
	"database/sql"
	"errors"
	"fmt"
	"net"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"barwright/fault"
)

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
	host := net.JoinHostPort(c.Host, fmt.Sprint(c.Port))
	// Who runs a server has backups of it, and each migration is one transaction.
	return &Store{db: db, engine: engine{
		where: "postgres://" + host + "/" + c.Database,
		// A reader sees one snapshot; it needs no more, as it changes nothing.
		reading:     sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
		writing:     sql.TxOptions{Isolation: sql.LevelSerializable},
		hasVersions: postgresHasVersions, lockMigrations: advisoryLock,
		listIn: `SELECT json_array_elements_text(CAST(? AS JSON))`, again: func(err error, _ time.Duration) bool { return postgresAgain(err) },
		words: func(err error) (string, fault.Kind) { return postgresWords(err, host, c.Database), fault.Internal },
	}}, nil
}

// SQLSTATE codes: PostgreSQL documentation, appendix A.
const (
	serializationFailure = "40001"
	deadlockDetected     = "40P01"
	uniqueViolation      = "23505"
)

// postgresAgain says that err came from another transaction in between. A key that is
// there already is one too: every key is looked for before it is written, so it
// came meanwhile, and the next try finds it and says so in words.
func postgresAgain(err error) bool {
	var p *pgconn.PgError
	return errors.As(err, &p) && (p.Code == serializationFailure || p.Code == deadlockDetected || p.Code == uniqueViolation)
}

func postgresWords(err error, host, database string) string {
	say := func(sentence string) string { return fmt.Sprintf(sentence, host, database) }
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
		return ""
	}
	var c *pgconn.ConnectError
	if errors.As(err, &c) {
		return say("The PostgreSQL server at %s does not answer for the database %s. Check that it runs and that the address is right.")
	}
	return ""
}

// A table is looked for by reading the list of tables. to_regclass looked in the
// session's cache, which does not hear of a table that another program made
// while this one waited for the lock on migrations.
const postgresHasVersions = `
	SELECT EXISTS (SELECT 1 FROM pg_catalog.pg_tables WHERE schemaname = current_schema() AND tablename = 'schema_version')`

// The number is our own, "barwrigh" in ASCII, so that the lock is not another
// program's.
const advisoryLock = `SELECT pg_advisory_xact_lock(CAST(x'6261727772696768' AS BIGINT))`
