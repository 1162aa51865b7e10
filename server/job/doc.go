// Package job runs long work in the background on the same Postgres: planning a batch.
//
// A job is queued in the transaction that asks for it, so that there is never a plan without
// a job or a job without a plan. Several programs may share one database and the work. A job
// whose program is killed is taken up again by whoever is alive; the work must therefore be
// able to start anew. Progress is not kept here: the work writes it to its own row.
//
// Not promised: that a job which is taken up again goes on where it was. It starts anew.
package job
