//go:build linux || darwin

package privatepg

import (
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// TestKilledUnderWriteLoad kills the program, Postgres, or both at once while rows are being
// written, and starts again at once. The test keeps its own ledger of what was acknowledged.
func TestKilledUnderWriteLoad(t *testing.T) {
	t.Parallel()
	const enough = 500 // acknowledged rows before the kill
	for _, test := range []struct {
		name              string
		program, postgres bool
	}{
		{"program", true, false},
		{"Postgres", false, true},
		{"both", true, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			dir := newDiskFolder(t)
			h := startHelper(t, "write", dir)
			require.Equal(t, "ready", h.line())
			postgres := postmasterPid(pidFile(place{dir: dir}))
			require.NotZero(t, postgres)

			var ledger []int64
			var words []string
			listen := func(line string) {
				if id, isAck := strings.CutPrefix(line, "ack "); isAck {
					n, err := strconv.ParseInt(id, 10, 64)
					require.NoError(t, err)
					ledger = append(ledger, n)
				} else {
					words = append(words, line)
				}
			}
			for len(ledger) < enough {
				line := h.line()
				require.NotEmpty(t, line, "the helper ended early: %v", words)
				listen(line)
			}
			if test.postgres {
				require.NoError(t, syscall.Kill(postgres, syscall.SIGKILL))
			}
			if test.program {
				require.NoError(t, syscall.Kill(h.pid(), syscall.SIGKILL))
			}
			for line := h.line(); line != ""; line = h.line() {
				listen(line) // acknowledged before the kill took effect
			}
			h.finish()
			if !test.program {
				require.Contains(t, strings.Join(words, "\n"), "ended: the private Postgres ended by itself (signal: killed)")
			}

			server := mustStart(t, Options{DataDir: dir})
			require.NotContains(t, readFile(t, server.place.log()), "already exists", "no start failed on leftovers")
			requireLedger(t, server.URL(), ledger)
			execute(t, server.URL(), "INSERT INTO ledger VALUES (-1, 'after'); CHECKPOINT")
		})
	}
}

// requireLedger checks that every acknowledged row is there, whole.
func requireLedger(t *testing.T, url string, ledger []int64) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	defer conn.Close(t.Context())
	var missing, spoilt, kept int
	err = conn.QueryRow(t.Context(), `
		SELECT count(*) FILTER (WHERE ledger.id IS NULL),
		       count(*) FILTER (WHERE ledger.payload <> md5(acked.id::text)),
		       (SELECT count(*) FROM ledger)
		FROM unnest($1::bigint[]) AS acked (id) LEFT JOIN ledger USING (id)`, ledger).Scan(&missing, &spoilt, &kept)
	require.NoError(t, err)
	require.Zero(t, missing, "of %d acknowledged rows", len(ledger))
	require.Zero(t, spoilt)
	// A row may be committed whose acknowledgement did not get through: one per writer.
	require.LessOrEqual(t, kept, len(ledger)+ledgerWriters)
}

func TestEndOfPostgresIsReported(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server := mustStart(t, fast(dir))
	require.NoError(t, syscall.Kill(server.child.pid, syscall.SIGKILL))
	<-server.Done()
	require.ErrorContains(t, server.Err(), "ended by itself (signal: killed)")
	require.ErrorContains(t, server.Err(), server.place.log())

	_, err := Start(t.Context(), fast(dir))
	require.ErrorIs(t, err, ErrInUse, "the folder is held until Stop")
	mustStop(t, server)
	require.ErrorContains(t, server.Err(), "signal: killed", "the reason outlives Stop")
	mustStart(t, fast(dir))
}
