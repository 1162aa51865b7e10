package store

import (
	"context"
	"time"

	"yardwright/batch/length"
)

// Kinds of moves of a bolt.
const (
	MoveReceived  = "received"
	MoveCut       = "cut"
	MoveCorrected = "corrected"
	MoveRemnant   = "kept as a remnant"
	MoveThrown    = "thrown away"
	MoveUndone    = "undone"
)

// BoltMove is one entry of a bolt's history. The length of a bolt is the sum of the changes of
// its moves.
type BoltMove struct {
	ID     int64
	BoltID int64
	Kind   string
	// Change is the length added, or taken if below zero.
	Change length.Length
	// BatchID and BatchName say for which batch, if for one.
	BatchID   *int64
	BatchName *string
	// Undoes is the move that this one undoes; Undone tells that another one undid this one.
	Undoes *int64
	Undone bool
	Note   string
	MadeAt time.Time
	// After is what was on the bolt then.
	After length.Length
}

// BoltMoves lists the history of a bolt, newest first.
func (s *Store) BoltMoves(ctx context.Context, workshop, bolt int64) ([]BoltMove, error) {
	return list[BoltMove](ctx, s.db, `
		SELECT m.id, m.bolt_id, m.kind, m.change, m.batch_id, t.name AS batch_name, m.undoes,
			EXISTS (SELECT FROM bolt_moves u WHERE u.undoes = m.id) AS undone, m.note, m.made_at, (sum(m.change) OVER (ORDER BY m.id))::bigint AS after
		FROM bolt_moves m JOIN bolts b ON b.id = m.bolt_id LEFT JOIN batches t ON t.id = m.batch_id
		WHERE b.workshop_id = @workshop AND b.id = @bolt ORDER BY m.id DESC`, args{"workshop": workshop, "bolt": bolt})
}

// BoltHold is what a batch holds of a bolt.
type BoltHold struct {
	BoltID    int64
	BatchID   int64
	BatchName string
	Length    length.Length
}

// BoltHolds lists what batches hold of some bolts, in the order in which they were released.
func (s *Store) BoltHolds(ctx context.Context, workshop int64, bolts []int64) ([]BoltHold, error) {
	return list[BoltHold](ctx, s.db, `
		SELECT r.bolt_id, r.batch_id, t.name AS batch_name, r.length FROM bolt_reservations r JOIN batches t ON t.id = r.batch_id
		WHERE t.workshop_id = @workshop AND r.bolt_id = ANY(@bolts) ORDER BY r.bolt_id, r.id`, args{"workshop": workshop, "bolts": bolts})
}

// addMove writes an entry of a bolt's history; the length of the bolt follows.
func (s *Store) addMove(ctx context.Context, m BoltMove) (int64, error) {
	return scalar[int64](ctx, s.db, `
		INSERT INTO bolt_moves (bolt_id, kind, change, batch_id, undoes, note) VALUES (@bolt, @kind, @change, @batch, @undoes, @note) RETURNING id`,
		args{"bolt": m.BoltID, "kind": m.Kind, "change": m.Change, "batch": m.BatchID, "undoes": m.Undoes, "note": m.Note})
}

// lastMove returns the newest move of a bolt that changed something and still counts; 0 if
// there is none.
func (s *Store) lastMove(ctx context.Context, bolt int64) (int64, error) {
	return scalar[int64](ctx, s.db, `
		SELECT coalesce(max(m.id), 0) FROM bolt_moves m
		WHERE m.bolt_id = @bolt AND m.undoes IS NULL AND NOT EXISTS (SELECT FROM bolt_moves u WHERE u.undoes = m.id)`, args{"bolt": bolt})
}

// LockBolts keeps bolts from changing until the transaction ends and returns them as they are
// then, by number. All who take cloth lock bolts in the same order.
func (s *Store) LockBolts(ctx context.Context, workshop int64, bolts []int64) ([]Bolt, error) {
	named := args{"workshop": workshop, "bolts": bolts}
	// What is reserved is only known once the lock is held, so it is read afterwards.
	if _, err := s.db.Exec(ctx, `SELECT FROM bolts WHERE workshop_id = @workshop AND id = ANY(@bolts) ORDER BY id FOR NO KEY UPDATE`, named); err != nil {
		return nil, err
	}
	return list[Bolt](ctx, s.db, `SELECT `+boltColumns+` FROM bolts b JOIN cloths c ON c.id = b.cloth_id WHERE b.workshop_id = @workshop AND b.id = ANY(@bolts) ORDER BY b.id`, named)
}

// ReturnBolt takes a bolt off the shelf again of which nothing was cut and nothing is held: the
// move by which it came is undone.
func (s *Store) ReturnBolt(ctx context.Context, workshop, bolt int64) error {
	return s.InTx(ctx, func(s *Store) error {
		row, err := s.Bolt(ctx, workshop, bolt)
		if err != nil {
			return err
		}
		moves, err := s.BoltMoves(ctx, workshop, bolt)
		if err != nil {
			return err
		}
		if row.Reserved > 0 || len(moves) != 1 || moves[0].Kind != MoveReceived {
			return &Fault{Kind: Conflict, Problems: []Problem{{Message: "Bolt " + row.Name + " was used or corrected since, so this can't be undone. Correct its length on the Shelf instead."}}}
		}
		if _, err := s.addMove(ctx, BoltMove{BoltID: bolt, Kind: MoveUndone, Change: -moves[0].Change, Undoes: &moves[0].ID}); err != nil {
			return err
		}
		// The name is free for the bolt that is received in its place.
		_, err = s.db.Exec(ctx, `UPDATE bolts SET name = left(name, 60) || ' (returned ' || id || ')', version = version + 1 WHERE id = @bolt`, args{"bolt": bolt})
		return fault(err)
	})
}
