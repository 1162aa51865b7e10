-- +goose Up

-- What a plan came from: which planning its lays are of, and which plan it took the place of.
ALTER TABLE batch_plans
    ADD COLUMN continues bigint,
    ADD COLUMN instead_of bigint,
    ADD CONSTRAINT batch_plans_continues_fkey FOREIGN KEY (batch_id, continues) REFERENCES batch_plans (batch_id, id) ON DELETE CASCADE,
    ADD CONSTRAINT batch_plans_instead_of_fkey FOREIGN KEY (batch_id, instead_of) REFERENCES batch_plans (batch_id, id) ON DELETE CASCADE;
COMMENT ON COLUMN batch_plans.continues IS 'The planning whose lays these are, with the shelf or the settings of later; null for a planning.';
COMMENT ON COLUMN batch_plans.instead_of IS 'The planning in whose place this one was taken; null where it was the first, or was not taken.';
