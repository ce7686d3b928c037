package store

import (
	"context"
	"database/sql"
	"fmt"
)

// Forms is how many forms of the studio there have been.
var Forms = len(migrations)

// OpenAs opens as a program did that knew the first n migrations, and after
// them those whose SQL is given.
func OpenAs(ctx context.Context, where string, n int, more ...string) (*Store, error) {
	steps := append([]migration(nil), migrations[:n]...)
	for _, sql := range more {
		k := len(steps) + 1
		steps = append(steps, migration{n: k, name: fmt.Sprintf("%04d_of_a_test.sql", k), sql: sql})
	}
	return open(ctx, where, steps)
}

// DB is the pool beneath.
func (s *Store) DB() *sql.DB { return s.db }

// DefaultDirOn is DefaultDir on another platform.
var DefaultDirOn = defaultDir
