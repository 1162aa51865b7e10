-- +goose Up

-- What is no longer used is put away: it stays with its history, and isn't offered any more.
ALTER TABLE cloths ADD COLUMN put_away boolean NOT NULL DEFAULT false;
ALTER TABLE notions ADD COLUMN put_away boolean NOT NULL DEFAULT false;
ALTER TABLE notions ADD CONSTRAINT notions_put_away_unused CHECK (NOT (put_away AND packing));
ALTER TABLE colourways ADD COLUMN put_away boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN cloths.put_away IS 'No longer offered for bolts and colourways; colourways that have it stay as they are.';
COMMENT ON COLUMN notions.put_away IS 'No longer offered for colourways; colourways that have it stay as they are.';
COMMENT ON COLUMN colourways.put_away IS 'No longer offered for orders, nor priced in lists; orders that have it stay as they are.';

-- Allowances that differ by edge, within a drawn outline or a table of cut sizes.
ALTER TABLE style_pieces
    ADD COLUMN seam_top bigint CONSTRAINT style_pieces_seam_top_not_negative CHECK (seam_top >= 0),
    ADD COLUMN seam_bottom bigint CONSTRAINT style_pieces_seam_bottom_not_negative CHECK (seam_bottom >= 0);
COMMENT ON COLUMN style_pieces.seam IS 'Allowance at the sides of a drawn outline or a table of cut sizes; 0 where that is not known.';
COMMENT ON COLUMN style_pieces.seam_top IS 'Allowance at the top; null where it is that at the sides.';
COMMENT ON COLUMN style_pieces.seam_bottom IS 'Allowance at the bottom; null where it is that at the sides.';
