package workshop

import (
	"context"
	"fmt"
	"io"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// mostTabled is how many orders a table holds.
const mostTabled = mostTableRows

// OrdersTable writes all orders with their lines, so that ImportOrders can read them.
func (s *Service) OrdersTable(ctx context.Context, out io.Writer, workshop int64) error {
	orders, err := s.store.OrdersWithLines(ctx, workshop, mostTabled)
	if err != nil {
		return err
	}
	var rows [][]any
	for _, o := range orders {
		for _, line := range o.Lines {
			rows = append(rows, []any{
				o.Number, o.CustomerName, o.CustomerKind, o.TakenOn.Format(time.DateOnly), o.DueOn.Format(time.DateOnly),
				line.StyleName, line.ColourwayName, line.Size, line.Quantity, o.Note, o.State,
			})
		}
	}
	return exports.Table(out, []string{"order", "customer", "kind", "taken", "due", "style", "colourway", "size", "quantity", "note", "state"}, rows)
}

// ClothsTable writes all cloths with what is on the shelf, so that an import can read them.
func (s *Service) ClothsTable(ctx context.Context, out io.Writer, workshop int64) error {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	cloths, err := s.Cloths(ctx, workshop)
	if err != nil {
		return err
	}
	small, long := w.System.Small(), w.System.Long()
	var rows [][]any
	for _, c := range cloths {
		rows = append(rows, []any{
			c.Name, c.Content, c.Design, c.FullWidth.Text(small), c.Selvage.Text(small), c.Price, c.PriceUnit, c.ShrinkLength, c.ShrinkWidth,
			yesNo(c.PreWashed), string(c.Nap), c.RepeatLength.Text(small), c.RepeatWidth.Text(small), string(c.Thickness), c.Care, yesNo(c.CanBuy), c.OnShelf.Text(long),
		})
	}
	heading := []string{
		"name", "content", "design", "width", "selvage", "price", "per", "shrinks lengthwise", "shrinks crosswise",
		"washed", "nap", "repeat lengthwise", "repeat crosswise", "thickness", "care", "can be bought", "on the shelf",
	}
	return exports.Table(out, heading, rows)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// StylesTable writes the cut size of every piece of every style in every size, so that an
// import can read the styles that are made of rectangles. Shaped pieces have the size of the
// rectangle around them.
func (s *Service) StylesTable(ctx context.Context, out io.Writer, workshop int64) error {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	styles, err := s.Styles(ctx, workshop)
	if err != nil {
		return err
	}
	charts, err := s.Charts(ctx, workshop)
	if err != nil {
		return err
	}
	byID := map[int64]store.Chart{}
	for _, chart := range charts {
		byID[chart.ID] = chart
	}
	var rows [][]any
	for _, style := range styles {
		more, err := styleTable(style, byID[style.ChartID], w.System.Small())
		if err != nil {
			return err
		}
		rows = append(rows, more...)
	}
	return exports.Table(out, []string{"style", "chart", "piece", "cloth", "copies", "grain", "size", "width", "length", "shape"}, rows)
}

func styleTable(style store.Style, chart store.Chart, small length.Measure) ([][]any, error) {
	var rows [][]any
	for _, size := range chart.SizeNames() {
		graded, err := style.Grade(chart.SizeChart, size)
		if err != nil {
			return nil, fmt.Errorf("style %s, size %s: %w", style.Name, size, err)
		}
		for _, piece := range graded.Pieces {
			shape := style.Pieces[piece.Piece].Shape
			if shape == "" {
				shape = garment.Rectangle
			}
			rows = append(rows, []any{
				style.Name, chart.Name, piece.Name, string(piece.Role), piece.Copies, string(piece.Grain), size,
				piece.Width.Text(small), piece.Length.Text(small), string(shape),
			})
		}
	}
	return rows, nil
}

// PricesTable writes what every garment costs and sells at, by channel.
func (s *Service) PricesTable(ctx context.Context, out io.Writer, workshop int64) error {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return err
	}
	var rows [][]any
	for _, way := range all.InUse() {
		prices, err := s.price(ctx, all, way.ID, costing.Change{})
		if err != nil {
			return err
		}
		for i, size := range prices.Sizes {
			for c, channel := range all.Channels {
				quote := prices.Pricings[i].Quotes[c]
				rows = append(rows, []any{
					prices.Style.Name, way.Name, size, channel.Settings.Name, prices.Pricings[i].Sheet.Total.Number(),
					quote.Floor.Number(), prices.Asked[i][c].Price.Number(), all.workshop.Currency,
				})
			}
		}
	}
	return exports.Table(out, []string{"style", "colourway", "size", "channel", "costs", "floor", "price", "currency"}, rows)
}

// Calendar writes the due days of orders and the days on which batches are worked at, as a
// feed that other calendars can read. Address is where the pages are, for links; it may be
// empty.
func (s *Service) Calendar(ctx context.Context, out io.Writer, workshop int64, address string) error {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	options, err := s.exportOptions(w)
	if err != nil {
		return err
	}
	orders, err := s.store.OrdersWithLines(ctx, workshop, mostTabled)
	if err != nil {
		return err
	}
	var appointments []exports.Appointment
	for _, o := range orders {
		if o.State == "cancelled" {
			continue
		}
		appointments = append(appointments, dueDay(o, address))
	}
	days, err := s.workDays(ctx, w, address)
	if err != nil {
		return err
	}
	return exports.Calendar(out, append(appointments, days...), options)
}

func dueDay(o store.Order, address string) exports.Appointment {
	due := exports.Appointment{
		ID: fmt.Sprintf("order-%d@yardwright", o.ID), From: o.DueOn, To: o.DueOn,
		Title: fmt.Sprintf("Due: %s for %s", o.Number, o.CustomerName), About: words.Count(o.Garments, "garment") + ", " + o.State,
		Done: o.State == "delivered",
	}
	if address != "" {
		due.Address = fmt.Sprintf("%s/orders/%d", address, o.ID)
	}
	return due
}

// newestBatches is how many batches a calendar shows.
const newestBatches = 200

// workDays spreads the work of each planned batch over the working days from its start.
func (s *Service) workDays(ctx context.Context, w store.Workshop, address string) ([]exports.Appointment, error) {
	batches, err := s.Batches(ctx, w.ID, newestBatches)
	if err != nil {
		return nil, err
	}
	off, err := s.DaysOff(ctx, w.ID)
	if err != nil {
		return nil, err
	}
	calendar, err := calendarOf(w, off)
	if err != nil {
		return nil, err
	}
	var days []exports.Appointment
	for _, b := range batches {
		worked, err := s.store.WorkOfBatch(ctx, w.ID, b.ID)
		if err != nil {
			return nil, err
		}
		for i, day := range calendar.Days(b.StartsOn, worked) {
			appointment := exports.Appointment{
				ID: fmt.Sprintf("batch-%d-day-%d@yardwright", b.ID, i+1), From: day.On, To: day.On,
				Title: fmt.Sprintf("%s: %s", b.Name, clock(day.Work)), About: fmt.Sprintf("Work on the batch %s, %s.", b.Name, words.Count(b.Garments, "garment")), Done: b.State == "done",
			}
			if address != "" {
				appointment.Address = fmt.Sprintf("%s/batches/%d", address, b.ID)
			}
			days = append(days, appointment)
		}
	}
	return days, nil
}

// clock writes a time of work: 5 h 20 min.
func clock(work time.Duration) string {
	minutes := int(work.Round(time.Minute) / time.Minute)
	switch {
	case minutes < 60:
		return fmt.Sprintf("%d min", minutes)
	case minutes%60 == 0:
		return fmt.Sprintf("%d h", minutes/60)
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

// calendarOf is the calendar of a workshop: on each day, the minutes of those worked that make
// garments.
func calendarOf(w store.Workshop, off []time.Time) (batch.Calendar, error) {
	calendar := batch.Calendar{Off: off}
	for i, minutes := range w.DayMinutes {
		productive, err := w.Productive.Mul(money.Int(int64(minutes)))
		if err != nil {
			return calendar, err
		}
		whole, _ := productive.Round(0, money.HalfUp).Int64() // at most a day's minutes
		calendar.Minutes[i] = int(whole)
	}
	return calendar, nil
}
