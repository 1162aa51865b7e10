package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// keptMarkers is how many costing markers of a colourway are kept: that of its usual batch, and some
// of questions that were asked besides.
const keptMarkers = 12

// CostingMarker returns what a colourway takes in a batch, as PutCostingMarker kept it under a digest
// of all that it was made from. Found is false if it was never laid; a Fault says why it can't be.
func (s *Store) CostingMarker(ctx context.Context, workshop, colourway int64, digest [32]byte) (usual json.RawMessage, found bool, err error) {
	var problems []byte
	err = s.db.QueryRow(ctx, `SELECT usual, problems FROM costing_markers WHERE workshop_id = @workshop AND colourway_id = @colourway AND digest = @digest`,
		args{"workshop": workshop, "colourway": colourway, "digest": digest[:]}).Scan(&usual, &problems)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return nil, false, nil
	case err != nil:
		return nil, false, fault(err)
	case problems == nil:
		return usual, true, nil
	}
	refused := &Fault{Kind: Invalid}
	if err := json.Unmarshal(problems, &refused.Problems); err != nil {
		return nil, true, fmt.Errorf("the problems of a costing marker can't be read: %w", err)
	}
	return nil, true, refused
}

// PutCostingMarker keeps what a colourway takes in a batch, or why it can't be laid, under a digest of
// all that it was made from.
func (s *Store) PutCostingMarker(ctx context.Context, workshop, colourway int64, digest [32]byte, usual any, refused *Fault) error {
	var content, problems []byte
	var err error
	if refused == nil {
		content, err = json.Marshal(usual)
	} else {
		problems, err = json.Marshal(refused.Problems)
	}
	if err != nil {
		return fmt.Errorf("a costing marker can't be written: %w", err)
	}
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := tx.db.Exec(ctx, `
			INSERT INTO costing_markers (workshop_id, colourway_id, digest, usual, problems)
			SELECT s.workshop_id, w.id, @digest, @usual, @problems FROM colourways w JOIN styles s ON s.id = w.style_id WHERE w.id = @colourway AND s.workshop_id = @workshop
			ON CONFLICT ON CONSTRAINT costing_markers_once DO UPDATE SET made_at = now()`,
			args{"workshop": workshop, "colourway": colourway, "digest": digest[:], "usual": content, "problems": problems}); err != nil {
			return fault(err)
		}
		_, err := tx.db.Exec(ctx, `DELETE FROM costing_markers WHERE colourway_id = @colourway
			AND digest NOT IN (SELECT digest FROM costing_markers WHERE colourway_id = @colourway ORDER BY made_at DESC LIMIT @kept)`,
			args{"colourway": colourway, "kept": keptMarkers})
		return fault(err)
	})
}

// LaidMarker is a costing marker of a colourway.
type LaidMarker struct {
	ColourwayID int64
	Digest      []byte
	Usual       json.RawMessage
}

// NewestCostingMarkers lists the costing marker of each colourway that was laid last.
func (s *Store) NewestCostingMarkers(ctx context.Context, workshop int64) ([]LaidMarker, error) {
	return list[LaidMarker](ctx, s.db, `SELECT DISTINCT ON (colourway_id) colourway_id, digest, usual FROM costing_markers
		WHERE workshop_id = @workshop AND usual IS NOT NULL ORDER BY colourway_id, made_at DESC`, args{"workshop": workshop})
}
