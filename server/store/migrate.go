package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"yardwright/migrations"
)

// steps are the steps of the schema; a test adds one.
var steps fs.FS = migrations.Files

// Migrate brings the schema up to date. Several programs may do so at once: they take turns.
func Migrate(ctx context.Context, pool *pgxpool.Pool) (err error) {
	db := stdlib.OpenDBFromPool(pool)
	defer func() {
		if closeErr := db.Close(); err == nil {
			err = closeErr
		}
	}()
	locker, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectPostgres, db, steps, goose.WithSessionLocker(locker))
	if err != nil {
		return fmt.Errorf("the schema's steps can't be read: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("the database can't be brought up to date: %w", err)
	}
	return nil
}

// migrateTo takes the steps up to a version, or all of them if it is 0. fs.ErrNotExist if there
// is no step of that number.
func migrateTo(ctx context.Context, pool *pgxpool.Pool, version int64) (err error) {
	db := stdlib.OpenDBFromPool(pool)
	defer func() { err = errors.Join(err, db.Close()) }()
	provider, err := goose.NewProvider(goose.DialectPostgres, db, steps)
	if err != nil {
		return fmt.Errorf("the schema's steps can't be read: %w", err)
	}
	if version == 0 {
		_, err = provider.Up(ctx)
		return err
	}
	for _, source := range provider.ListSources() {
		if source.Version == version {
			_, err = provider.UpTo(ctx, version)
			return err
		}
	}
	return fs.ErrNotExist
}

// olderSchema is the schema in which an archive is brought up to date. It lives as long as that
// takes; one that was left over is removed by the next.
const olderSchema = "yardwright_archive"

// InOlderSchema makes a schema of its own that has taken the steps up to a version, with one
// empty workshop in it, and removes it afterwards. update takes the remaining steps; what it returns
// knows the program's types. The error is fs.ErrNotExist if there is no step of that number.
func (s *Store) InOlderSchema(ctx context.Context, version int64, use func(older *Store, workshop int64, update func() (*Store, error)) error) (err error) {
	own := s.Pool()
	if own == nil {
		return errors.New("an archive can't be brought up to date inside a transaction")
	}
	guard, err := own.Acquire(ctx)
	if err != nil {
		return err
	}
	defer guard.Release()
	// One at a time; the lock goes with the connection's transaction.
	hold, err := guard.Begin(ctx)
	if err != nil {
		return err
	}
	defer func() {
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), rollbackPatience)
		defer cancel()
		_ = hold.Rollback(late) // it holds nothing but the lock
	}()
	if _, err := hold.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtext($1))`, olderSchema); err != nil {
		return err
	}
	remove := func(ctx context.Context) error {
		_, err := own.Exec(ctx, `DROP SCHEMA IF EXISTS `+olderSchema+` CASCADE`)
		return err
	}
	if err := remove(ctx); err != nil {
		return err
	}
	if _, err := own.Exec(ctx, `CREATE SCHEMA `+olderSchema); err != nil {
		return fmt.Errorf("the place where an older archive is brought up to date can't be made: %w", err)
	}
	defer func() {
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Minute)
		defer cancel()
		err = errors.Join(err, remove(late))
	}()
	open := func() (*pgxpool.Pool, error) {
		config := own.Config()
		config.ConnConfig.RuntimeParams["search_path"] = olderSchema
		config.MaxConns, config.MinConns = 4, 0
		config.AfterConnect = func(_ context.Context, conn *pgx.Conn) error {
			Register(conn.TypeMap())
			return nil
		}
		return pgxpool.NewWithConfig(ctx, config)
	}
	pool, err := open()
	if err != nil {
		return err
	}
	defer pool.Close()
	if err := migrateTo(ctx, pool, version); err != nil {
		return err
	}
	older := New(pool)
	workshop, err := older.AddWorkshop(ctx, "archive")
	if err != nil {
		return err
	}
	return use(older, workshop, func() (*Store, error) {
		if err := migrateTo(ctx, pool, 0); err != nil {
			return nil, fmt.Errorf("the archive can't be brought up to date: %w", err)
		}
		pool.Reset() // what its connections know of the tables is out of date
		return older, nil
	})
}
