-- +goose Up

-- A batch: draft until it is released, then being cut, cut, and done when every bundle is sewn.
ALTER TABLE batches DROP CONSTRAINT batches_state_known;
UPDATE batches SET state = 'draft';
ALTER TABLE batches ADD CONSTRAINT batches_state_known CHECK (state IN ('draft', 'released', 'being cut', 'cut', 'done'));
ALTER TABLE batches ADD COLUMN plan_id bigint, ADD COLUMN released_at timestamptz;
ALTER TABLE batch_plans ADD CONSTRAINT batch_plans_of_batch UNIQUE (batch_id, id);
ALTER TABLE batches ADD CONSTRAINT batches_plan_fkey FOREIGN KEY (id, plan_id) REFERENCES batch_plans (batch_id, id);
ALTER TABLE batches ADD CONSTRAINT batches_released_by_a_plan CHECK (state = 'draft' OR plan_id IS NOT NULL);
ALTER TABLE batches ADD CONSTRAINT batches_released_at_given CHECK ((state = 'draft') = (released_at IS NULL));
COMMENT ON COLUMN batches.plan_id IS 'The plan that holds; null in a draft: the newest one.';

-- An order follows the batches of its lines.
ALTER TABLE orders DROP CONSTRAINT orders_state_known;
ALTER TABLE orders ADD CONSTRAINT orders_state_known
    CHECK (state IN ('open', 'in a batch', 'being cut', 'being sewn', 'made', 'delivered', 'cancelled'));

-- A released batch doesn't change: neither its orders nor its plan.
-- +goose StatementBegin
CREATE FUNCTION refuse_unless_draft() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    batch bigint;
    now_state text;
BEGIN
    IF TG_OP = 'DELETE' THEN
        batch := OLD.batch_id;
    ELSE
        batch := NEW.batch_id;
    END IF;
    -- The row lock makes planning and releasing take turns. A batch that is being removed has no row any more.
    SELECT state INTO now_state FROM batches WHERE id = batch FOR NO KEY UPDATE;
    IF now_state <> 'draft' THEN
        RAISE EXCEPTION 'batch % is %', batch, now_state
            USING ERRCODE = 'check_violation', CONSTRAINT = 'released_batches_do_not_change', TABLE = TG_TABLE_NAME;
    END IF;
    IF TG_OP = 'DELETE' THEN
        RETURN OLD;
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER batch_lines_of_draft BEFORE INSERT OR UPDATE OR DELETE ON batch_lines FOR EACH ROW EXECUTE FUNCTION refuse_unless_draft();
CREATE TRIGGER batch_plans_of_draft BEFORE INSERT OR DELETE ON batch_plans FOR EACH ROW EXECUTE FUNCTION refuse_unless_draft();

-- +goose StatementBegin
CREATE FUNCTION refuse_plan_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF OLD.plan IS NOT NULL AND NEW.plan IS DISTINCT FROM OLD.plan THEN
        RAISE EXCEPTION 'a finished plan does not change' USING ERRCODE = 'check_violation', CONSTRAINT = 'plans_do_not_change', TABLE = 'batch_plans';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER batch_plans_do_not_change BEFORE UPDATE OF plan ON batch_plans FOR EACH ROW EXECUTE FUNCTION refuse_plan_change();

-- Every length of a bolt, and why it changed.
ALTER TABLE bolts ADD COLUMN cut_off bigint NOT NULL DEFAULT 0 CONSTRAINT bolts_cut_off_not_negative CHECK (cut_off >= 0);
COMMENT ON COLUMN bolts.cut_off IS 'Length cut from the free end since the bolt was received. Faults are measured from where that end was then.';
COMMENT ON COLUMN bolt_faults.from_length IS 'From the free end of the bolt as it was received.';

CREATE TABLE bolt_moves (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    bolt_id  bigint NOT NULL REFERENCES bolts ON DELETE CASCADE,
    kind     text NOT NULL CONSTRAINT bolt_moves_kind_known CHECK (kind IN ('received', 'cut', 'corrected', 'kept as a remnant', 'thrown away', 'undone')),
    change   bigint NOT NULL,
    batch_id bigint REFERENCES batches ON DELETE SET NULL,
    undoes   bigint REFERENCES bolt_moves ON DELETE CASCADE CONSTRAINT bolt_moves_undone_once UNIQUE,
    note     text NOT NULL DEFAULT '',
    made_at  timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT bolt_moves_change_of_kind CHECK (CASE kind
        WHEN 'received' THEN change >= 0 WHEN 'cut' THEN change < 0 WHEN 'thrown away' THEN change < 0
        WHEN 'kept as a remnant' THEN change = 0 WHEN 'corrected' THEN change <> 0 ELSE true END),
    CONSTRAINT bolt_moves_reason_given CHECK (kind <> 'corrected' OR btrim(note) <> ''),
    CONSTRAINT bolt_moves_undone_says_what CHECK ((kind = 'undone') = (undoes IS NOT NULL))
);
COMMENT ON TABLE bolt_moves IS 'The history of each bolt. Its length is the sum of their changes.';
COMMENT ON COLUMN bolt_moves.change IS 'Length added, or taken if below zero.';
CREATE INDEX bolt_moves_by_bolt ON bolt_moves (bolt_id, id);
INSERT INTO bolt_moves (bolt_id, kind, change, note) SELECT id, 'received', length, 'On the shelf when its history began' FROM bolts;

-- +goose StatementBegin
CREATE FUNCTION apply_bolt_move() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    of_kind text := NEW.kind;
BEGIN
    IF NEW.undoes IS NOT NULL THEN
        SELECT kind INTO of_kind FROM bolt_moves WHERE id = NEW.undoes;
    END IF;
    UPDATE bolts SET length = length + NEW.change, cut_off = cut_off - CASE WHEN of_kind = 'cut' THEN NEW.change ELSE 0 END WHERE id = NEW.bolt_id;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER bolt_moves_apply AFTER INSERT ON bolt_moves FOR EACH ROW EXECUTE FUNCTION apply_bolt_move();

-- +goose StatementBegin
CREATE FUNCTION refuse_move_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        IF NOT EXISTS (SELECT FROM bolts WHERE id = OLD.bolt_id) THEN
            RETURN OLD; -- the whole bolt is being removed
        END IF;
    ELSIF NEW.bolt_id = OLD.bolt_id AND NEW.kind = OLD.kind AND NEW.change = OLD.change AND NEW.note = OLD.note
        AND NEW.made_at = OLD.made_at AND NEW.undoes IS NOT DISTINCT FROM OLD.undoes THEN
        RETURN NEW; -- losing a removed batch is the only change that history takes
    END IF;
    RAISE EXCEPTION 'the history of a bolt does not change' USING ERRCODE = 'check_violation', CONSTRAINT = 'bolt_moves_do_not_change', TABLE = 'bolt_moves';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER bolt_moves_do_not_change BEFORE UPDATE OR DELETE ON bolt_moves FOR EACH ROW EXECUTE FUNCTION refuse_move_change();

-- +goose StatementBegin
CREATE FUNCTION check_bolt_sum() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    on_shelf bigint;
    moved bigint;
BEGIN
    SELECT length INTO on_shelf FROM bolts WHERE id = NEW.id;
    SELECT coalesce(sum(change), 0) INTO moved FROM bolt_moves WHERE bolt_id = NEW.id;
    IF on_shelf <> moved THEN
        RAISE EXCEPTION 'bolt % has % but its history says %', NEW.id, on_shelf, moved
            USING ERRCODE = 'check_violation', CONSTRAINT = 'bolts_length_is_sum', TABLE = 'bolts';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE CONSTRAINT TRIGGER bolts_length_is_sum AFTER INSERT OR UPDATE OF length ON bolts
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_bolt_sum();

-- How far a released batch is. The rows come into being when it is released, and go when that is undone.
CREATE TABLE batch_lays (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    batch_id bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    cloth    integer NOT NULL CONSTRAINT batch_lays_cloth_not_negative CHECK (cloth >= 0),
    lay      integer NOT NULL CONSTRAINT batch_lays_lay_not_negative CHECK (lay >= 0),
    cut_at   timestamptz,
    CONSTRAINT batch_lays_once UNIQUE (batch_id, cloth, lay)
);
COMMENT ON COLUMN batch_lays.cloth IS 'Index into the cloths of the plan that holds; lay: index into the lays of that cloth.';

CREATE TABLE batch_lay_draws (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    lay_id         bigint NOT NULL REFERENCES batch_lays ON DELETE CASCADE,
    bolt_id        bigint NOT NULL REFERENCES bolts,
    length         bigint NOT NULL CONSTRAINT batch_lay_draws_length_positive CHECK (length > 0),
    cut_move       bigint REFERENCES bolt_moves,
    rest_move      bigint REFERENCES bolt_moves,
    place_before   text NOT NULL DEFAULT '',
    remnant_before boolean NOT NULL DEFAULT false,
    CONSTRAINT batch_lay_draws_once UNIQUE (lay_id, bolt_id)
);
COMMENT ON TABLE batch_lay_draws IS 'What a lay takes from each bolt: as planned, and the moves of the bolt once it is cut.';
CREATE INDEX batch_lay_draws_by_bolt ON batch_lay_draws (bolt_id);

CREATE TABLE batch_bundles (
    batch_id bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    number   integer NOT NULL CONSTRAINT batch_bundles_number_positive CHECK (number >= 1),
    sewn_at  timestamptz,
    PRIMARY KEY (batch_id, number)
);

CREATE TABLE batch_notions (
    batch_id  bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    notion_id bigint NOT NULL REFERENCES notions,
    taken_at  timestamptz,
    took      jsonb NOT NULL DEFAULT '[]' CONSTRAINT batch_notions_took_list CHECK (jsonb_typeof(took) = 'array'),
    PRIMARY KEY (batch_id, notion_id)
);
COMMENT ON COLUMN batch_notions.took IS 'Rolls taken from the shelf (count below zero) and ends put back on it, by length; length 0 counts pieces.';

CREATE TABLE notion_reservations (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    notion_id   bigint NOT NULL REFERENCES notions,
    batch_id    bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    roll_length bigint NOT NULL DEFAULT 0 CONSTRAINT notion_reservations_roll_not_negative CHECK (roll_length >= 0),
    amount      bigint NOT NULL CONSTRAINT notion_reservations_amount_positive CHECK (amount > 0),
    CONSTRAINT notion_reservations_once UNIQUE (notion_id, batch_id, roll_length)
);
COMMENT ON COLUMN notion_reservations.amount IS 'Rolls of roll_length; where that is 0, pieces of what is counted, or length of what is used by length.';

-- +goose StatementBegin
CREATE FUNCTION check_notion_reserved() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    notion bigint;
BEGIN
    IF TG_TABLE_NAME = 'notions' THEN
        notion := NEW.id;
    ELSIF TG_OP = 'DELETE' THEN
        notion := OLD.notion_id;
    ELSE
        notion := NEW.notion_id;
    END IF;
    PERFORM FROM notions WHERE id = notion FOR NO KEY UPDATE;
    IF EXISTS (
        SELECT FROM notion_reservations r JOIN notions n ON n.id = r.notion_id WHERE r.notion_id = notion GROUP BY n.id, r.roll_length
        HAVING sum(r.amount) > CASE
            WHEN r.roll_length > 0 THEN (SELECT coalesce(sum(s.count), 0) FROM notion_rolls s WHERE s.notion_id = n.id AND s.length = r.roll_length)
            WHEN n.kind = 'counted' THEN n.in_stock
            ELSE (SELECT coalesce(sum(s.count * s.length), 0) FROM notion_rolls s WHERE s.notion_id = n.id) END
    ) THEN
        RAISE EXCEPTION 'more of notion % would be reserved than there is', notion
            USING ERRCODE = 'check_violation', CONSTRAINT = 'notion_reservations_within_stock', TABLE = 'notion_reservations';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
-- At the end of the transaction, since the rolls of a notion are written anew one by one.
CREATE CONSTRAINT TRIGGER notion_reservations_within_stock AFTER INSERT OR UPDATE ON notion_reservations
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_notion_reserved();
CREATE CONSTRAINT TRIGGER notions_keep_reserved AFTER UPDATE ON notions
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_notion_reserved();
CREATE CONSTRAINT TRIGGER notion_rolls_keep_reserved AFTER UPDATE OR DELETE ON notion_rolls
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION check_notion_reserved();
