-- +goose Up

-- Forms that were sent, by the key that each carries, so that one that is sent twice is done once.
CREATE TABLE sent_forms (
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    key         text NOT NULL CONSTRAINT sent_forms_key_length CHECK (length(key) BETWEEN 16 AND 64),
    answer      text NOT NULL DEFAULT '',
    sent_at     timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT sent_forms_once PRIMARY KEY (workshop_id, key)
);
COMMENT ON TABLE sent_forms IS 'Keys of forms that were sent, for some weeks.';
COMMENT ON COLUMN sent_forms.answer IS 'Number of what the form made.';
CREATE INDEX sent_forms_by_age ON sent_forms (sent_at);
