package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/costing"
	"yardwright/costing/money"
)

// CostSettings are the choices of a workshop that sources differ on, and its working year.
type CostSettings struct {
	WastageRule   string
	AllowanceRule string
	// Allowance, LearningRate, Holding and YearProductive are shares.
	Allowance     money.Decimal
	ProfitRule    string
	Rounding      string
	OddCent       string
	Valuation     string
	LearningModel string
	LearningRate  money.Decimal
	Holding       money.Decimal
	// MixMonths is over how many months the mix of sizes of a usual batch follows the orders.
	MixMonths int
	// YearWeeks are worked in a year; YearProductive is the share of their hours that makes garments,
	// UnpaidHours says who pays the others. YearPeople is how many work here.
	YearWeeks, YearPeople, YearProductive money.Decimal
	UnpaidHours                           string
	Version                               int
}

const costColumns = `wastage_rule, allowance_rule, allowance, profit_rule, rounding, odd_cent, valuation, learning_model, learning_rate, holding, mix_months,
	year_weeks, year_people, year_productive, unpaid_hours, version`

// AddCostSettings gives a new workshop its settings.
func (s *Store) AddCostSettings(ctx context.Context, workshop int64) error {
	_, err := s.db.Exec(ctx, `INSERT INTO cost_settings (workshop_id) VALUES (@workshop) ON CONFLICT DO NOTHING`, args{"workshop": workshop})
	return fault(err)
}

// CostSettings returns the costing settings of a workshop.
func (s *Store) CostSettings(ctx context.Context, workshop int64) (CostSettings, error) {
	return one[CostSettings](ctx, s.db, "workshop", settingsOfWorkshop, args{"workshop": workshop})
}

const settingsOfWorkshop = `SELECT ` + costColumns + ` FROM cost_settings WHERE workshop_id = @workshop`

// SaveCostSettings changes the costing settings if nobody else has in the meantime.
func (s *Store) SaveCostSettings(ctx context.Context, workshop int64, c CostSettings) error {
	return changed(ctx, s.db, "page of settings", `
		UPDATE cost_settings SET wastage_rule = @wastage_rule, allowance_rule = @allowance_rule, allowance = @allowance, profit_rule = @profit_rule,
			rounding = @rounding, odd_cent = @odd_cent, valuation = @valuation, learning_model = @learning_model, learning_rate = @learning_rate, holding = @holding, mix_months = @mix_months,
			year_weeks = @year_weeks, unpaid_hours = @unpaid_hours, year_people = @year_people, year_productive = @year_productive,
			version = version + 1
		WHERE workshop_id = @workshop AND version = @version`,
		args{
			"workshop": workshop, "version": c.Version, "wastage_rule": c.WastageRule, "allowance_rule": c.AllowanceRule, "allowance": c.Allowance,
			"profit_rule": c.ProfitRule, "rounding": c.Rounding, "odd_cent": c.OddCent, "valuation": c.Valuation, "learning_model": c.LearningModel,
			"learning_rate": c.LearningRate, "holding": c.Holding, "mix_months": c.MixMonths, "year_weeks": c.YearWeeks, "unpaid_hours": c.UnpaidHours,
			"year_people": c.YearPeople, "year_productive": c.YearProductive,
		})
}

// YearCost is one cost of keeping the workshop for a year. Share is a share of one.
type YearCost struct {
	Name                 string
	Amount, Years, Share money.Decimal
}

// YearCosts lists the costs of a year.
func (s *Store) YearCosts(ctx context.Context, workshop int64) ([]YearCost, error) {
	return list[YearCost](ctx, s.db, yearOfWorkshop, args{"workshop": workshop})
}

const yearOfWorkshop = `SELECT name, amount, years, share FROM year_costs WHERE workshop_id = @workshop ORDER BY position`

// SetYearCosts replaces the costs of a year.
func (s *Store) SetYearCosts(ctx context.Context, workshop int64, costs []YearCost) error {
	return s.InTx(ctx, func(s *Store) error {
		if _, err := s.db.Exec(ctx, `DELETE FROM year_costs WHERE workshop_id = @workshop`, args{"workshop": workshop}); err != nil {
			return fault(err)
		}
		queue := &pgx.Batch{}
		for i, c := range costs {
			queue.Queue(`INSERT INTO year_costs (workshop_id, position, name, amount, years, share) VALUES (@workshop, @position, @name, @amount, @years, @share)`,
				args{"workshop": workshop, "position": i, "name": c.Name, "amount": c.Amount, "years": c.Years, "share": c.Share})
		}
		return sendAll(ctx, s.db, queue)
	})
}

// Channel returns one channel.
func (s *Store) Channel(ctx context.Context, workshop, id int64) (Channel, error) {
	return one[Channel](ctx, s.db, "channel", `SELECT id, position, settings, version FROM channels WHERE workshop_id = @workshop AND id = @id`,
		args{"workshop": workshop, "id": id})
}

// RemoveChannel removes a channel; the price lists that were issued for it stay.
func (s *Store) RemoveChannel(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "channel", `DELETE FROM channels WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// BoltCost is what valuing knows of a bolt besides its price.
type BoltCost struct {
	BoltID int64
	// BoughtOn is nil where it was not said.
	BoughtOn *time.Time
	// Worth is what a unit would fetch; nil where it will be used.
	Worth *money.Decimal
}

const boltCostsOfWorkshop = `SELECT c.bolt_id, c.bought_on, c.worth FROM bolt_costs c JOIN bolts b ON b.id = c.bolt_id WHERE b.workshop_id = @workshop`

// SetBoltCosts says when bolts were bought and what they would fetch.
func (s *Store) SetBoltCosts(ctx context.Context, workshop int64, costs []BoltCost) error {
	queue := &pgx.Batch{}
	for _, c := range costs {
		queue.Queue(`INSERT INTO bolt_costs (bolt_id, bought_on, worth) SELECT b.id, @bought, @worth FROM bolts b WHERE b.id = @bolt AND b.workshop_id = @workshop
			ON CONFLICT (bolt_id) DO UPDATE SET bought_on = excluded.bought_on, worth = excluded.worth`,
			args{"workshop": workshop, "bolt": c.BoltID, "bought": c.BoughtOn, "worth": c.Worth})
	}
	return s.InTx(ctx, func(s *Store) error { return sendAll(ctx, s.db, queue) })
}

// StyleCosts is what costing knows of a style besides its pieces and steps.
type StyleCosts struct {
	StyleID   int64
	OnePrice  string
	YearSales int
	// Learning is LearningOff or the name of a curve; LearningRate is what is left of the minutes
	// when the count doubles, and TimedGarment which garment of a run takes those of the steps.
	Learning     string
	LearningRate money.Decimal
	TimedGarment int
}

// LearningOff is the learning of a style whose minutes are the same in every batch.
const LearningOff = "off"

// Version is what a form that changes it begins from.
func (c StyleCosts) Version() string {
	return fmt.Sprintf("%s, %d, %s, %s, %d", c.OnePrice, c.YearSales, c.Learning, c.LearningRate, c.TimedGarment)
}

// StyleCosts returns what costing knows of a style.
func (s *Store) StyleCosts(ctx context.Context, workshop, style int64) (StyleCosts, error) {
	return one[StyleCosts](ctx, s.db, "style", styleCosts+` AND s.id = @style`, args{"workshop": workshop, "style": style})
}

const styleCosts = `
	SELECT s.id AS style_id, coalesce(c.one_price, 'each size its own') AS one_price, coalesce(c.year_sales, 0) AS year_sales,
		coalesce(c.learning, 'off') AS learning, coalesce(c.learning_rate, 0.9) AS learning_rate, coalesce(c.timed_garment, 1) AS timed_garment
	FROM styles s LEFT JOIN style_costs c ON c.style_id = s.id WHERE s.workshop_id = @workshop`

// ChangeStyleCosts is SetStyleCosts for what was looked at in a version, and tells the second
// of two writers.
func (s *Store) ChangeStyleCosts(ctx context.Context, workshop, style int64, version string, c StyleCosts) error {
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := scalar[int64](ctx, tx.db, `SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop FOR NO KEY UPDATE`, args{"style": style, "workshop": workshop}); err != nil {
			return noRowMissing(err, "style")
		}
		now, err := tx.StyleCosts(ctx, workshop, style)
		if err != nil {
			return err
		}
		if now.Version() != version {
			return changedMeanwhile("style")
		}
		return tx.SetStyleCosts(ctx, workshop, style, c)
	})
}

// SetStyleCosts says how a style is priced.
func (s *Store) SetStyleCosts(ctx context.Context, workshop, style int64, c StyleCosts) error {
	return changed(ctx, s.db, "style", `
		INSERT INTO style_costs (style_id, one_price, year_sales, learning, learning_rate, timed_garment)
		SELECT s.id, @one_price, @year_sales, @learning, @learning_rate, @timed_garment FROM styles s WHERE s.id = @style AND s.workshop_id = @workshop
		ON CONFLICT (style_id) DO UPDATE SET one_price = excluded.one_price, year_sales = excluded.year_sales,
			learning = excluded.learning, learning_rate = excluded.learning_rate, timed_garment = excluded.timed_garment`,
		args{
			"workshop": workshop, "style": style, "one_price": c.OnePrice, "year_sales": c.YearSales,
			"learning": c.Learning, "learning_rate": c.LearningRate, "timed_garment": c.TimedGarment,
		})
}

// Seam is one kind of seam of a style, for its thread. Ratio is 0 where the class's own counts.
type Seam struct {
	StyleID     int64
	Name, Class string
	// Length is a formula.
	Length string
	Count  int
	Ratio  money.Decimal
}

// Seams lists the seams of a style.
func (s *Store) Seams(ctx context.Context, workshop, style int64) ([]Seam, error) {
	return list[Seam](ctx, s.db, styleSeams+` AND s.id = @style ORDER BY e.position`, args{"workshop": workshop, "style": style})
}

const styleSeams = `SELECT e.style_id, e.name, e.class, e.length, e.count, e.ratio FROM style_seams e JOIN styles s ON s.id = e.style_id WHERE s.workshop_id = @workshop`

// SetSeams replaces the seams of a style. It belongs into the transaction that saves the style.
func (s *Store) SetSeams(ctx context.Context, workshop, style int64, seams []Seam) error {
	queue := &pgx.Batch{}
	queue.Queue(`DELETE FROM style_seams WHERE style_id = (SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop)`, args{"workshop": workshop, "style": style})
	for i, e := range seams {
		queue.Queue(`INSERT INTO style_seams (style_id, position, name, class, length, count, ratio)
			SELECT s.id, @position, @name, @class, @length, @count, @ratio FROM styles s WHERE s.id = @style AND s.workshop_id = @workshop`,
			args{"workshop": workshop, "style": style, "position": i, "name": e.Name, "class": e.Class, "length": e.Length, "count": e.Count, "ratio": e.Ratio})
	}
	return sendAll(ctx, s.db, queue)
}

// TimeStudy is a study of one operation, as watched. It is never changed; a better one is a
// new one.
type TimeStudy struct {
	ID        int64
	Operation string
	WatchedOn time.Time
	Note      string
	Study     costing.Study
	// TakenOver tells that the operation has its minutes from this study.
	TakenOver bool
}

const studyColumns = `t.id, t.operation, t.watched_on, t.note, t.study, t.taken_over`

// TimeStudies lists the studies of a style, newest first.
func (s *Store) TimeStudies(ctx context.Context, workshop, style int64) ([]TimeStudy, error) {
	return list[TimeStudy](ctx, s.db, `SELECT `+studyColumns+` FROM time_studies t JOIN styles s ON s.id = t.style_id
		WHERE s.workshop_id = @workshop AND s.id = @style ORDER BY t.id DESC`, args{"workshop": workshop, "style": style})
}

// TimeStudy returns one study.
func (s *Store) TimeStudy(ctx context.Context, workshop, style, id int64) (TimeStudy, error) {
	return one[TimeStudy](ctx, s.db, "time study", `SELECT `+studyColumns+` FROM time_studies t JOIN styles s ON s.id = t.style_id
		WHERE s.workshop_id = @workshop AND s.id = @style AND t.id = @id`, args{"workshop": workshop, "style": style, "id": id})
}

// AddTimeStudy stores a study.
func (s *Store) AddTimeStudy(ctx context.Context, workshop, style int64, t TimeStudy) (int64, error) {
	id, err := scalar[int64](ctx, s.db, `
		INSERT INTO time_studies (style_id, operation, watched_on, note, study)
		SELECT s.id, @operation, @watched_on, @note, @study FROM styles s WHERE s.id = @style AND s.workshop_id = @workshop RETURNING id`,
		args{"workshop": workshop, "style": style, "operation": t.Operation, "watched_on": t.WatchedOn, "note": t.Note, "study": t.Study})
	return id, noRowMissing(err, "style")
}

// MarkTaken notes from which study an operation has its minutes.
func (s *Store) MarkTaken(ctx context.Context, workshop, style int64, t TimeStudy) error {
	return changed(ctx, s.db, "time study", `
		UPDATE time_studies SET taken_over = (id = @id) WHERE operation = @operation
			AND style_id = (SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop)`,
		args{"workshop": workshop, "style": style, "id": t.ID, "operation": t.Operation})
}

// RemoveTimeStudy removes a study.
func (s *Store) RemoveTimeStudy(ctx context.Context, workshop, style, id int64) error {
	return changed(ctx, s.db, "time study", `
		DELETE FROM time_studies WHERE id = @id AND style_id = (SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop)`,
		args{"workshop": workshop, "style": style, "id": id})
}

// IssuedList is a price list as it was issued.
type IssuedList struct {
	ID       int64
	Channel  string
	Revision int
	IssuedOn time.Time
	List     costing.PriceList
}

const listColumns = `id, channel, revision, issued_on, list`

// PriceLists lists the issued price lists, newest first.
func (s *Store) PriceLists(ctx context.Context, workshop int64) ([]IssuedList, error) {
	return list[IssuedList](ctx, s.db, `SELECT `+listColumns+` FROM price_lists WHERE workshop_id = @workshop ORDER BY id DESC`, args{"workshop": workshop})
}

// PriceList returns one issued price list.
func (s *Store) PriceList(ctx context.Context, workshop, id int64) (IssuedList, error) {
	return one[IssuedList](ctx, s.db, "price list", `SELECT `+listColumns+` FROM price_lists WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// LatestPriceList returns the newest list of a channel; nil if none was issued.
func (s *Store) LatestPriceList(ctx context.Context, workshop int64, channel string) (*IssuedList, error) {
	lists, err := list[IssuedList](ctx, s.db, `SELECT `+listColumns+` FROM price_lists WHERE workshop_id = @workshop AND channel = @channel ORDER BY revision DESC LIMIT 1`,
		args{"workshop": workshop, "channel": channel})
	if err != nil || len(lists) == 0 {
		return nil, err
	}
	return &lists[0], nil
}

// AddPriceList stores an issued list for good.
func (s *Store) AddPriceList(ctx context.Context, workshop int64, list costing.PriceList) (int64, error) {
	content, err := json.Marshal(list)
	if err != nil {
		return 0, err
	}
	return scalar[int64](ctx, s.db, `
		INSERT INTO price_lists (workshop_id, channel, revision, issued_on, list) VALUES (@workshop, @channel, @revision, @issued_on, @list) RETURNING id`,
		args{"workshop": workshop, "channel": list.Channel(), "revision": list.Revision(), "issued_on": list.Issued(), "list": content})
}

// BatchSnapshots lists the cost sheets that were kept of a batch, newest first.
func (s *Store) BatchSnapshots(ctx context.Context, workshop, batchID int64) ([]CostSnapshot, error) {
	return list[CostSnapshot](ctx, s.db, `
		SELECT id, colourway_id, batch_id, label, sheets, created_at FROM cost_snapshots
		WHERE workshop_id = @workshop AND batch_id = @batch ORDER BY id DESC`, args{"workshop": workshop, "batch": batchID})
}

// PlannedBatches lists the newest batches that have a plan and make a colourway in a size, newest
// first; "" is any size.
func (s *Store) PlannedBatches(ctx context.Context, workshop, colourway int64, size string, most int) ([]Batch, error) {
	return list[Batch](ctx, s.db, `SELECT `+batchColumns+` FROM batches b WHERE b.workshop_id = @workshop
		AND EXISTS (SELECT FROM batch_plans p WHERE p.batch_id = b.id AND p.plan IS NOT NULL)
		AND EXISTS (SELECT FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id
			WHERE bl.batch_id = b.id AND l.colourway_id = @colourway AND (@size = '' OR l.size = @size))
		ORDER BY b.id DESC LIMIT @most`, args{"workshop": workshop, "colourway": colourway, "size": size, "most": most})
}
