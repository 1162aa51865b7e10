// Package store holds the only SQL of the program. Each exported method is one use of the
// database, in a transaction of its own where it takes more than one statement. Every
// statement is scoped by workshop. Rules live in the schema (package migrations); what the
// database refuses comes back as a *Fault at the field it belongs to.
package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"
	"github.com/jackc/pgx/v5/pgxpool"
)

// DB is what a pool and a transaction have in common.
type DB interface {
	Begin(ctx context.Context) (pgx.Tx, error)
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults
}

// Store reads and writes the database.
type Store struct {
	db DB
}

// New returns a store on a pool, or inside a transaction.
func New(db DB) *Store { return &Store{db: db} }

// Open connects to a database and makes its connections know the program's own types.
func Open(ctx context.Context, url string) (*pgxpool.Pool, error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("the database address can't be read: %w", err)
	}
	config.AfterConnect = func(_ context.Context, conn *pgx.Conn) error {
		Register(conn.TypeMap())
		return nil
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, err
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, fmt.Errorf("the database can't be reached: %w", err)
	}
	return pool, nil
}

// rollbackPatience is how long a rollback may take after the context has ended.
const rollbackPatience = 5 * time.Second

// InTx runs f in a transaction, which is committed if f returns nil and rolled back
// otherwise, also when the context has ended or f panics.
func (s *Store) InTx(ctx context.Context, f func(*Store) error) (err error) {
	return s.inTx(ctx, func(tx pgx.Tx) error { return f(New(tx)) })
}

// Tx is InTx for callers that share the transaction with another library.
func (s *Store) Tx(ctx context.Context, f func(*Store, pgx.Tx) error) error {
	return s.inTx(ctx, func(tx pgx.Tx) error { return f(New(tx), tx) })
}

func (s *Store) inTx(ctx context.Context, f func(pgx.Tx) error) error {
	tx, err := s.db.Begin(ctx)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	committed := false
	defer func() {
		if committed {
			return
		}
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), rollbackPatience)
		defer cancel()
		_ = tx.Rollback(late) // the error that led here says more
	}()
	if err := f(tx); err != nil {
		return err
	}
	if err := tx.Commit(ctx); err != nil {
		return fault(err)
	}
	committed = true
	return nil
}

// args names the arguments of a statement; a name that the statement doesn't use, or one
// that is missing, is an error.
type args = pgx.StrictNamedArgs

// list runs a query and collects its rows by column name.
func list[T any](ctx context.Context, db DB, sql string, named args) ([]T, error) {
	rows, err := db.Query(ctx, sql, named)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[T])
}

// queued adds a query to those that are sent in one round trip; its rows are in into after
// readAll.
func queued[T any](round *pgx.Batch, into *[]T, sql string, named args) {
	round.Queue(sql, named).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, pgx.RowToStructByName[T])
		return err
	})
}

// readAll sends queued queries and reads their rows.
func readAll(ctx context.Context, db DB, round *pgx.Batch) error {
	return db.SendBatch(ctx, round).Close()
}

// one runs a query for a single row; no row is a Fault of kind NotFound that names what.
func one[T any](ctx context.Context, db DB, what, sql string, named args) (T, error) {
	var none T
	rows, err := db.Query(ctx, sql, named)
	if err != nil {
		return none, err
	}
	record, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
	if errors.Is(err, pgx.ErrNoRows) {
		return none, missing(what)
	}
	return record, err
}

// scalar runs a statement that returns one value.
func scalar[T any](ctx context.Context, db DB, sql string, named args) (T, error) {
	var value T
	err := db.QueryRow(ctx, sql, named).Scan(&value)
	return value, fault(err)
}

// ContentVersion names what is saved of something that has no number of its own that counts its
// changes: another word once anything in the list is another, and never a number.
func ContentVersion[T any](list []T) string {
	content, err := json.Marshal(append([]T{}, list...)) // nothing reads as an empty list
	if err != nil {
		panic(err) // plain values
	}
	sum := sha256.Sum256(content)
	return "v" + hex.EncodeToString(sum[:8])
}

// ChangedMeanwhile begins what the second of two writers is told.
const ChangedMeanwhile = "Someone else has changed or removed this "

// changed runs an update that is guarded by a version, and tells the second of two writers.
func changed(ctx context.Context, db DB, what, sql string, named args) error {
	tag, err := db.Exec(ctx, sql, named)
	if err != nil {
		return fault(err)
	}
	if tag.RowsAffected() == 0 {
		return changedMeanwhile(what)
	}
	return nil
}

func changedMeanwhile(what string) *Fault {
	return &Fault{Kind: Conflict, Problems: []Problem{{Message: ChangedMeanwhile + what + " in the meantime. Reload the page and try again."}}}
}

// sendAll runs many statements in one round trip.
func sendAll(ctx context.Context, db DB, batch *pgx.Batch) error {
	if batch.Len() == 0 {
		return nil
	}
	results := db.SendBatch(ctx, batch)
	var failed error
	for range batch.Len() {
		if _, err := results.Exec(); err != nil && failed == nil {
			failed = fault(err)
		}
	}
	if err := results.Close(); err != nil && failed == nil {
		failed = fault(err)
	}
	return failed
}

// Register teaches a connection the program's own types.
func Register(types *pgtype.Map) {
	types.TryWrapEncodePlanFuncs = append([]pgtype.TryWrapEncodePlanFunc{wrapDecimalEncode}, types.TryWrapEncodePlanFuncs...)
	types.TryWrapScanPlanFuncs = append([]pgtype.TryWrapScanPlanFunc{wrapDecimalScan}, types.TryWrapScanPlanFuncs...)
}

// noRow returns instead where a statement should have returned a row but did not.
func noRow(err error, instead *Fault) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return instead
	}
	return err
}
