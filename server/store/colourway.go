package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"yardwright/batch/garment"
)

// Colourway is a style in chosen cloths and notions, as stored.
type Colourway struct {
	ID, StyleID int64
	StyleName   string
	Name        string
	// PutAway: it isn't offered for orders any more.
	PutAway bool
	Version int
	Cloths  map[garment.Role]int64 `db:"-"`
	Notions map[string]int64       `db:"-"`
}

// Colourways lists all colourways by style and name.
func (s *Store) Colourways(ctx context.Context, workshop int64) ([]Colourway, error) {
	round := &pgx.Batch{}
	read := queueColourways(round, args{"workshop": workshop})
	if err := readAll(ctx, s.db, round); err != nil {
		return nil, err
	}
	return read(), nil
}

// queueColourways queues the reading of colourways; read puts them together after readAll.
func queueColourways(round *pgx.Batch, named args) (read func() []Colourway) {
	type clothRow struct {
		ColourwayID int64
		Role        garment.Role
		ClothID     int64
	}
	type notionRow struct {
		ColourwayID int64
		Need        string
		NotionID    int64
	}
	var ways []Colourway
	var cloths []clothRow
	var notions []notionRow
	queued(round, &ways, `
		SELECT w.id, w.style_id, s.name AS style_name, w.name, w.put_away, w.version FROM colourways w JOIN styles s ON s.id = w.style_id
		WHERE w.workshop_id = @workshop ORDER BY s.name, w.name`, named)
	queued(round, &cloths, `SELECT c.colourway_id, c.role, c.cloth_id FROM colourway_cloths c JOIN colourways w ON w.id = c.colourway_id WHERE w.workshop_id = @workshop`, named)
	queued(round, &notions, `SELECT n.colourway_id, n.need, n.notion_id FROM colourway_notions n JOIN colourways w ON w.id = n.colourway_id WHERE w.workshop_id = @workshop`, named)
	return func() []Colourway {
		at := map[int64]*Colourway{}
		for i := range ways {
			ways[i].Cloths, ways[i].Notions = map[garment.Role]int64{}, map[string]int64{}
			at[ways[i].ID] = &ways[i]
		}
		for _, c := range cloths {
			if way := at[c.ColourwayID]; way != nil {
				way.Cloths[c.Role] = c.ClothID
			}
		}
		for _, n := range notions {
			if way := at[n.ColourwayID]; way != nil {
				way.Notions[n.Need] = n.NotionID
			}
		}
		return ways
	}
}

// AddColourway stores a new colourway.
func (s *Store) AddColourway(ctx context.Context, workshop int64, w Colourway) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO colourways (workshop_id, style_id, name)
			SELECT @workshop, s.id, @name FROM styles s WHERE s.id = @style AND s.workshop_id = @workshop RETURNING id`,
			args{"workshop": workshop, "style": w.StyleID, "name": w.Name})
		if err != nil {
			return noRow(err, Wrong("style", "Choose a style."))
		}
		return s.writeChoices(ctx, workshop, id, w)
	})
	return id, err
}

// SaveColourway changes a colourway if nobody else has in the meantime.
func (s *Store) SaveColourway(ctx context.Context, workshop int64, w Colourway) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "colourway", `
			UPDATE colourways SET name = @name, version = version + 1 WHERE workshop_id = @workshop AND id = @id AND version = @version`,
			args{"workshop": workshop, "id": w.ID, "version": w.Version, "name": w.Name})
		if err != nil {
			return err
		}
		for _, table := range []string{"colourway_cloths", "colourway_notions"} {
			if _, err := s.db.Exec(ctx, `DELETE FROM `+table+` WHERE colourway_id = @id`, args{"id": w.ID}); err != nil {
				return fault(err)
			}
		}
		return s.writeChoices(ctx, workshop, w.ID, w)
	})
}

// writeChoices stores cloths and notions; what belongs to another workshop is left out and
// then missed by whoever plans with it.
func (s *Store) writeChoices(ctx context.Context, workshop, id int64, w Colourway) error {
	queue := &pgx.Batch{}
	for role, cloth := range w.Cloths {
		queue.Queue(`INSERT INTO colourway_cloths (colourway_id, role, cloth_id)
			SELECT @id, @role, c.id FROM cloths c WHERE c.id = @cloth AND c.workshop_id = @workshop`,
			args{"workshop": workshop, "id": id, "role": role, "cloth": cloth})
	}
	for need, notion := range w.Notions {
		queue.Queue(`INSERT INTO colourway_notions (colourway_id, need, notion_id)
			SELECT @id, @need, n.id FROM notions n WHERE n.id = @notion AND n.workshop_id = @workshop`,
			args{"workshop": workshop, "id": id, "need": need, "notion": notion})
	}
	return sendAll(ctx, s.db, queue)
}

// RemoveColourway removes a colourway that no order uses.
func (s *Store) RemoveColourway(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "colourway", `DELETE FROM colourways WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}
