package privatepg

import (
	"errors"
	"time"
)

// OldestMajor is the oldest major version of Postgres that Yardwright works with.
const OldestMajor = 14

// Kinds of failure that a caller may want to tell apart with errors.Is. The errors that
// Start returns say in plain words what happened and what to do.
var (
	// ErrInUse means that another program works in the data folder.
	ErrInUse = errors.New("the data folder is in use")
	// ErrNoPostgres means that no suitable Postgres was found on this machine.
	ErrNoPostgres = errors.New("no Postgres was found")
	// ErrOtherVersion means that the cluster belongs to a major version that was not found
	// on this machine. Nothing was changed.
	ErrOtherVersion = errors.New("the data was written by another version of Postgres")
	// ErrUnsupported means that private clusters do not exist on this operating system.
	ErrUnsupported = errors.New("no private Postgres on this system")
)

// Options say where the private Postgres lives. The zero value serves the user's own data
// with the Postgres found on the machine.
type Options struct {
	// DataDir is the data folder; it is made when missing. Empty means $XDG_DATA_HOME/yardwright
	// or ~/.local/share/yardwright; for root, /var/lib/yardwright or the next best folder that
	// the user who runs Postgres can reach, and Log is told which.
	DataDir string

	// Name sets apart several clusters of one user in the default place: the folder is then
	// called yardwright-NAME. It is not used with DataDir.
	Name string

	// BinDir is the folder that holds initdb and postgres. Empty means PATH, then the folders
	// where the usual packages put them.
	BinDir string

	// FastAndUnsafe skips every wait for the disk. Data is lost when the machine stops. For
	// tests only.
	FastAndUnsafe bool

	// ReadyTimeout bounds the wait for Postgres to answer, recovery after a crash included.
	// Zero means two minutes.
	ReadyTimeout time.Duration

	// Log receives one-line messages for the person at the terminal; nil drops them.
	Log func(message string)

	runAs    string          // tests: the account that root hands over to
	folders  func() []string // tests: where binaries are looked for without a BinDir
	patience time.Duration   // tests: how long leftovers of an earlier run are waited for
}

const (
	defaultReadyTimeout = 2 * time.Minute
	defaultPatience     = 20 * time.Second
)

func (o Options) withDefaults() Options {
	if o.ReadyTimeout <= 0 {
		o.ReadyTimeout = defaultReadyTimeout
	}
	if o.patience <= 0 {
		o.patience = defaultPatience
	}
	if o.Log == nil {
		o.Log = func(string) {}
	}
	return o
}
