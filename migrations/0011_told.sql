-- +goose Up

-- Live progress can be taken up again where it broke off.
ALTER TABLE batch_plans ADD COLUMN told bigint NOT NULL DEFAULT 0 CONSTRAINT batch_plans_told_not_negative CHECK (told >= 0);
COMMENT ON COLUMN batch_plans.told IS 'Counts what there was to tell of this planning: each report, and its end. The number of the event that tells it.';
