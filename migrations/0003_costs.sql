-- +goose Up

-- Choices that sources differ on, and what costing knows of the workshop besides its wage.
CREATE TABLE cost_settings (
    workshop_id     bigint PRIMARY KEY REFERENCES workshops ON DELETE CASCADE,
    wastage_rule    text NOT NULL DEFAULT 'added' CONSTRAINT cost_settings_wastage_known CHECK (wastage_rule IN ('added', 'share')),
    allowance_rule  text NOT NULL DEFAULT 'job' CONSTRAINT cost_settings_allowance_rule_known CHECK (allowance_rule IN ('job', 'day')),
    allowance       numeric(6,4) NOT NULL DEFAULT 0.14 CONSTRAINT cost_settings_allowance_range CHECK (allowance >= 0 AND allowance < 1),
    profit_rule     text NOT NULL DEFAULT 'mark-up' CONSTRAINT cost_settings_profit_known CHECK (profit_rule IN ('mark-up', 'margin')),
    rounding        text NOT NULL DEFAULT 'half up' CONSTRAINT cost_settings_rounding_known CHECK (rounding IN ('half up', 'half even', 'up', 'down')),
    odd_cent        text NOT NULL DEFAULT 'largest remainder' CONSTRAINT cost_settings_odd_cent_known CHECK (odd_cent IN ('largest remainder', 'first parts', 'last parts')),
    valuation       text NOT NULL DEFAULT 'first in, first out' CONSTRAINT cost_settings_valuation_known CHECK (valuation IN ('first in, first out', 'weighted average')),
    learning_model  text NOT NULL DEFAULT 'unit' CONSTRAINT cost_settings_learning_known CHECK (learning_model IN ('unit', 'cumulative average')),
    learning_rate   numeric(6,4) NOT NULL DEFAULT 0.9 CONSTRAINT cost_settings_learning_range CHECK (learning_rate > 0.5 AND learning_rate <= 1),
    holding         numeric(6,4) NOT NULL DEFAULT 0.2 CONSTRAINT cost_settings_holding_range CHECK (holding >= 0 AND holding <= 10),
    year_weeks      numeric(5,2) NOT NULL DEFAULT 46 CONSTRAINT cost_settings_weeks_range CHECK (year_weeks > 0 AND year_weeks <= 53),
    year_days       numeric(4,2) NOT NULL DEFAULT 5 CONSTRAINT cost_settings_days_range CHECK (year_days > 0 AND year_days <= 7),
    year_hours      numeric(4,2) NOT NULL DEFAULT 6 CONSTRAINT cost_settings_hours_range CHECK (year_hours > 0 AND year_hours <= 24),
    year_people     numeric(6,2) NOT NULL DEFAULT 1 CONSTRAINT cost_settings_people_positive CHECK (year_people > 0),
    year_productive numeric(6,4) NOT NULL DEFAULT 0.7 CONSTRAINT cost_settings_productive_range CHECK (year_productive > 0 AND year_productive <= 1),
    version         integer NOT NULL DEFAULT 1
);
COMMENT ON COLUMN cost_settings.allowance IS 'Usual allowance of a time study, as a share; see allowance_rule.';
COMMENT ON COLUMN cost_settings.learning_rate IS 'What is left of the time when the count doubles.';
COMMENT ON COLUMN cost_settings.holding IS 'What keeping a garment unsold for a year costs, as a share of its cost.';
INSERT INTO cost_settings (workshop_id) SELECT id FROM workshops;

CREATE TABLE year_costs (
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    position    integer NOT NULL,
    name        text NOT NULL CONSTRAINT year_costs_name_given CHECK (btrim(name) <> ''),
    amount      numeric(18,6) NOT NULL CONSTRAINT year_costs_amount_not_negative CHECK (amount >= 0),
    years       numeric(6,2) NOT NULL DEFAULT 1 CONSTRAINT year_costs_years_positive CHECK (years > 0),
    share       numeric(6,4) NOT NULL DEFAULT 1 CONSTRAINT year_costs_share_range CHECK (share > 0 AND share <= 1),
    PRIMARY KEY (workshop_id, position)
);
COMMENT ON TABLE year_costs IS 'What the overhead of a year is made up of. Saving it sets workshops.overhead_year and productive_hours.';
COMMENT ON COLUMN year_costs.years IS 'How long what was bought lasts; 1 for what is paid every year.';
COMMENT ON COLUMN year_costs.share IS 'The part that the workshop bears.';

ALTER TABLE cloths
    ADD discount       numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT cloths_discount_range CHECK (discount >= 0 AND discount < 1),
    ADD freight        numeric(18,6) NOT NULL DEFAULT 0 CONSTRAINT cloths_freight_not_negative CHECK (freight >= 0),
    ADD freight_length bigint NOT NULL DEFAULT 0 CONSTRAINT cloths_freight_length_not_negative CHECK (freight_length >= 0),
    ADD tax            numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT cloths_tax_range CHECK (tax >= 0 AND tax <= 10),
    ADD wastage        numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT cloths_wastage_range CHECK (wastage >= 0 AND wastage < 1),
    ADD CONSTRAINT cloths_freight_has_length CHECK (freight = 0 OR freight_length > 0);
COMMENT ON COLUMN cloths.price IS 'On the bill, per price_unit; discount, freight and tax make the landed price of it.';
COMMENT ON COLUMN cloths.freight IS 'Paid for bringing freight_length of it.';
COMMENT ON COLUMN cloths.tax IS 'Paid on goods and freight and not claimed back, as a share.';
COMMENT ON COLUMN cloths.wastage IS 'What the lays do not know of: flaws, mis-cuts; see cost_settings.wastage_rule.';

ALTER TABLE notions
    ADD discount numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT notions_discount_range CHECK (discount >= 0 AND discount < 1),
    ADD freight  numeric(18,6) NOT NULL DEFAULT 0 CONSTRAINT notions_freight_not_negative CHECK (freight >= 0),
    ADD tax      numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT notions_tax_range CHECK (tax >= 0 AND tax <= 10),
    ADD wastage  numeric(6,4) NOT NULL DEFAULT 0 CONSTRAINT notions_wastage_range CHECK (wastage >= 0 AND wastage < 1);
COMMENT ON COLUMN notions.freight IS 'Of one roll or pack.';

CREATE TABLE bolt_costs (
    bolt_id   bigint PRIMARY KEY REFERENCES bolts ON DELETE CASCADE,
    bought_on date,
    worth     numeric(18,6) CONSTRAINT bolt_costs_worth_not_negative CHECK (worth >= 0)
);
COMMENT ON COLUMN bolt_costs.worth IS 'What one price unit of it would fetch, where that is less than it cost: a remnant that will not be used.';
COMMENT ON COLUMN bolt_costs.bought_on IS 'Orders the bolts of a cloth for valuing; without it they count in the order in which they were received.';

CREATE TABLE style_costs (
    style_id   bigint PRIMARY KEY REFERENCES styles ON DELETE CASCADE,
    one_price  text NOT NULL DEFAULT 'each size its own' CONSTRAINT style_costs_one_price_known CHECK (one_price IN ('each size its own', 'every size pays', 'the mix pays')),
    year_sales integer NOT NULL DEFAULT 0 CONSTRAINT style_costs_sales_range CHECK (year_sales BETWEEN 0 AND 1000000)
);
COMMENT ON COLUMN style_costs.year_sales IS 'Garments that sell in a year, for the cheapest batch; 0 where it is not known.';

CREATE TABLE style_seams (
    style_id bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position integer NOT NULL,
    name     text NOT NULL CONSTRAINT style_seams_name_given CHECK (btrim(name) <> ''),
    class    text NOT NULL,
    length   text NOT NULL CONSTRAINT style_seams_length_given CHECK (btrim(length) <> ''),
    count    integer NOT NULL CONSTRAINT style_seams_count_range CHECK (count BETWEEN 1 AND 100),
    ratio    numeric(8,3) NOT NULL DEFAULT 0 CONSTRAINT style_seams_ratio_range CHECK (ratio >= 0 AND ratio <= 1000),
    PRIMARY KEY (style_id, position)
);
COMMENT ON TABLE style_seams IS 'What the thread of a style is made up of; its sum is the formula of the need for thread in style_notions.';
COMMENT ON COLUMN style_seams.length IS 'Formula over the measures of the chart and the allowances of the style.';
COMMENT ON COLUMN style_seams.class IS 'Stitch class of ISO 4915.';
COMMENT ON COLUMN style_seams.ratio IS 'Thread per seam where the maker measured it; 0 means that of the class.';

CREATE TABLE time_studies (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    style_id   bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    operation  text NOT NULL CONSTRAINT time_studies_operation_given CHECK (btrim(operation) <> ''),
    watched_on date NOT NULL,
    note       text NOT NULL DEFAULT '',
    study      jsonb NOT NULL CONSTRAINT time_studies_study_object CHECK (jsonb_typeof(study) = 'object'),
    taken_over boolean NOT NULL DEFAULT false
);
COMMENT ON COLUMN time_studies.study IS 'Readings, ratings and allowance as package costing writes a Study.';
CREATE INDEX time_studies_by_style ON time_studies (style_id, id DESC);

CREATE TABLE price_lists (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    channel     text NOT NULL,
    revision    integer NOT NULL CONSTRAINT price_lists_revision_positive CHECK (revision >= 1),
    issued_on   date NOT NULL,
    list        jsonb NOT NULL CONSTRAINT price_lists_list_object CHECK (jsonb_typeof(list) = 'object'),
    created_at  timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT price_lists_revision_once UNIQUE (workshop_id, channel, revision)
);
COMMENT ON TABLE price_lists IS 'Issued price lists. Never changed, and removed only with their workshop.';

-- +goose StatementBegin
CREATE FUNCTION keep_price_list() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' AND NOT EXISTS (SELECT FROM workshops WHERE id = OLD.workshop_id) THEN
        RETURN OLD;
    END IF;
    RAISE EXCEPTION 'an issued price list does not change' USING ERRCODE = 'check_violation', CONSTRAINT = 'price_lists_do_not_change', TABLE = 'price_lists';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER price_lists_do_not_change BEFORE UPDATE OR DELETE ON price_lists FOR EACH ROW EXECUTE FUNCTION keep_price_list();
