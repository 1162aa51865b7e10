//go:build linux || darwin

package privatepg

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Server is a running private Postgres. Its methods may be called from several goroutines.
type Server struct {
	place     place
	lock      *folderLock
	logFile   *os.File
	logStart  int64 // where this start's messages begin
	socketDir string
	temporary bool // the socket's folder is removed after use
	child     *child

	stopOnce sync.Once
	stopErr  error
	stopping chan struct{} // closed when Stop was called
	done     chan struct{} // closed when Postgres has ended
	endErr   error         // why; set before done is closed
}

// Start runs the private Postgres and returns when it accepts connections and its database
// exists. At the first start it makes the cluster, which takes about a second. The context
// bounds the start only; the caller must Stop the server.
//
// Errors are written for the person at the terminal and say what to do; ErrInUse, ErrNoPostgres
// and ErrOtherVersion are told apart with errors.Is. After an error nothing is left running.
func Start(ctx context.Context, opts Options) (*Server, error) {
	opts = opts.withDefaults()
	if opts.folders == nil {
		opts.folders = candidateFolders
	}
	p, err := choosePlace(opts)
	if err != nil {
		return nil, err
	}
	lock, err := lockFolder(p)
	if err != nil {
		return nil, err
	}
	s := &Server{place: p, lock: lock, stopping: make(chan struct{}), done: make(chan struct{})}
	if err := s.start(ctx, opts); err != nil {
		return nil, errors.Join(err, s.release())
	}
	go s.watch()
	return s, nil
}

func (s *Server) start(ctx context.Context, opts Options) error {
	b, err := prepareCluster(ctx, s.place, opts)
	if err != nil {
		return err
	}
	if s.socketDir, s.temporary, err = s.place.socketDir(); err != nil {
		return err
	}
	if s.logFile, err = openLog(s.place); err != nil {
		return fmt.Errorf("log of Postgres: %w", err)
	}
	if err := s.launch(ctx, b, opts); err != nil {
		return err
	}
	if err := s.ensureDatabase(ctx); err != nil {
		return errors.Join(fmt.Errorf("opening the database: %w", err), s.abandon())
	}
	return nil
}

// prepareCluster finds the binaries that fit the cluster, and makes it when there is none.
func prepareCluster(ctx context.Context, p place, opts Options) (binaries, error) {
	major, err := clusterMajor(p)
	if err != nil {
		return binaries{}, err
	}
	b, err := findBinaries(ctx, opts, major, p.who)
	if err != nil {
		return binaries{}, err
	}
	if major == 0 {
		return b, makeCluster(ctx, p, b, opts)
	}
	if uid, err := ownerID(p.cluster()); err == nil && uid != p.who.uid {
		opts.Log(fmt.Sprintf("Giving %s to user %s, who runs Postgres.", p.cluster(), p.who.name))
		return b, p.who.ownTree(p.cluster())
	}
	return b, nil
}

// launch starts Postgres, again and again for a while if an earlier run is in the way.
func (s *Server) launch(ctx context.Context, b binaries, opts Options) error {
	patient, cancel := context.WithTimeout(ctx, opts.patience)
	defer cancel()
	for {
		if err := clearLeftovers(patient, s.place, s.socketDir, opts.Log); err != nil {
			return err
		}
		err := s.launchOnce(ctx, b, opts)
		if err == nil || !errors.Is(err, errInTheWay) {
			return err
		}
		select {
		case <-patient.Done():
			return err
		case <-time.After(retryStartIn):
		}
	}
}

// errInTheWay means that Postgres found traces of an earlier run that may yet go away.
var errInTheWay = errors.New("an earlier run is still in the way: try again in a minute, or restart the computer")

// inTheWayTexts are messages of Postgres, in its C language setting (miscinit.c, sysv_shmem.c).
var inTheWayTexts = []string{
	`lock file "`,
	"pre-existing shared memory block",
	"could not create any Unix-domain sockets",
}

func (s *Server) launchOnce(ctx context.Context, b binaries, opts Options) error {
	info, err := s.logFile.Stat()
	if err != nil {
		return fmt.Errorf("log of Postgres: %w", err)
	}
	s.logStart = info.Size()
	s.child, err = startChild(b.postgres(), postmasterArgs(s.place, s.socketDir, opts.FastAndUnsafe), s.place, s.logFile)
	if err != nil {
		return err
	}
	if err := s.awaitReady(ctx, opts); err != nil {
		return errors.Join(err, s.abandon())
	}
	return nil
}

// awaitReady watches postmaster.pid: knocking at the socket instead would fill the log with
// refusals while Postgres recovers.
func (s *Server) awaitReady(ctx context.Context, opts Options) error {
	const sayAfter = 3 * time.Second
	ctx, cancel := context.WithTimeout(ctx, opts.ReadyTimeout)
	defer cancel()
	told := time.After(sayAfter)
	for !isReady(pidFile(s.place), s.child.pid) {
		select {
		case <-s.child.ended:
			return s.explainEnd()
		case <-ctx.Done():
			return fmt.Errorf("the private Postgres was not ready in time (%w). It said last:\n%s", ctx.Err(), s.lastWords())
		case <-told:
			opts.Log("Postgres is starting, and recovering if it was cut off the last time; please wait.")
		case <-time.After(2 * time.Millisecond):
		}
	}
	return nil
}

// explainEnd says why Postgres ended without being asked to.
func (s *Server) explainEnd() error {
	words := s.lastWords()
	for _, text := range inTheWayTexts {
		if strings.Contains(words, text) {
			return fmt.Errorf("%w. Postgres said:\n%s", errInTheWay, words)
		}
	}
	return fmt.Errorf("the private Postgres ended by itself (%v). It said last (more in %s):\n%s", s.child.state, s.place.log(), words)
}

func (s *Server) lastWords() string { return lastLines(logSince(s.logFile, s.logStart)) }

// abandon stops a Postgres that nobody has seen yet.
func (s *Server) abandon() error {
	ctx, cancel := context.WithTimeout(context.Background(), patienceWithStop)
	defer cancel()
	return s.child.stop(ctx)
}

// noSuchDatabase is the SQLSTATE invalid_catalog_name (appendix A of the Postgres manual).
const noSuchDatabase = "3D000"

// ensureDatabase connects, and makes the database at the first start.
func (s *Server) ensureDatabase(ctx context.Context) error {
	err := s.execute(ctx, database, "")
	var refusal *pgconn.PgError
	if !errors.As(err, &refusal) || refusal.Code != noSuchDatabase {
		return err
	}
	return s.execute(ctx, "postgres", "CREATE DATABASE "+database)
}

func (s *Server) execute(ctx context.Context, database, statement string) error {
	conn, err := pgx.Connect(ctx, s.url(database))
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, statement)
	return errors.Join(err, conn.Close(ctx))
}

// URL returns the connection string for pgx. It needs no password: only this user reaches the
// socket. It names everything that a PG* variable of the environment would otherwise decide.
func (s *Server) URL() string { return s.url(database) }

func (s *Server) url(database string) string {
	query := url.Values{}
	query.Set("host", s.socketDir)
	query.Set("port", socketPort)
	query.Set("user", superuser)
	query.Set("sslmode", "disable")
	query.Set("target_session_attrs", "any")
	query.Set("channel_binding", "disable")
	query.Set("options", "")
	// pgx reads the query as libpq does, where a plus sign is no blank.
	return "postgres:///" + database + "?" + strings.ReplaceAll(query.Encode(), "+", "%20")
}

// Done is closed when Postgres has ended, by itself or by Stop. By itself it does not come
// back: the caller Stops the server and may Start another.
func (s *Server) Done() <-chan struct{} { return s.done }

// Err says why Postgres ended by itself. It is nil while Postgres runs and when Stop ended it.
func (s *Server) Err() error {
	select {
	case <-s.done:
		return s.endErr
	default:
		return nil
	}
}

func (s *Server) watch() {
	<-s.child.ended
	select {
	case <-s.stopping:
	default:
		s.endErr = s.explainEnd()
	}
	close(s.done)
}

// Stop ends Postgres and waits for it: connections are cut, open transactions rolled back. If
// ctx ends first Postgres is cut off, to recover at the next start, and the error says so.
// Stop must also be called when Postgres ended by itself. Later calls return what the first did.
func (s *Server) Stop(ctx context.Context) error {
	s.stopOnce.Do(func() {
		close(s.stopping)
		s.stopErr = s.child.stop(ctx)
		if !s.child.hasEnded() {
			return // still at work in the folder, which must stay locked
		}
		<-s.done
		s.stopErr = errors.Join(s.stopErr, s.release())
	})
	return s.stopErr
}

// release gives back everything but the child, the lock last.
func (s *Server) release() error {
	var errs []error
	if s.temporary {
		errs = append(errs, os.RemoveAll(s.socketDir))
	}
	if s.logFile != nil {
		errs = append(errs, s.logFile.Close())
	}
	return errors.Join(append(errs, s.lock.release())...)
}
