-- +goose Up

ALTER TABLE style_pieces ADD COLUMN seam bigint NOT NULL DEFAULT 0 CONSTRAINT style_pieces_seam_not_negative CHECK (seam >= 0);
COMMENT ON COLUMN style_pieces.seam IS 'Allowance all round within a drawn outline; 0 where that is not known.';

CREATE TABLE style_piece_outlines (
    piece_id bigint NOT NULL REFERENCES style_pieces ON DELETE CASCADE,
    size     text NOT NULL,
    points   jsonb NOT NULL CONSTRAINT style_piece_outlines_points_list CHECK (jsonb_typeof(points) = 'array' AND jsonb_array_length(points) >= 3),
    PRIMARY KEY (piece_id, size)
);
COMMENT ON TABLE style_piece_outlines IS 'Outlines of pieces that were taken from a drawing, by size; an empty size speaks for all.';
COMMENT ON COLUMN style_piece_outlines.points IS 'X across and Y along in 1/8000 mm, from the lower left corner of its box.';

CREATE TABLE drawings (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name        text NOT NULL,
    content     bytea NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE drawings IS 'Drawings from which somebody is choosing an outline. Removed after a day.';
