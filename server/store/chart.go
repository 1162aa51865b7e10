package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"yardwright/batch/garment"
	"yardwright/batch/length"
)

// Chart is a size chart as stored.
type Chart struct {
	ID      int64
	Shipped bool
	Version int
	garment.SizeChart
}

type chartRow struct {
	ID      int64
	Name    string
	Wearer  garment.Wearer
	Note    string
	Shipped bool
	Version int
}

// Charts lists the size charts with all their values, shipped ones last.
func (s *Store) Charts(ctx context.Context, workshop int64) ([]Chart, error) {
	return s.charts(ctx, `c.workshop_id = @workshop`, args{"workshop": workshop})
}

// Chart returns one size chart.
func (s *Store) Chart(ctx context.Context, workshop, id int64) (Chart, error) {
	charts, err := s.charts(ctx, `c.workshop_id = @workshop AND c.id = @id`, args{"workshop": workshop, "id": id})
	if err != nil {
		return Chart{}, err
	}
	if len(charts) == 0 {
		return Chart{}, missing("size chart")
	}
	return charts[0], nil
}

// charts reads size charts with their measures, sizes and values, in one round trip.
func (s *Store) charts(ctx context.Context, where string, named args) ([]Chart, error) {
	round := &pgx.Batch{}
	read := queueCharts(round, where, named)
	if err := readAll(ctx, s.db, round); err != nil {
		return nil, err
	}
	return read(), nil
}

// queueCharts queues the reading of size charts; read puts them together after readAll.
func queueCharts(round *pgx.Batch, where string, named args) (read func() []Chart) {
	type measureRow struct {
		ChartID     int64
		Name, Label string
	}
	type valueRow struct {
		ChartID int64
		Size    string
		Measure *string
		Value   *length.Length
		Source  *string
	}
	var rows []chartRow
	var measures []measureRow
	var values []valueRow
	queued(round, &rows, `SELECT c.id, c.name, c.wearer, c.note, c.shipped, c.version FROM size_charts c WHERE `+where+` ORDER BY c.shipped, c.name`, named)
	queued(round, &measures, `
		SELECT m.chart_id, m.name, m.label FROM size_chart_measures m JOIN size_charts c ON c.id = m.chart_id WHERE `+where+` ORDER BY m.chart_id, m.position`, named)
	queued(round, &values, `
		SELECT s.chart_id, s.name AS size, v.measure, v.value, v.source
		FROM sizes s JOIN size_charts c ON c.id = s.chart_id LEFT JOIN size_values v ON v.chart_id = s.chart_id AND v.size = s.name
		WHERE `+where+` ORDER BY s.chart_id, s.position`, named)
	return func() []Chart {
		charts := make([]Chart, len(rows))
		at := map[int64]int{}
		for i, row := range rows {
			at[row.ID] = i
			charts[i] = Chart{ID: row.ID, Shipped: row.Shipped, Version: row.Version, SizeChart: garment.SizeChart{Name: row.Name, Wearer: row.Wearer, Note: row.Note}}
		}
		for _, m := range measures {
			chart := &charts[at[m.ChartID]]
			chart.Measures = append(chart.Measures, garment.Measure{Name: m.Name, Label: m.Label})
		}
		for _, v := range values {
			chart := &charts[at[v.ChartID]]
			last := len(chart.Sizes) - 1
			if last < 0 || chart.Sizes[last].Name != v.Size {
				chart.Sizes = append(chart.Sizes, garment.Size{Name: v.Size, Values: map[string]garment.Value{}})
				last++
			}
			if v.Measure != nil {
				chart.Sizes[last].Values[*v.Measure] = garment.Value{Length: *v.Value, Source: *v.Source}
			}
		}
		return charts
	}
}

// AddChart stores a new chart.
func (s *Store) AddChart(ctx context.Context, workshop int64, c Chart) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO size_charts (workshop_id, name, wearer, note, shipped) VALUES (@workshop, @name, @wearer, @note, @shipped) RETURNING id`,
			args{"workshop": workshop, "name": c.Name, "wearer": c.Wearer, "note": c.Note, "shipped": c.Shipped})
		if err != nil {
			return err
		}
		return s.writeChartRows(ctx, id, c.SizeChart)
	})
	return id, err
}

// SaveChart changes a chart if nobody else has in the meantime.
func (s *Store) SaveChart(ctx context.Context, workshop int64, c Chart) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "size chart", `
			UPDATE size_charts SET name = @name, wearer = @wearer, note = @note, version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND version = @version`,
			args{"workshop": workshop, "id": c.ID, "version": c.Version, "name": c.Name, "wearer": c.Wearer, "note": c.Note})
		if err != nil {
			return err
		}
		for _, table := range []string{"size_values", "sizes", "size_chart_measures"} {
			if _, err := s.db.Exec(ctx, `DELETE FROM `+table+` WHERE chart_id = @id`, args{"id": c.ID}); err != nil {
				return fault(err)
			}
		}
		return s.writeChartRows(ctx, c.ID, c.SizeChart)
	})
}

func (s *Store) writeChartRows(ctx context.Context, id int64, c garment.SizeChart) error {
	batch := &pgx.Batch{}
	for i, m := range c.Measures {
		batch.Queue(`INSERT INTO size_chart_measures (chart_id, position, name, label) VALUES (@id, @position, @name, @label)`,
			args{"id": id, "position": i, "name": m.Name, "label": m.Label})
	}
	for i, size := range c.Sizes {
		batch.Queue(`INSERT INTO sizes (chart_id, position, name) VALUES (@id, @position, @name)`, args{"id": id, "position": i, "name": size.Name})
		for measure, value := range size.Values {
			batch.Queue(`INSERT INTO size_values (chart_id, size, measure, value, source) VALUES (@id, @size, @measure, @value, @source)`,
				args{"id": id, "size": size.Name, "measure": measure, "value": value.Length, "source": value.Source})
		}
	}
	return sendAll(ctx, s.db, batch)
}

// RemoveChart removes a chart that no style uses.
func (s *Store) RemoveChart(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "size chart", `DELETE FROM size_charts WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}
