package store

import (
	"context"
	"slices"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
)

// Workshop is one workshop with its settings. Minutes are standard minutes.
type Workshop struct {
	ID       int64
	Name     string
	System   length.System
	Fraction int
	Currency string
	Locale   string
	// Wage per hour; OverheadYear and ProductiveHours make the overhead per hour.
	Wage, Efficiency, OverheadYear money.Decimal
	// HoursWorked are those of DayMinutes in the weeks worked in a year, Productive is the share of
	// them that makes garments, and ProductiveHours that share. They follow from CostSettings and
	// are not saved with the workshop.
	HoursWorked, Productive, ProductiveHours money.Decimal
	// UsualBatch is how many garments are usually made together, for standard cost sheets.
	UsualBatch                         int
	TableLength                        length.Length
	PliesThin, PliesMedium, PliesThick int
	Spread                             lay.Spread
	EndLoss, Gap                       length.Length
	StraightCuts                       bool
	KeepLength, CutStep, BuyStep       length.Length
	// RemnantWorth is the percentage of its price that the rest of bought cloth counts for, and
	// BuyTolerance that of the cloth's money which a plan that buys must save.
	RemnantWorth, BuyTolerance money.Decimal
	// CutTolerance is for each length cut from a roll, RollEnd for each roll.
	CutTolerance, RollEnd          length.Length
	LaySetUpMinutes, SpreadMinutes money.Decimal
	CutMinutes, BundleMinutes      money.Decimal
	BundleSize                     int
	// DayMinutes are worked by all hands, by weekday, Sunday first.
	DayMinutes []int
	Version    int
}

const workshopColumns = `id, name, system, fraction, currency, locale, wage, efficiency, overhead_year, usual_batch,
	coalesce(round(worked.hours, 3), 0) AS hours_worked, coalesce(worked.productive, 1) AS productive, coalesce(round(worked.hours * worked.productive, 3), 0) AS productive_hours,
	table_length, plies_thin, plies_medium, plies_thick, spread, end_loss, gap, straight_cuts, keep_length, cut_step, buy_step, remnant_worth, buy_tolerance, cut_tolerance, roll_end,
	lay_set_up_minutes, spread_minutes, cut_minutes, bundle_minutes, bundle_size, day_minutes, version`

// workshopsWithHours are workshops with the hours of a year.
const workshopsWithHours = `workshops LEFT JOIN LATERAL (
	SELECT c.year_weeks * (SELECT sum(m) FROM unnest(workshops.day_minutes) m) / 60 AS hours, c.year_productive AS productive
	FROM cost_settings c WHERE c.workshop_id = workshops.id) worked ON true`

// FirstWorkshop returns the oldest workshop; a Fault of kind NotFound if there is none.
func (s *Store) FirstWorkshop(ctx context.Context) (Workshop, error) {
	return one[Workshop](ctx, s.db, "workshop", `SELECT `+workshopColumns+` FROM `+workshopsWithHours+` ORDER BY id LIMIT 1`, args{})
}

// Workshop returns a workshop by its ID.
func (s *Store) Workshop(ctx context.Context, id int64) (Workshop, error) {
	kept, _ := ctx.Value(rememberKey{}).(*remembered)
	if kept != nil && kept.workshop.ID == id {
		w := kept.workshop
		w.DayMinutes = slices.Clone(w.DayMinutes)
		return w, nil
	}
	w, err := s.workshop(ctx, id)
	if kept != nil && err == nil {
		kept.workshop = w
	}
	return w, err
}

type rememberKey struct{}

type remembered struct {
	workshop Workshop
	whole    *Whole
	wholeOf  int64
}

// Remember returns a context in which the settings of a workshop, and Whole, are read once. It is
// for the time of showing one page, by one goroutine, which changes nothing.
func Remember(ctx context.Context) context.Context {
	return context.WithValue(ctx, rememberKey{}, &remembered{})
}

func (s *Store) workshop(ctx context.Context, id int64) (Workshop, error) {
	return one[Workshop](ctx, s.db, "workshop", `SELECT `+workshopColumns+` FROM `+workshopsWithHours+` WHERE id = @id`, args{"id": id})
}

// AddWorkshop makes a workshop with the schema's usual settings.
func (s *Store) AddWorkshop(ctx context.Context, name string) (int64, error) {
	return scalar[int64](ctx, s.db, `INSERT INTO workshops (name) VALUES (@name) RETURNING id`, args{"name": name})
}

// SaveWorkshop writes the settings if nobody else has in the meantime.
func (s *Store) SaveWorkshop(ctx context.Context, w Workshop) error {
	return changed(ctx, s.db, "workshop", `
		UPDATE workshops SET name = @name, system = @system, fraction = @fraction, currency = @currency, locale = @locale,
			wage = @wage, efficiency = @efficiency, overhead_year = @overhead_year, usual_batch = @usual_batch,
			table_length = @table_length, plies_thin = @plies_thin, plies_medium = @plies_medium, plies_thick = @plies_thick,
			spread = @spread, end_loss = @end_loss, gap = @gap, straight_cuts = @straight_cuts,
			keep_length = @keep_length, cut_step = @cut_step, buy_step = @buy_step, remnant_worth = @remnant_worth, buy_tolerance = @buy_tolerance, cut_tolerance = @cut_tolerance, roll_end = @roll_end,
			lay_set_up_minutes = @lay_set_up_minutes, spread_minutes = @spread_minutes, cut_minutes = @cut_minutes, bundle_minutes = @bundle_minutes,
			bundle_size = @bundle_size, day_minutes = @day_minutes, version = version + 1
		WHERE id = @id AND version = @version`,
		args{
			"id": w.ID, "version": w.Version, "name": w.Name, "system": w.System, "fraction": w.Fraction, "currency": w.Currency, "locale": w.Locale,
			"wage": w.Wage, "efficiency": w.Efficiency, "overhead_year": w.OverheadYear, "usual_batch": w.UsualBatch,
			"table_length": w.TableLength, "plies_thin": w.PliesThin, "plies_medium": w.PliesMedium, "plies_thick": w.PliesThick,
			"spread": w.Spread, "end_loss": w.EndLoss, "gap": w.Gap, "straight_cuts": w.StraightCuts,
			"keep_length": w.KeepLength, "cut_step": w.CutStep, "buy_step": w.BuyStep, "remnant_worth": w.RemnantWorth, "buy_tolerance": w.BuyTolerance, "cut_tolerance": w.CutTolerance, "roll_end": w.RollEnd,
			"lay_set_up_minutes": w.LaySetUpMinutes, "spread_minutes": w.SpreadMinutes, "cut_minutes": w.CutMinutes, "bundle_minutes": w.BundleMinutes,
			"bundle_size": w.BundleSize, "day_minutes": w.DayMinutes,
		})
}

// HoldsMoney tells whether any price, wage or cost of a workshop is stored.
func (s *Store) HoldsMoney(ctx context.Context, workshop int64) (bool, error) {
	return scalar[bool](ctx, s.db, `
		SELECT EXISTS (SELECT FROM workshops WHERE id = @workshop AND (wage <> 0 OR overhead_year <> 0))
			OR EXISTS (SELECT FROM cloths WHERE workshop_id = @workshop AND (price <> 0 OR freight <> 0))
			OR EXISTS (SELECT FROM bolts WHERE workshop_id = @workshop AND price <> 0)
			OR EXISTS (SELECT FROM bolt_costs c JOIN bolts b ON b.id = c.bolt_id WHERE b.workshop_id = @workshop AND c.worth <> 0)
			OR EXISTS (SELECT FROM notions WHERE workshop_id = @workshop AND (buy_price <> 0 OR freight <> 0))
			OR EXISTS (SELECT FROM year_costs WHERE workshop_id = @workshop AND amount <> 0)
			OR EXISTS (SELECT FROM orders o LEFT JOIN payments p ON p.order_id = o.id WHERE o.workshop_id = @workshop AND (o.price <> 0 OR p.amount <> 0))`,
		args{"workshop": workshop})
}

// DaysOff lists the days without work, from the first.
func (s *Store) DaysOff(ctx context.Context, workshop int64) ([]time.Time, error) {
	rows, err := list[dayRow](ctx, s.db, daysOfWorkshop, args{"workshop": workshop})
	return daysOf(rows), err
}

const daysOfWorkshop = `SELECT day FROM days_off WHERE workshop_id = @workshop ORDER BY day`

type dayRow struct{ Day time.Time }

func daysOf(rows []dayRow) []time.Time {
	days := make([]time.Time, len(rows))
	for i, r := range rows {
		days[i] = r.Day
	}
	return days
}

// AddDayOff notes a day without work.
func (s *Store) AddDayOff(ctx context.Context, workshop int64, day time.Time) error {
	_, err := s.db.Exec(ctx, `INSERT INTO days_off (workshop_id, day) VALUES (@workshop, @day) ON CONFLICT DO NOTHING`, args{"workshop": workshop, "day": day})
	return fault(err)
}

// AddDaysOff notes days without work, and returns those that were not noted before.
func (s *Store) AddDaysOff(ctx context.Context, workshop int64, days []time.Time) ([]time.Time, error) {
	rows, err := list[dayRow](ctx, s.db, `INSERT INTO days_off (workshop_id, day) SELECT @workshop, unnest(@days::date[]) ON CONFLICT DO NOTHING RETURNING day`,
		args{"workshop": workshop, "days": days})
	return sortedDays(rows), err
}

// RemoveDaysOff makes days working days again, and returns those that were days off.
func (s *Store) RemoveDaysOff(ctx context.Context, workshop int64, days []time.Time) ([]time.Time, error) {
	rows, err := list[dayRow](ctx, s.db, `DELETE FROM days_off WHERE workshop_id = @workshop AND day = ANY(@days::date[]) RETURNING day`,
		args{"workshop": workshop, "days": days})
	return sortedDays(rows), err
}

func sortedDays(rows []dayRow) []time.Time {
	days := daysOf(rows)
	slices.SortFunc(days, time.Time.Compare)
	return days
}

// Channel is one way of selling.
type Channel struct {
	ID       int64
	Position int
	Settings costing.Channel
	Version  int
}

// Channels lists the ways of selling, in the workshop's order.
func (s *Store) Channels(ctx context.Context, workshop int64) ([]Channel, error) {
	return list[Channel](ctx, s.db, channelsOfWorkshop, args{"workshop": workshop})
}

const channelsOfWorkshop = `SELECT id, position, settings, version FROM channels WHERE workshop_id = @workshop ORDER BY position, id`

// AddChannel adds a way of selling.
func (s *Store) AddChannel(ctx context.Context, workshop int64, c Channel) (int64, error) {
	return scalar[int64](ctx, s.db, `
		INSERT INTO channels (workshop_id, position, name, kind, settings) VALUES (@workshop, @position, @name, @kind, @settings) RETURNING id`,
		args{"workshop": workshop, "position": c.Position, "name": c.Settings.Name, "kind": c.Settings.Kind.String(), "settings": c.Settings})
}

// SaveChannel changes a way of selling if nobody else has in the meantime.
func (s *Store) SaveChannel(ctx context.Context, workshop int64, c Channel) error {
	return changed(ctx, s.db, "channel", `
		UPDATE channels SET position = @position, name = @name, kind = @kind, settings = @settings, version = version + 1
		WHERE workshop_id = @workshop AND id = @id AND version = @version`,
		args{
			"workshop": workshop, "id": c.ID, "version": c.Version, "position": c.Position,
			"name": c.Settings.Name, "kind": c.Settings.Kind.String(), "settings": c.Settings,
		})
}

// Counts says how many of each thing a workshop has.
type Counts struct {
	Cloths, Notions, Styles, Colourways, Customers, Orders int
}

// Counts counts what a workshop has.
func (s *Store) Counts(ctx context.Context, workshop int64) (Counts, error) {
	return one[Counts](ctx, s.db, "workshop", `
		SELECT (SELECT count(*) FROM cloths WHERE workshop_id = @workshop)::integer AS cloths,
			(SELECT count(*) FROM notions WHERE workshop_id = @workshop)::integer AS notions,
			(SELECT count(*) FROM styles WHERE workshop_id = @workshop)::integer AS styles,
			(SELECT count(*) FROM colourways WHERE workshop_id = @workshop)::integer AS colourways,
			(SELECT count(*) FROM customers WHERE workshop_id = @workshop)::integer AS customers,
			(SELECT count(*) FROM orders WHERE workshop_id = @workshop)::integer AS orders`, args{"workshop": workshop})
}

// RemoveWorkshop removes a workshop with everything that belongs to it.
func (s *Store) RemoveWorkshop(ctx context.Context, id int64) error {
	return s.InTx(ctx, func(s *Store) error {
		// In this order nothing is removed that something else still refers to.
		for _, table := range []string{"cost_snapshots", "batches", "orders", "customers", "colourways", "styles", "size_charts", "bolts", "cloths", "notions"} {
			if _, err := s.db.Exec(ctx, `DELETE FROM `+table+` WHERE workshop_id = @id`, args{"id": id}); err != nil {
				return fault(err)
			}
		}
		return changed(ctx, s.db, "workshop", `DELETE FROM workshops WHERE id = @id`, args{"id": id})
	})
}
