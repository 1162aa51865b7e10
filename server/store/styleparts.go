package store

import (
	"context"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"yardwright/batch/garment"
)

// StyleRenames are the parts of a style that have another name now, by the old one.
type StyleRenames struct{ Steps, Needs map[string]string }

// RenameParts lets time studies and the choices of colourways follow the names of a style's parts,
// and drops choices for what the style no longer takes. It belongs into the transaction that saves
// the style.
func (s *Store) RenameParts(ctx context.Context, workshop int64, style Style, renamed StyleRenames) error {
	if err := s.renameSteps(ctx, workshop, style.ID, renamed.Steps); err != nil {
		return err
	}
	type choice struct {
		ColourwayID int64
		Need        string
		NotionID    int64
	}
	const ofStyle = `colourway_notions c USING colourways w WHERE w.id = c.colourway_id AND w.workshop_id = @workshop AND w.style_id = @style`
	rows, err := s.db.Query(ctx, `DELETE FROM `+ofStyle+` RETURNING c.colourway_id, c.need, c.notion_id`, args{"workshop": workshop, "style": style.ID})
	if err != nil {
		return fault(err)
	}
	choices, err := pgx.CollectRows(rows, pgx.RowToStructByPos[choice])
	if err != nil {
		return fault(err)
	}
	queue := &pgx.Batch{}
	for _, c := range choices {
		if now, ok := renamed.Needs[c.Need]; ok {
			c.Need = now
		}
		if slices.ContainsFunc(style.Notions, func(n garment.NotionNeed) bool { return n.Notion == c.Need }) {
			queue.Queue(`INSERT INTO colourway_notions (colourway_id, need, notion_id) VALUES (@colourway, @need, @notion)`,
				args{"colourway": c.ColourwayID, "need": c.Need, "notion": c.NotionID})
		}
	}
	return sendAll(ctx, s.db, queue)
}

func (s *Store) renameSteps(ctx context.Context, workshop, style int64, names map[string]string) error {
	if len(names) == 0 {
		return nil
	}
	was := slices.Sorted(maps.Keys(names))
	is := make([]string, len(was))
	for i, name := range was {
		is[i] = names[name]
	}
	_, err := s.db.Exec(ctx, `
		UPDATE time_studies t SET operation = m.now FROM unnest(@was::text[], @is::text[]) AS m(old, now), styles s
		WHERE s.id = t.style_id AND s.workshop_id = @workshop AND s.id = @style AND t.operation = m.old`,
		args{"workshop": workshop, "style": style, "was": was, "is": is})
	return fault(err)
}
