-- +goose Up

-- How buying is weighed against cutting from what is on the shelf.
ALTER TABLE workshops
    ADD COLUMN remnant_worth numeric(5,2) NOT NULL DEFAULT 50 CONSTRAINT workshops_remnant_worth_percent CHECK (remnant_worth BETWEEN 0 AND 100),
    ADD COLUMN buy_tolerance numeric(5,2) NOT NULL DEFAULT 2 CONSTRAINT workshops_buy_tolerance_percent CHECK (buy_tolerance BETWEEN 0 AND 100);
COMMENT ON COLUMN workshops.remnant_worth IS 'Percent of its price that the rest of bought cloth counts for, if it is long enough to keep.';
COMMENT ON COLUMN workshops.buy_tolerance IS 'Percent of the cloth''s money that a plan which buys must save against one that the shelf covers.';

-- A draft names the plan that it is cut by; before, the newest one was meant.
UPDATE batches b SET plan_id = (SELECT max(p.id) FROM batch_plans p WHERE p.batch_id = b.id AND p.plan IS NOT NULL) WHERE plan_id IS NULL;
