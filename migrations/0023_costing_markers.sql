-- +goose Up

-- What colourways take in a usual batch, laid out once: laying takes seconds, and pages only show it.
CREATE TABLE costing_markers (
    workshop_id  bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    colourway_id bigint NOT NULL REFERENCES colourways ON DELETE CASCADE,
    digest       bytea NOT NULL CONSTRAINT costing_markers_digest_length CHECK (octet_length(digest) = 32),
    usual        jsonb,
    problems     jsonb,
    made_at      timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT costing_markers_once PRIMARY KEY (colourway_id, digest),
    CONSTRAINT costing_markers_laid_or_refused CHECK ((usual IS NULL) <> (problems IS NULL))
);
COMMENT ON TABLE costing_markers IS 'Costing markers, by all that they were made from. What they were made from never changes; what is no longer asked for is dropped.';
COMMENT ON COLUMN costing_markers.digest IS 'SHA-256 of the pieces, sizes, cloths, rules and quantities that were laid.';
COMMENT ON COLUMN costing_markers.usual IS 'workshop.ClothUse as package workshop writes it.';
COMMENT ON COLUMN costing_markers.problems IS 'Why it can''t be laid, by field.';
CREATE INDEX costing_markers_by_workshop ON costing_markers (workshop_id);
