-- +goose Up

CREATE TABLE import_drafts (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    kind        text NOT NULL CONSTRAINT import_drafts_kind_known CHECK (kind IN ('orders', 'cloths', 'styles')),
    name        text NOT NULL,
    content     bytea NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE import_drafts IS 'Files that are being looked at; nothing of them is taken until somebody agrees. Removed after a day.';

ALTER TABLE workshops ADD COLUMN calendar_key text NOT NULL DEFAULT replace(gen_random_uuid()::text || gen_random_uuid()::text, '-', '')
    CONSTRAINT workshops_calendar_key_long CHECK (length(calendar_key) >= 32);
COMMENT ON COLUMN workshops.calendar_key IS 'Who knows it may read the calendar; it stands in the address of the feed.';

-- An order is known by its number; a file that was taken once need not be remembered.
DROP TABLE imports;
