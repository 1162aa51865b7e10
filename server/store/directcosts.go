package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/costing/money"
)

// What a direct expense of a style is paid for.
const (
	ForEachGarment = "each garment"
	ForEachBatch   = "each batch"
	ForSoMany      = "a number of garments"
)

// StyleExpense is a direct expense of a style: neither material nor minutes.
type StyleExpense struct {
	StyleID int64
	Name    string
	Amount  money.Decimal
	PaidFor string
	// Garments is how many share it where it is paid for a number of them; 0 otherwise.
	Garments int
	// ColourwayID is the colourway that it is for; nil is every one.
	ColourwayID *int64
}

// ChangeStyleExpenses is SetStyleExpenses for what was looked at in a version, and tells the
// second of two writers.
func (s *Store) ChangeStyleExpenses(ctx context.Context, workshop, style int64, version string, expenses []StyleExpense) error {
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := scalar[int64](ctx, tx.db, `SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop FOR NO KEY UPDATE`, args{"style": style, "workshop": workshop}); err != nil {
			return noRowMissing(err, "style")
		}
		now, err := list[StyleExpense](ctx, tx.db, styleExpenses+` AND s.id = @style ORDER BY e.position`, args{"workshop": workshop, "style": style})
		if err != nil {
			return err
		}
		if ContentVersion(now) != version {
			return changedMeanwhile("list of expenses")
		}
		return tx.SetStyleExpenses(ctx, workshop, style, expenses)
	})
}

// ChangeBatchExpenses is SetBatchExpenses for what was looked at in a version, and tells the second
// of two writers.
func (s *Store) ChangeBatchExpenses(ctx context.Context, workshop, batchID int64, version string, expenses []BatchExpense) error {
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := scalar[int64](ctx, tx.db, `SELECT id FROM batches WHERE id = @batch AND workshop_id = @workshop FOR NO KEY UPDATE`, args{"batch": batchID, "workshop": workshop}); err != nil {
			return noRowMissing(err, "batch")
		}
		now, err := tx.BatchActuals(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		if ContentVersion(now.Expenses) != version {
			return changedMeanwhile("list of expenses")
		}
		return tx.SetBatchExpenses(ctx, workshop, batchID, expenses)
	})
}

const styleExpenses = `SELECT e.style_id, e.name, e.amount, e.paid_for, e.garments, e.colourway_id FROM style_expenses e JOIN styles s ON s.id = e.style_id WHERE s.workshop_id = @workshop`

// SetStyleExpenses replaces the direct expenses of a style. One for a colourway of another style
// is refused.
func (s *Store) SetStyleExpenses(ctx context.Context, workshop, style int64, expenses []StyleExpense) error {
	return s.InTx(ctx, func(s *Store) error {
		queue := &pgx.Batch{}
		queue.Queue(`DELETE FROM style_expenses WHERE style_id = (SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop)`, args{"workshop": workshop, "style": style})
		for i, e := range expenses {
			queue.Queue(`INSERT INTO style_expenses (style_id, position, name, amount, paid_for, garments, colourway_id)
				SELECT s.id, @position, @name, @amount, @paid_for, @garments, @colourway FROM styles s WHERE s.id = @style AND s.workshop_id = @workshop
					AND (@colourway::bigint IS NULL OR EXISTS (SELECT FROM colourways w WHERE w.id = @colourway AND w.style_id = s.id))`,
				args{
					"workshop": workshop, "style": style, "position": i, "name": e.Name, "amount": e.Amount, "paid_for": e.PaidFor, "garments": e.Garments,
					"colourway": e.ColourwayID,
				})
		}
		if err := sendAll(ctx, s.db, queue); err != nil {
			return err
		}
		kept, err := scalar[int](ctx, s.db, `SELECT count(*) FROM style_expenses WHERE style_id = @style`, args{"style": style})
		if err == nil && kept != len(expenses) {
			return Wrong("", "One of these expenses is for a colourway that this style hasn't got, or the style is gone. Choose again.")
		}
		return err
	})
}

// BatchExpense is a direct expense of one batch, which all its garments share.
type BatchExpense struct {
	Name   string
	Amount money.Decimal
}

// BatchMinutes are minutes as they were worked at a batch, of all hands together.
type BatchMinutes struct {
	ID       int64
	WorkedOn time.Time
	Stage    string
	Minutes  money.Decimal
	Note     string
}

// BatchActuals is what was noted of a batch: its expenses and the minutes worked.
type BatchActuals struct {
	Expenses []BatchExpense
	// Minutes stand newest first.
	Minutes []BatchMinutes
}

// BatchActuals returns what was noted of a batch.
func (s *Store) BatchActuals(ctx context.Context, workshop, batchID int64) (BatchActuals, error) {
	var found BatchActuals
	round, named := &pgx.Batch{}, args{"workshop": workshop, "batch": batchID}
	queued(round, &found.Expenses, `SELECT e.name, e.amount FROM batch_expenses e JOIN batches b ON b.id = e.batch_id
		WHERE b.workshop_id = @workshop AND e.batch_id = @batch ORDER BY e.position`, named)
	queued(round, &found.Minutes, `SELECT m.id, m.worked_on, m.stage, m.minutes, m.note FROM batch_minutes m JOIN batches b ON b.id = m.batch_id
		WHERE b.workshop_id = @workshop AND m.batch_id = @batch AND NOT m.removed ORDER BY m.worked_on DESC, m.id DESC`, named)
	return found, readAll(ctx, s.db, round)
}

// SetBatchExpenses replaces the direct expenses of a batch.
func (s *Store) SetBatchExpenses(ctx context.Context, workshop, batchID int64, expenses []BatchExpense) error {
	return s.InTx(ctx, func(s *Store) error {
		queue := &pgx.Batch{}
		queue.Queue(`DELETE FROM batch_expenses WHERE batch_id = (SELECT id FROM batches WHERE id = @batch AND workshop_id = @workshop)`, args{"workshop": workshop, "batch": batchID})
		for i, e := range expenses {
			queue.Queue(`INSERT INTO batch_expenses (batch_id, position, name, amount)
				SELECT b.id, @position, @name, @amount FROM batches b WHERE b.id = @batch AND b.workshop_id = @workshop`,
				args{"workshop": workshop, "batch": batchID, "position": i, "name": e.Name, "amount": e.Amount})
		}
		return sendAll(ctx, s.db, queue)
	})
}

// AddBatchMinutes notes minutes that were worked at a batch.
func (s *Store) AddBatchMinutes(ctx context.Context, workshop, batchID int64, m BatchMinutes) (int64, error) {
	id, err := scalar[int64](ctx, s.db, `
		INSERT INTO batch_minutes (batch_id, worked_on, stage, minutes, note)
		SELECT b.id, @worked_on, @stage, @minutes, @note FROM batches b WHERE b.id = @batch AND b.workshop_id = @workshop RETURNING id`,
		args{"workshop": workshop, "batch": batchID, "worked_on": m.WorkedOn, "stage": m.Stage, "minutes": m.Minutes, "note": m.Note})
	return id, noRowMissing(err, "batch")
}

// RemoveBatchMinutes takes noted minutes out, or puts them back.
func (s *Store) RemoveBatchMinutes(ctx context.Context, workshop, batchID, id int64, back bool) error {
	return changed(ctx, s.db, "note", `
		UPDATE batch_minutes m SET removed = NOT @back FROM batches b
		WHERE b.id = m.batch_id AND b.workshop_id = @workshop AND m.batch_id = @batch AND m.id = @id`,
		args{"workshop": workshop, "batch": batchID, "id": id, "back": back})
}
