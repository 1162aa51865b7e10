package store

import (
	"context"

	"github.com/jackc/pgx/v5"
)

type readOnlyKey struct{}

// notSaved is said where something would have been written in a context of ReadOnly.
const notSaved = "You had been signed out, so this was not saved. Look at it once more, then save it."

// ReadOnly returns a context in which the database refuses every change, with a Fault. A form
// that was sent after its sender had been signed out is shown again in such a context: the
// same steps are gone through, and nothing can be written.
func ReadOnly(ctx context.Context) context.Context {
	return context.WithValue(ctx, readOnlyKey{}, true)
}

// AsFault turns what a rule of the schema refused into a Fault, for errors that reached the
// caller through another library; other errors stay as they are.
func AsFault(err error) error { return fault(err) }

const readOnlyMark = "yardwright read only"

// prepareReadOnly makes a connection that a context of ReadOnly takes from the pool refuse
// changes.
func prepareReadOnly(ctx context.Context, conn *pgx.Conn) (bool, error) {
	if ctx.Value(readOnlyKey{}) == nil {
		return true, nil
	}
	conn.PgConn().CustomData()[readOnlyMark] = true
	_, err := conn.Exec(ctx, `SET default_transaction_read_only = on`)
	return err == nil, err
}

// releaseReadOnly closes such a connection, so that nobody else gets it.
func releaseReadOnly(conn *pgx.Conn) bool { return conn.PgConn().CustomData()[readOnlyMark] == nil }
