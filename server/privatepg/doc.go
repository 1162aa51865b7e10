// Package privatepg runs the Postgres that belongs to one data folder.
//
// A maker who has no database of their own starts Yardwright and nothing else. This package
// finds Postgres binaries on the machine (version 14 or newer), makes a cluster in the data
// folder at the first start, runs it as a child process that only this program's user can
// reach, and stops it with the program.
//
// # What lies in the data folder
//
//	pgdata/        the cluster: everything the workshop has written down
//	pgdata.lock    held while a program uses the folder; names that program
//	pgdata.init-*  a cluster being made; renamed to pgdata when it is complete
//	postgres.log   what Postgres says; the file before it is postgres.log.1
//	run/           the socket, when its path is short enough for the system
//
// # Invariants
//
//   - A cluster is never initialised a second time, and nothing in it is ever deleted except
//     the lock file of a Postgres that is no longer running. A cluster of another major version,
//     or a pgdata that is not a cluster, is refused and left as it is.
//   - At most one program works in a data folder. Everything that clears up after an earlier
//     run happens only while pgdata.lock is held and no process of the cluster is alive.
//   - A process that is not a Postgres of this cluster is never signalled, whatever a left-over
//     lock file says.
//   - A commit that was acknowledged survives the end of the program and of Postgres, however
//     they end. It survives a power cut as far as the disk keeps what it confirmed.
//   - On Linux, Postgres shuts down cleanly when the program is killed. Elsewhere it stays
//     behind until the next start, which stops it first.
//   - Run as root, Postgres works as the user who owns the data, else as postgres or nobody.
//
// # What is not promised
//
// The data folder must not be shared by machines, or by containers that cannot see each
// other's processes. Clusters are not upgraded to another major version. On systems other
// than Linux and macOS Start says that DATABASE_URL is needed. The variables PGSERVICE and
// PGSERVICEFILE are read by pgx itself before any connection string.
package privatepg
