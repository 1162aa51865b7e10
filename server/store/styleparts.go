package store

import (
	"context"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"
)

// StyleRenames are the parts of a style that have another name now, by the old one.
type StyleRenames struct{ Steps, Needs map[string]string }

// RenameParts lets time studies and the choices of colourways follow the names of a style's parts.
// It belongs into the transaction that saves the style. What colourways have chosen for a notion that
// the style takes no longer stays, in case it comes back.
func (s *Store) RenameParts(ctx context.Context, workshop int64, style Style, renamed StyleRenames) error {
	queue := &pgx.Batch{}
	for _, old := range slices.Sorted(maps.Keys(renamed.Steps)) {
		queue.Queue(`UPDATE time_studies t SET operation = @now FROM styles s
			WHERE s.id = t.style_id AND s.workshop_id = @workshop AND s.id = @style AND t.operation = @old`,
			args{"workshop": workshop, "style": style.ID, "old": old, "now": renamed.Steps[old]})
	}
	for _, old := range slices.Sorted(maps.Keys(renamed.Needs)) {
		named := args{"workshop": workshop, "style": style.ID, "old": old, "now": renamed.Needs[old]}
		const ofStyle = `w.id = c.colourway_id AND w.workshop_id = @workshop AND w.style_id = @style`
		queue.Queue(`DELETE FROM colourway_notions c USING colourways w WHERE `+ofStyle+` AND c.need = @now
			AND EXISTS (SELECT FROM colourway_notions o WHERE o.colourway_id = c.colourway_id AND o.need = @old)`, named)
		queue.Queue(`UPDATE colourway_notions c SET need = @now FROM colourways w WHERE `+ofStyle+` AND c.need = @old`, named)
	}
	return sendAll(ctx, s.db, queue)
}
