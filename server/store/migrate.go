package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"yardwright/migrations"
)

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
	provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files, goose.WithSessionLocker(locker))
	if err != nil {
		return fmt.Errorf("the schema's steps can't be read: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("the database can't be brought up to date: %w", err)
	}
	return nil
}
