//go:build linux || darwin

package privatepg

import (
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkColdStart makes a cluster and starts it: the first start of a new maker.
func BenchmarkColdStart(b *testing.B) {
	parent := filepath.Dir(newDiskFolder(b))
	for i := 0; b.Loop(); i++ {
		server, err := Start(b.Context(), Options{DataDir: filepath.Join(parent, strconv.Itoa(i))})
		require.NoError(b, err)
		b.StopTimer()
		mustStop(b, server)
		b.StartTimer()
	}
}

// BenchmarkWarmStart starts a cluster that was stopped: every later start.
func BenchmarkWarmStart(b *testing.B) {
	dir := newDiskFolder(b)
	mustStop(b, mustStart(b, Options{DataDir: dir}))
	for b.Loop() {
		server, err := Start(b.Context(), Options{DataDir: dir})
		require.NoError(b, err)
		b.StopTimer()
		mustStop(b, server)
		b.StartTimer()
	}
}

// BenchmarkStop stops an idle server.
func BenchmarkStop(b *testing.B) {
	dir := newDiskFolder(b)
	for b.Loop() {
		b.StopTimer()
		server, err := Start(b.Context(), Options{DataDir: dir})
		require.NoError(b, err)
		b.StartTimer()
		mustStop(b, server)
	}
}
