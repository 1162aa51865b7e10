-- +goose Up

-- Learning in the cost sheets of a style: off, or a named curve.
ALTER TABLE style_costs
    ADD learning      text NOT NULL DEFAULT 'off' CONSTRAINT style_costs_learning_known CHECK (learning IN ('off', 'unit', 'cumulative average')),
    ADD learning_rate numeric(6,4) NOT NULL DEFAULT 0.9 CONSTRAINT style_costs_learning_range CHECK (learning_rate > 0.5 AND learning_rate <= 1),
    ADD timed_garment integer NOT NULL DEFAULT 1 CONSTRAINT style_costs_timed_range CHECK (timed_garment BETWEEN 1 AND 100000);
COMMENT ON COLUMN style_costs.learning_rate IS 'What is left of the minutes when the count doubles.';
COMMENT ON COLUMN style_costs.timed_garment IS 'Which garment of a run takes the minutes of the steps.';

CREATE TABLE style_expenses (
    style_id     bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position     integer NOT NULL,
    name         text NOT NULL CONSTRAINT style_expenses_name_given CHECK (btrim(name) <> '') CONSTRAINT style_expenses_name_line CHECK (is_line(name, 80)),
    amount       numeric(18,6) NOT NULL CONSTRAINT style_expenses_amount_not_negative CHECK (amount >= 0),
    paid_for     text NOT NULL CONSTRAINT style_expenses_paid_for_known CHECK (paid_for IN ('each garment', 'each batch', 'a number of garments')),
    garments     integer NOT NULL DEFAULT 0 CONSTRAINT style_expenses_garments_given CHECK (garments BETWEEN 0 AND 1000000 AND (paid_for = 'a number of garments') = (garments > 0)),
    colourway_id bigint REFERENCES colourways ON DELETE CASCADE,
    PRIMARY KEY (style_id, position)
);
COMMENT ON TABLE style_expenses IS 'Direct expenses: what a style costs that is neither material nor minutes, such as a pattern licence.';
COMMENT ON COLUMN style_expenses.garments IS 'How many garments share it, where it is paid for a number of them; otherwise 0.';
COMMENT ON COLUMN style_expenses.colourway_id IS 'Null: every colourway of the style.';

CREATE TABLE batch_expenses (
    batch_id bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    position integer NOT NULL,
    name     text NOT NULL CONSTRAINT batch_expenses_name_given CHECK (btrim(name) <> '') CONSTRAINT batch_expenses_name_line CHECK (is_line(name, 80)),
    amount   numeric(18,6) NOT NULL CONSTRAINT batch_expenses_amount_not_negative CHECK (amount >= 0),
    PRIMARY KEY (batch_id, position)
);
COMMENT ON TABLE batch_expenses IS 'Direct expenses of one batch, which all its garments share.';

CREATE TABLE batch_minutes (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    batch_id  bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    worked_on date NOT NULL,
    stage     text NOT NULL CONSTRAINT batch_minutes_stage_known CHECK (stage IN ('cut', 'bundle', 'prepare', 'sew', 'press', 'finish')),
    minutes   numeric(9,2) NOT NULL CONSTRAINT batch_minutes_range CHECK (minutes > 0 AND minutes <= 100000),
    note      text NOT NULL DEFAULT '' CONSTRAINT batch_minutes_note_line CHECK (is_line(note, 200)),
    removed   boolean NOT NULL DEFAULT false
);
COMMENT ON TABLE batch_minutes IS 'Minutes as they were worked at a batch, of all hands together.';
CREATE INDEX batch_minutes_by_batch ON batch_minutes (batch_id);
