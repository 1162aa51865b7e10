package store

import (
	"context"

	"yardwright/batch/length"
)

// What is no longer used is put away: it stays, with its history and in what has it, and isn't
// offered any more. Only what was never used can be removed.

// PutAwayCloth puts a cloth away, or brings it back. A cloth of which there is some on the shelf
// stays in sight.
func (s *Store) PutAwayCloth(ctx context.Context, workshop, id int64, away bool) error {
	return s.InTx(ctx, func(tx *Store) error {
		onShelf, err := scalar[length.Length](ctx, tx.db, `
			SELECT coalesce((SELECT sum(b.length) FROM bolts b WHERE b.cloth_id = c.id), 0)::bigint
			FROM cloths c WHERE c.id = @id AND c.workshop_id = @workshop FOR NO KEY UPDATE`, args{"id": id, "workshop": workshop})
		if err != nil {
			return noRowMissing(err, "cloth")
		}
		if away && onShelf > 0 {
			return &Fault{Kind: Conflict, Problems: []Problem{{Message: "Some of this cloth is still on the shelf. Once its bolts are used up it can be put away; if they are gone already, change their length to 0 and say why."}}}
		}
		return changed(ctx, tx.db, "cloth", `UPDATE cloths SET put_away = @away, version = version + 1 WHERE id = @id AND workshop_id = @workshop`,
			args{"id": id, "workshop": workshop, "away": away})
	})
}

// PutAwayNotion puts a notion away, or brings it back. One that goes out with every garment is
// in use.
func (s *Store) PutAwayNotion(ctx context.Context, workshop, id int64, away bool) error {
	return changed(ctx, s.db, "notion", `UPDATE notions SET put_away = @away, version = version + 1 WHERE id = @id AND workshop_id = @workshop`,
		args{"id": id, "workshop": workshop, "away": away})
}

// PutAwayColourway puts a colourway away, or brings it back.
func (s *Store) PutAwayColourway(ctx context.Context, workshop, id int64, away bool) error {
	return changed(ctx, s.db, "colourway", `UPDATE colourways w SET put_away = @away, version = w.version + 1 FROM styles s
		WHERE s.id = w.style_id AND s.workshop_id = @workshop AND w.id = @id`, args{"id": id, "workshop": workshop, "away": away})
}

// RemoveNotion removes a notion that nothing ever used.
func (s *Store) RemoveNotion(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "notion", `DELETE FROM notions WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// RemoveBolt removes a bolt that nothing was ever cut from or held of, such as one that was
// received by mistake; its history goes with it.
func (s *Store) RemoveBolt(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "bolt", `DELETE FROM bolts WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// FaultsOf lists the faults of a bolt that are not cut off yet, measured from its free end, whatever
// batches hold of it.
func (s *Store) FaultsOf(ctx context.Context, workshop, bolt int64) ([]BoltFault, error) {
	return list[BoltFault](ctx, s.db, `
		SELECT f.id, f.bolt_id, greatest(0, f.from_length - b.cut_off)::bigint AS from_length, (f.to_length - b.cut_off)::bigint AS to_length, f.from_width, f.to_width, f.note
		FROM bolt_faults f JOIN bolts b ON b.id = f.bolt_id
		WHERE b.workshop_id = @workshop AND b.id = @bolt AND f.to_length > b.cut_off ORDER BY f.from_length, f.from_width, f.id`, args{"workshop": workshop, "bolt": bolt})
}
