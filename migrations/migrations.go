// Package migrations holds the database schema, as forward steps for goose.
package migrations

import "embed"

// Files are the steps, in the order of their numbers.
//
//go:embed *.sql
var Files embed.FS
