//go:build !linux && !darwin

package privatepg

import (
	"context"
	"fmt"
	"runtime"
)

// Server is a running private Postgres; there is none on this system.
type Server struct{}

// Start returns ErrUnsupported on this system.
func Start(context.Context, Options) (*Server, error) {
	return nil, fmt.Errorf("%w (%s): install Postgres %d or newer, make a database in it and set DATABASE_URL to its address, or run Yardwright with Docker Compose",
		ErrUnsupported, runtime.GOOS, OldestMajor)
}

// URL returns "".
func (s *Server) URL() string { return "" }

// Done returns nil.
func (s *Server) Done() <-chan struct{} { return nil }

// Err returns nil.
func (s *Server) Err() error { return nil }

// Stop does nothing.
func (s *Server) Stop(context.Context) error { return nil }
