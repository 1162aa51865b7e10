package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
	"yardwright/batch/length"
)

// States of a batch.
const (
	BatchDraft    = "draft"
	BatchReleased = "released"
	BatchBeingCut = "being cut"
	BatchCut      = "cut"
	BatchDone     = "done"
)

// batchWords are the states of a batch as makers call them.
var batchWords = map[string]string{BatchDraft: "planning", BatchReleased: "ready to cut", "being cut": "cutting", "cut": "cut", "done": "sewn"}

// BatchStateWords is what makers call a state of a batch.
func BatchStateWords(state string) string { return batchWords[state] }

// BatchStates are the states of a batch, in the order in which it goes through them.
func BatchStates() []string {
	return []string{BatchDraft, BatchReleased, BatchBeingCut, BatchCut, BatchDone}
}

// LockBatch keeps a batch from changing until the transaction ends and returns it as it is
// then.
func (s *Store) LockBatch(ctx context.Context, workshop, id int64) (Batch, error) {
	if _, err := s.db.Exec(ctx, `SELECT FROM batches WHERE workshop_id = @workshop AND id = @id FOR NO KEY UPDATE`, args{"workshop": workshop, "id": id}); err != nil {
		return Batch{}, err
	}
	return s.Batch(ctx, workshop, id)
}

// Release is what a batch holds from its release on, and what is to be done for it.
type Release struct {
	Plan    int64
	Lays    []ReleaseLay
	Bundles []int
	Notions []int64
	Holds   []NotionHold
}

// ReleaseLay is a lay of the plan with what it takes from each bolt, each named once.
type ReleaseLay struct {
	// Cloth is the index into the cloths of the plan, Lay into the lays of that cloth.
	Cloth, Lay int
	Draws      []ReleaseDraw
}

// ReleaseDraw is cloth that a lay takes from a bolt.
type ReleaseDraw struct {
	Bolt   int64
	Length length.Length
}

// Hold stores the release of a draft, which the caller has locked: the plan that holds, its
// lays, bundles and notions as things to do, and what is reserved for them.
func (s *Store) Hold(ctx context.Context, workshop, batchID int64, r Release) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "batch", `
			UPDATE batches SET state = 'released', plan_id = @plan, released_at = now(), version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND state = 'draft'`, args{"workshop": workshop, "id": batchID, "plan": r.Plan})
		if err != nil {
			return err
		}
		held := map[int64]length.Length{}
		var bolts []int64
		queue := &pgx.Batch{}
		for _, l := range r.Lays {
			lay, err := scalar[int64](ctx, s.db, `INSERT INTO batch_lays (batch_id, cloth, lay) VALUES (@batch, @cloth, @lay) RETURNING id`,
				args{"batch": batchID, "cloth": l.Cloth, "lay": l.Lay})
			if err != nil {
				return err
			}
			for _, d := range l.Draws {
				if held[d.Bolt] == 0 {
					bolts = append(bolts, d.Bolt)
				}
				held[d.Bolt] += d.Length
				queue.Queue(`INSERT INTO batch_lay_draws (lay_id, bolt_id, length) VALUES (@lay, @bolt, @length)`, args{"lay": lay, "bolt": d.Bolt, "length": d.Length})
			}
		}
		for _, number := range r.Bundles {
			queue.Queue(`INSERT INTO batch_bundles (batch_id, number) VALUES (@batch, @number)`, args{"batch": batchID, "number": number})
		}
		for _, notion := range r.Notions {
			queue.Queue(`INSERT INTO batch_notions (batch_id, notion_id) VALUES (@batch, @notion)`, args{"batch": batchID, "notion": notion})
		}
		for _, h := range r.Holds {
			queue.Queue(`INSERT INTO notion_reservations (notion_id, batch_id, roll_length, amount) VALUES (@notion, @batch, @roll, @amount)`,
				args{"notion": h.NotionID, "batch": batchID, "roll": h.RollLength, "amount": h.Amount})
		}
		if err := sendAll(ctx, s.db, queue); err != nil {
			return err
		}
		for _, bolt := range bolts {
			if err := s.Reserve(ctx, workshop, batchID, bolt, held[bolt]); err != nil {
				return err
			}
		}
		return nil
	})
}

// LetGo undoes the release of a batch, which the caller has locked and of which nothing is cut
// or taken yet: what it held is free again.
func (s *Store) LetGo(ctx context.Context, workshop, batchID int64) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "batch", `
			UPDATE batches b SET state = 'draft', released_at = NULL, version = version + 1
			WHERE b.workshop_id = @workshop AND b.id = @id AND b.state = 'released'
				AND NOT EXISTS (SELECT FROM batch_lays l WHERE l.batch_id = b.id AND l.cut_at IS NOT NULL)
				AND NOT EXISTS (SELECT FROM batch_notions n WHERE n.batch_id = b.id AND n.taken_at IS NOT NULL)`, args{"workshop": workshop, "id": batchID})
		if err != nil {
			return err
		}
		queue := &pgx.Batch{}
		for _, table := range []string{"batch_lays", "batch_bundles", "batch_notions", "bolt_reservations", "notion_reservations"} {
			queue.Queue(`DELETE FROM `+table+` WHERE batch_id = @id`, args{"id": batchID})
		}
		return sendAll(ctx, s.db, queue)
	})
}

// BatchLay is a lay of a released batch.
type BatchLay struct {
	ID         int64
	Cloth, Lay int
	// CutAt is when it was marked as cut; nil if it isn't yet.
	CutAt *time.Time
	Draws []LayDraw `db:"-"`
}

// LayDraw is what a lay takes from a bolt, as planned and as cut.
type LayDraw struct {
	ID, LayID, BoltID int64
	BoltName, Place   string
	Remnant           bool
	// Length is as planned; Taken what was cut.
	Length, Taken length.Length
	// OnBolt is on the bolt now, Reserved what batches hold of that, this lay included until
	// it is cut.
	OnBolt, Reserved length.Length
	CutMove          *int64
	RestMove         *int64
	// Rest says what became of the end, if anything did, and ThrownAway how much of it went.
	Rest       string
	ThrownAway length.Length
}

// Others is what is held of the bolt for other lays and batches.
func (d LayDraw) Others() length.Length {
	if d.CutMove != nil {
		return d.Reserved
	}
	return d.Reserved - d.Length
}

// Left is what the bolt will have when the lay is cut as planned.
func (d LayDraw) Left() length.Length { return d.OnBolt - d.Length }

// BatchLays lists the lays of a released batch in the order of its plan.
func (s *Store) BatchLays(ctx context.Context, workshop, batchID int64) ([]BatchLay, error) {
	var lays []BatchLay
	var draws []LayDraw
	round, named := &pgx.Batch{}, args{"workshop": workshop, "batch": batchID}
	queued(round, &lays, laysOfBatch, named)
	queued(round, &draws, drawsOfBatch, named)
	err := readAll(ctx, s.db, round)
	return withDraws(lays, draws), err
}

const laysOfBatch = `
	SELECT l.id, l.cloth, l.lay, l.cut_at FROM batch_lays l JOIN batches b ON b.id = l.batch_id
	WHERE b.workshop_id = @workshop AND b.id = @batch ORDER BY l.cloth, l.lay`

const drawsOfBatch = `
	SELECT d.id, d.lay_id, d.bolt_id, b.name AS bolt_name, b.place, b.remnant, d.length, coalesce(-m.change, 0)::bigint AS taken, b.length AS on_bolt,
		coalesce((SELECT sum(r.length) FROM bolt_reservations r WHERE r.bolt_id = b.id), 0)::bigint AS reserved, d.cut_move, d.rest_move,
		coalesce(e.kind, '') AS rest, coalesce(-e.change, 0)::bigint AS thrown_away
	FROM batch_lay_draws d JOIN batch_lays l ON l.id = d.lay_id JOIN bolts b ON b.id = d.bolt_id
		LEFT JOIN bolt_moves m ON m.id = d.cut_move LEFT JOIN bolt_moves e ON e.id = d.rest_move
	WHERE b.workshop_id = @workshop AND l.batch_id = @batch ORDER BY d.id`

func withDraws(lays []BatchLay, draws []LayDraw) []BatchLay {
	at := map[int64]int{}
	for i := range lays {
		at[lays[i].ID] = i
	}
	for _, d := range draws {
		lays[at[d.LayID]].Draws = append(lays[at[d.LayID]].Draws, d)
	}
	return lays
}

// BatchWork is everything that the page of a batch shows beside its plan.
type BatchWork struct {
	Lays    []BatchLay
	Bundles []BatchBundle
	Notions []BatchNotion
	Orders  []BatchOrder
	Lines   []batch.Line
	// Plans counts the plannings that gave a plan.
	Plans int
}

// BatchWork reads how far a batch is, with its orders, in one round trip.
func (s *Store) BatchWork(ctx context.Context, workshop, batchID int64) (BatchWork, error) {
	var w BatchWork
	var draws []LayDraw
	var kept []struct{ Kept int }
	round, named := &pgx.Batch{}, args{"workshop": workshop, "batch": batchID}
	queued(round, &w.Lays, laysOfBatch, named)
	queued(round, &draws, drawsOfBatch, named)
	queued(round, &w.Bundles, bundlesOfBatch, named)
	queued(round, &w.Notions, notionsOfBatch, named)
	queued(round, &w.Orders, ordersOfBatch, named)
	queued(round, &w.Lines, linesOfBatch, named)
	queued(round, &kept, `SELECT count(p.plan) AS kept FROM batch_plans p JOIN batches b ON b.id = p.batch_id WHERE b.workshop_id = @workshop AND p.batch_id = @batch
		AND NOT EXISTS (SELECT FROM batch_plans c WHERE c.batch_id = p.batch_id AND c.continues = coalesce(p.continues, p.id) AND c.id > p.id)`, named)
	err := readAll(ctx, s.db, round)
	w.Lays = withDraws(w.Lays, draws)
	if len(kept) > 0 {
		w.Plans = kept[0].Kept
	}
	return w, err
}

// What becomes of the end of a bolt.
const (
	RestStays   = "stays on its bolt"
	RestRemnant = MoveRemnant
	RestThrown  = MoveThrown
)

// DrawCut is what was really taken from a bolt, and what becomes of its end.
type DrawCut struct {
	Draw  LayDraw
	Taken length.Length
	// Rest is empty where there is no end, or where it is held for others.
	Rest  string
	Place string
}

// CutLay stores that a lay was cut: the bolts get shorter, what was held for the lay is free
// again, and ends go where they are to go. The caller has locked the batch and the bolts.
func (s *Store) CutLay(ctx context.Context, workshop, batchID, lay int64, note string, cuts []DrawCut) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "lay", `UPDATE batch_lays SET cut_at = now() WHERE id = @lay AND batch_id = @batch AND cut_at IS NULL`, args{"lay": lay, "batch": batchID})
		if err != nil {
			return err
		}
		for _, cut := range cuts {
			if err := s.cutDraw(ctx, batchID, note, cut); err != nil {
				return err
			}
		}
		return s.settle(ctx, workshop, batchID)
	})
}

func (s *Store) cutDraw(ctx context.Context, batchID int64, note string, cut DrawCut) error {
	if err := s.unreserve(ctx, batchID, cut.Draw); err != nil {
		return err
	}
	move := BoltMove{BoltID: cut.Draw.BoltID, Kind: MoveCut, Change: -cut.Taken, BatchID: &batchID, Note: note}
	cutMove, err := s.addMove(ctx, move)
	if err != nil {
		return err
	}
	var restMove *int64
	if cut.Rest == RestRemnant || cut.Rest == RestThrown {
		move.Kind, move.Change, move.Note = cut.Rest, 0, cut.Place
		if cut.Rest == RestThrown {
			move.Change, move.Note = cut.Taken-cut.Draw.OnBolt, note
		}
		id, err := s.addMove(ctx, move)
		if err != nil {
			return err
		}
		restMove = &id
	}
	_, err = s.db.Exec(ctx, `
		UPDATE batch_lay_draws d SET cut_move = @cut, rest_move = @rest, place_before = b.place, remnant_before = b.remnant FROM bolts b WHERE d.id = @draw AND b.id = d.bolt_id`,
		args{"draw": cut.Draw.ID, "cut": cutMove, "rest": restMove})
	if err != nil {
		return fault(err)
	}
	_, err = s.db.Exec(ctx, `UPDATE bolts SET version = version + 1, remnant = remnant OR @remnant, place = CASE WHEN @remnant THEN @place ELSE place END WHERE id = @bolt`,
		args{"bolt": cut.Draw.BoltID, "remnant": cut.Rest == RestRemnant, "place": cut.Place})
	return fault(err)
}

// unreserve gives free what was held for one draw.
func (s *Store) unreserve(ctx context.Context, batchID int64, d LayDraw) error {
	named := args{"batch": batchID, "bolt": d.BoltID, "length": d.Length}
	if _, err := s.db.Exec(ctx, `DELETE FROM bolt_reservations WHERE batch_id = @batch AND bolt_id = @bolt AND length = @length`, named); err != nil {
		return fault(err)
	}
	_, err := s.db.Exec(ctx, `UPDATE bolt_reservations SET length = length - @length WHERE batch_id = @batch AND bolt_id = @bolt AND length > @length`, named)
	return fault(err)
}

// UndoCut undoes CutLay. Something else that has happened to a bolt since is a conflict.
func (s *Store) UndoCut(ctx context.Context, workshop, batchID int64, lay BatchLay) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "lay", `UPDATE batch_lays SET cut_at = NULL WHERE id = @lay AND batch_id = @batch AND cut_at IS NOT NULL`, args{"lay": lay.ID, "batch": batchID})
		if err != nil {
			return err
		}
		for _, d := range lay.Draws {
			if err := s.undoDraw(ctx, batchID, d); err != nil {
				return err
			}
		}
		return s.settle(ctx, workshop, batchID)
	})
}

func (s *Store) undoDraw(ctx context.Context, batchID int64, d LayDraw) error {
	for _, m := range []struct {
		move   *int64
		change length.Length
	}{{d.RestMove, d.ThrownAway}, {d.CutMove, d.Taken}} {
		if m.move == nil {
			continue
		}
		last, err := s.lastMove(ctx, d.BoltID)
		if err != nil {
			return err
		}
		if last != *m.move {
			return &Fault{Kind: Conflict, Problems: []Problem{{Message: fmt.Sprintf("Bolt %s was cut or corrected since, so this can't be undone. Correct its length on the Shelf instead.", d.BoltName)}}}
		}
		undo := BoltMove{BoltID: d.BoltID, Kind: MoveUndone, Change: m.change, BatchID: &batchID, Undoes: m.move}
		if _, err := s.addMove(ctx, undo); err != nil {
			return err
		}
	}
	_, err := s.db.Exec(ctx, `
		UPDATE bolts b SET version = b.version + 1, remnant = CASE WHEN @kept THEN d.remnant_before ELSE b.remnant END,
			place = CASE WHEN @kept AND b.place = (SELECT note FROM bolt_moves WHERE id = d.rest_move) THEN d.place_before ELSE b.place END
		FROM batch_lay_draws d WHERE d.id = @draw AND b.id = d.bolt_id`, args{"draw": d.ID, "kept": d.Rest == RestRemnant})
	if err != nil {
		return fault(err)
	}
	if _, err := s.db.Exec(ctx, `UPDATE batch_lay_draws SET cut_move = NULL, rest_move = NULL WHERE id = @draw`, args{"draw": d.ID}); err != nil {
		return fault(err)
	}
	_, err = s.db.Exec(ctx, `
		INSERT INTO bolt_reservations (bolt_id, batch_id, length) VALUES (@bolt, @batch, @length)
		ON CONFLICT ON CONSTRAINT bolt_reservations_once DO UPDATE SET length = bolt_reservations.length + excluded.length`,
		args{"bolt": d.BoltID, "batch": batchID, "length": d.Length})
	return fault(err)
}

// settle moves a released batch on, or back, as its lays and bundles say, and its orders
// with it.
func (s *Store) settle(ctx context.Context, workshop, batchID int64) error {
	tag, err := s.db.Exec(ctx, `
		UPDATE batches b SET state = now.state, version = b.version + 1
		FROM (SELECT CASE
				WHEN NOT EXISTS (SELECT FROM batch_lays WHERE batch_id = @batch AND cut_at IS NOT NULL) THEN 'released'
				WHEN EXISTS (SELECT FROM batch_lays WHERE batch_id = @batch AND cut_at IS NULL) THEN 'being cut'
				WHEN EXISTS (SELECT FROM batch_bundles WHERE batch_id = @batch AND sewn_at IS NULL) THEN 'cut'
				ELSE 'done' END AS state) now
		WHERE b.id = @batch AND b.workshop_id = @workshop AND b.state <> 'draft' AND b.state <> now.state`, args{"workshop": workshop, "batch": batchID})
	if err != nil || tag.RowsAffected() == 0 {
		return fault(err)
	}
	orders, err := s.lockOrdersOf(ctx, workshop, batchID)
	if err != nil {
		return err
	}
	return s.moveOrders(ctx, orders)
}

// BatchBundle is a bundle of a released batch.
type BatchBundle struct {
	Number int
	// SewnAt is when it was ticked off as sewn; nil if it isn't yet.
	SewnAt *time.Time
}

// BatchBundles lists the bundles of a released batch by number.
func (s *Store) BatchBundles(ctx context.Context, workshop, batchID int64) ([]BatchBundle, error) {
	return list[BatchBundle](ctx, s.db, bundlesOfBatch, args{"workshop": workshop, "batch": batchID})
}

const bundlesOfBatch = `SELECT u.number, u.sewn_at FROM batch_bundles u JOIN batches b ON b.id = u.batch_id
	WHERE b.workshop_id = @workshop AND b.id = @batch ORDER BY u.number`

// SewBundles ticks bundles of a batch, which the caller has locked, off as sewn, or takes the
// ticks back; those that are so already stay as they are. It returns those that changed.
func (s *Store) SewBundles(ctx context.Context, workshop, batchID int64, numbers []int, sewn bool) (changed []int, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		rows, err := s.db.Query(ctx, `
			UPDATE batch_bundles SET sewn_at = CASE WHEN @sewn THEN now() END
			WHERE batch_id = @batch AND number = ANY(@numbers) AND (sewn_at IS NOT NULL) <> @sewn RETURNING number`, args{"batch": batchID, "numbers": numbers, "sewn": sewn})
		if err != nil {
			return fault(err)
		}
		if changed, err = pgx.CollectRows(rows, pgx.RowTo[int]); err != nil {
			return fault(err)
		}
		slices.Sort(changed)
		return s.settle(ctx, workshop, batchID)
	})
	return changed, err
}

// BatchNotion is a notion that a released batch takes.
type BatchNotion struct {
	NotionID int64
	// TakenAt is when it was cut or counted out; nil if it isn't yet.
	TakenAt *time.Time
	// Took says how the shelf changed: rolls of a length, or pieces where that is 0.
	Took []batch.Roll
}

// BatchNotions lists the notions of a released batch.
func (s *Store) BatchNotions(ctx context.Context, workshop, batchID int64) ([]BatchNotion, error) {
	return list[BatchNotion](ctx, s.db, notionsOfBatch, args{"workshop": workshop, "batch": batchID})
}

const notionsOfBatch = `SELECT n.notion_id, n.taken_at, n.took FROM batch_notions n JOIN batches b ON b.id = n.batch_id
	WHERE b.workshop_id = @workshop AND b.id = @batch ORDER BY n.notion_id`

// NotionHolds lists what a batch holds of a notion.
func (s *Store) NotionHolds(ctx context.Context, workshop, batchID, notion int64) ([]NotionHold, error) {
	return list[NotionHold](ctx, s.db, `SELECT r.notion_id, r.roll_length, r.amount FROM notion_reservations r JOIN batches b ON b.id = r.batch_id
		WHERE b.workshop_id = @workshop AND b.id = @batch AND r.notion_id = @notion ORDER BY r.roll_length DESC`, args{"workshop": workshop, "batch": batchID, "notion": notion})
}

// HeldNotions lists what a batch holds of all notions.
func (s *Store) HeldNotions(ctx context.Context, workshop, batchID int64) ([]NotionHold, error) {
	return list[NotionHold](ctx, s.db, `SELECT r.notion_id, r.roll_length, r.amount FROM notion_reservations r JOIN batches b ON b.id = r.batch_id
		WHERE b.workshop_id = @workshop AND b.id = @batch ORDER BY r.notion_id, r.roll_length DESC`, args{"workshop": workshop, "batch": batchID})
}

// LockNotions keeps notions from changing until the transaction ends and returns them as they
// are then. All who take notions lock them in the same order, before any bolt.
func (s *Store) LockNotions(ctx context.Context, workshop int64, ids []int64) (map[int64]Notion, error) {
	if _, err := s.db.Exec(ctx, `SELECT FROM notions WHERE workshop_id = @workshop AND id = ANY(@ids) ORDER BY id FOR NO KEY UPDATE`, args{"workshop": workshop, "ids": ids}); err != nil {
		return nil, err
	}
	notions, err := s.Notions(ctx, workshop)
	locked := map[int64]Notion{}
	for _, n := range notions {
		locked[n.ID] = n
	}
	return locked, err
}

// TakeNotion changes the shelf by what a batch took of a notion, and gives free what it held;
// the caller has locked both.
func (s *Store) TakeNotion(ctx context.Context, workshop, batchID int64, n Notion, took []batch.Roll) error {
	return s.InTx(ctx, func(s *Store) error {
		content, err := json.Marshal(took)
		if err != nil {
			return err
		}
		err = changed(ctx, s.db, "notion", `UPDATE batch_notions SET taken_at = now(), took = @took WHERE batch_id = @batch AND notion_id = @notion AND taken_at IS NULL`,
			args{"batch": batchID, "notion": n.ID, "took": content})
		if err != nil {
			return err
		}
		if _, err := s.db.Exec(ctx, `DELETE FROM notion_reservations WHERE batch_id = @batch AND notion_id = @notion`, args{"batch": batchID, "notion": n.ID}); err != nil {
			return fault(err)
		}
		return s.SaveNotion(ctx, workshop, changeNotion(n, took, 1))
	})
}

// GiveNotionBack undoes TakeNotion and holds what is given back.
func (s *Store) GiveNotionBack(ctx context.Context, workshop, batchID int64, n Notion, took []batch.Roll, holds []NotionHold) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "notion", `UPDATE batch_notions SET taken_at = NULL, took = '[]' WHERE batch_id = @batch AND notion_id = @notion AND taken_at IS NOT NULL`,
			args{"batch": batchID, "notion": n.ID})
		if err != nil {
			return err
		}
		if err := s.SaveNotion(ctx, workshop, changeNotion(n, took, -1)); err != nil {
			return err
		}
		queue := &pgx.Batch{}
		for _, h := range holds {
			queue.Queue(`INSERT INTO notion_reservations (notion_id, batch_id, roll_length, amount) VALUES (@notion, @batch, @roll, @amount)`,
				args{"notion": h.NotionID, "batch": batchID, "roll": h.RollLength, "amount": h.Amount})
		}
		return sendAll(ctx, s.db, queue)
	})
}

func changeNotion(n Notion, took []batch.Roll, sign int) Notion {
	var rolls []batch.Roll
	for _, change := range took {
		change.Count *= sign
		if change.Length == 0 {
			n.InStock += change.Count
			continue
		}
		rolls = append(rolls, change)
	}
	n.Rolls = ChangeRolls(n.Rolls, rolls)
	return n
}
