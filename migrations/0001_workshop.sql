-- +goose Up

CREATE TABLE workshops (
    id                  bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name                text NOT NULL CONSTRAINT workshops_name_given CHECK (btrim(name) <> ''),
    system              text NOT NULL DEFAULT 'imperial' CONSTRAINT workshops_system_known CHECK (system IN ('imperial', 'metric')),
    fraction            integer NOT NULL DEFAULT 8 CONSTRAINT workshops_fraction_known CHECK (fraction IN (8, 16)),
    currency            text NOT NULL DEFAULT 'USD' CONSTRAINT workshops_currency_shape CHECK (currency ~ '^[A-Z]{3}$'),
    locale              text NOT NULL DEFAULT 'en-US' CONSTRAINT workshops_locale_shape CHECK (locale ~ '^[a-z]{2,3}(-[A-Z]{2})?$'),
    wage                numeric(18,6) NOT NULL DEFAULT 15 CONSTRAINT workshops_wage_not_negative CHECK (wage >= 0),
    efficiency          numeric(6,4) NOT NULL DEFAULT 1 CONSTRAINT workshops_efficiency_range CHECK (efficiency > 0 AND efficiency <= 3),
    overhead_year       numeric(18,6) NOT NULL DEFAULT 0 CONSTRAINT workshops_overhead_not_negative CHECK (overhead_year >= 0),
    productive_hours    numeric(12,3) NOT NULL DEFAULT 1000 CONSTRAINT workshops_hours_positive CHECK (productive_hours > 0),
    usual_batch         integer NOT NULL DEFAULT 12 CONSTRAINT workshops_usual_batch_range CHECK (usual_batch BETWEEN 1 AND 100000),
    table_length        bigint NOT NULL DEFAULT 21945600 CONSTRAINT workshops_table_positive CHECK (table_length > 0),
    plies_thin          integer NOT NULL DEFAULT 8 CONSTRAINT workshops_plies_thin_range CHECK (plies_thin BETWEEN 1 AND 500),
    plies_medium        integer NOT NULL DEFAULT 4 CONSTRAINT workshops_plies_medium_range CHECK (plies_medium BETWEEN 1 AND 500),
    plies_thick         integer NOT NULL DEFAULT 2 CONSTRAINT workshops_plies_thick_range CHECK (plies_thick BETWEEN 1 AND 500),
    spread              text NOT NULL DEFAULT 'face one way' CONSTRAINT workshops_spread_known CHECK (spread IN ('face one way', 'face to face', 'folded lengthwise')),
    end_loss            bigint NOT NULL DEFAULT 101600 CONSTRAINT workshops_end_loss_not_negative CHECK (end_loss >= 0),
    gap                 bigint NOT NULL DEFAULT 0 CONSTRAINT workshops_gap_not_negative CHECK (gap >= 0),
    straight_cuts       boolean NOT NULL DEFAULT false,
    keep_length         bigint NOT NULL DEFAULT 2438400 CONSTRAINT workshops_keep_not_negative CHECK (keep_length >= 0),
    cut_step            bigint NOT NULL DEFAULT 25400 CONSTRAINT workshops_cut_step_positive CHECK (cut_step > 0),
    buy_step            bigint NOT NULL DEFAULT 914400 CONSTRAINT workshops_buy_step_positive CHECK (buy_step > 0),
    lay_set_up_minutes  numeric(9,3) NOT NULL DEFAULT 6 CONSTRAINT workshops_lay_set_up_range CHECK (lay_set_up_minutes BETWEEN 0 AND 1440),
    spread_minutes      numeric(9,3) NOT NULL DEFAULT 0.6 CONSTRAINT workshops_spread_minutes_range CHECK (spread_minutes BETWEEN 0 AND 1440),
    cut_minutes         numeric(9,3) NOT NULL DEFAULT 0.5 CONSTRAINT workshops_cut_minutes_range CHECK (cut_minutes BETWEEN 0 AND 1440),
    bundle_minutes      numeric(9,3) NOT NULL DEFAULT 1 CONSTRAINT workshops_bundle_minutes_range CHECK (bundle_minutes BETWEEN 0 AND 1440),
    bundle_size         integer NOT NULL DEFAULT 6 CONSTRAINT workshops_bundle_size_range CHECK (bundle_size BETWEEN 1 AND 1000),
    day_minutes         integer[] NOT NULL DEFAULT '{0,360,360,360,360,360,0}'
        CONSTRAINT workshops_day_minutes_week CHECK (array_length(day_minutes, 1) = 7 AND 0 <= ALL (day_minutes) AND 10000 >= ALL (day_minutes)),
    version             integer NOT NULL DEFAULT 1
);
COMMENT ON TABLE workshops IS 'One workshop with its settings. Everything else belongs to one.';
COMMENT ON COLUMN workshops.table_length IS 'All lengths in the schema are in 1/8000 mm.';
COMMENT ON COLUMN workshops.wage IS 'Per hour, in the currency of the workshop, as all money in the schema.';
COMMENT ON COLUMN workshops.efficiency IS 'Standard minutes divided by minutes worked.';
COMMENT ON COLUMN workshops.spread_minutes IS 'Per metre of each ply.';
COMMENT ON COLUMN workshops.cut_minutes IS 'Per metre of cut edge, once per lay.';
COMMENT ON COLUMN workshops.day_minutes IS 'Working minutes of all hands by weekday, Sunday first.';

CREATE TABLE days_off (
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    day         date NOT NULL,
    PRIMARY KEY (workshop_id, day)
);

CREATE TABLE channels (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id  bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    position     integer NOT NULL,
    name         text NOT NULL CONSTRAINT channels_name_given CHECK (btrim(name) <> ''),
    kind         text NOT NULL CONSTRAINT channels_kind_known CHECK (kind IN ('fair', 'shop', 'online')),
    settings     jsonb NOT NULL CONSTRAINT channels_settings_object CHECK (jsonb_typeof(settings) = 'object'),
    version      integer NOT NULL DEFAULT 1,
    CONSTRAINT channels_name_once UNIQUE (workshop_id, name)
);
COMMENT ON COLUMN channels.settings IS 'Fees, postage, tax, target and price points as package costing writes a Channel.';

CREATE TABLE size_charts (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name        text NOT NULL CONSTRAINT size_charts_name_given CHECK (btrim(name) <> ''),
    wearer      text NOT NULL CONSTRAINT size_charts_wearer_known CHECK (wearer IN ('child', 'adult', 'thing')),
    note        text NOT NULL DEFAULT '',
    shipped     boolean NOT NULL DEFAULT false,
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT size_charts_name_once UNIQUE (workshop_id, name)
);
COMMENT ON COLUMN size_charts.shipped IS 'Came with the program; makers copy it to change it.';

CREATE TABLE size_chart_measures (
    chart_id bigint NOT NULL REFERENCES size_charts ON DELETE CASCADE,
    position integer NOT NULL,
    name     text NOT NULL CONSTRAINT size_chart_measures_name_shape CHECK (name ~ '^[a-z][a-z0-9_]{0,39}$'),
    label    text NOT NULL,
    PRIMARY KEY (chart_id, name),
    CONSTRAINT size_chart_measures_position_once UNIQUE (chart_id, position)
);

CREATE TABLE sizes (
    chart_id bigint NOT NULL REFERENCES size_charts ON DELETE CASCADE,
    position integer NOT NULL,
    name     text NOT NULL CONSTRAINT sizes_name_given CHECK (btrim(name) <> ''),
    PRIMARY KEY (chart_id, name),
    CONSTRAINT sizes_position_once UNIQUE (chart_id, position)
);

CREATE TABLE size_values (
    chart_id bigint NOT NULL,
    size     text NOT NULL,
    measure  text NOT NULL,
    value    bigint NOT NULL CONSTRAINT size_values_positive CHECK (value > 0),
    source   text NOT NULL DEFAULT '',
    PRIMARY KEY (chart_id, size, measure),
    FOREIGN KEY (chart_id, size) REFERENCES sizes (chart_id, name) ON DELETE CASCADE ON UPDATE CASCADE,
    FOREIGN KEY (chart_id, measure) REFERENCES size_chart_measures (chart_id, name) ON DELETE CASCADE ON UPDATE CASCADE
);
COMMENT ON COLUMN size_values.source IS 'Where the measure comes from: a published table, or the maker.';

CREATE TABLE cloths (
    id              bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id     bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name            text NOT NULL CONSTRAINT cloths_name_given CHECK (btrim(name) <> ''),
    content         text NOT NULL DEFAULT '',
    design          text NOT NULL DEFAULT 'solid' CONSTRAINT cloths_design_known CHECK (design IN ('solid', 'all-over print', 'two-way print', 'one-way print', 'stripe', 'check', 'pile')),
    full_width      bigint NOT NULL CONSTRAINT cloths_width_positive CHECK (full_width > 0),
    selvage         bigint NOT NULL DEFAULT 0 CONSTRAINT cloths_selvage_range CHECK (selvage >= 0 AND 2 * selvage < full_width),
    price           numeric(18,6) NOT NULL CONSTRAINT cloths_price_not_negative CHECK (price >= 0),
    price_unit      text NOT NULL DEFAULT 'yd' CONSTRAINT cloths_price_unit_known CHECK (price_unit IN ('yd', 'm')),
    shrink_length   numeric(5,2) NOT NULL DEFAULT 0 CONSTRAINT cloths_shrink_length_range CHECK (shrink_length BETWEEN 0 AND 30),
    shrink_width    numeric(5,2) NOT NULL DEFAULT 0 CONSTRAINT cloths_shrink_width_range CHECK (shrink_width BETWEEN 0 AND 30),
    pre_washed      boolean NOT NULL DEFAULT false,
    nap             text NOT NULL DEFAULT 'either way' CONSTRAINT cloths_nap_known CHECK (nap IN ('either way', 'one way', 'up and down')),
    repeat_length   bigint NOT NULL DEFAULT 0 CONSTRAINT cloths_repeat_length_not_negative CHECK (repeat_length >= 0),
    repeat_width    bigint NOT NULL DEFAULT 0 CONSTRAINT cloths_repeat_width_not_negative CHECK (repeat_width >= 0),
    thickness       text NOT NULL DEFAULT 'thin' CONSTRAINT cloths_thickness_known CHECK (thickness IN ('thin', 'medium', 'thick')),
    care            text NOT NULL DEFAULT '',
    can_buy         boolean NOT NULL DEFAULT true,
    version         integer NOT NULL DEFAULT 1,
    CONSTRAINT cloths_name_once UNIQUE (workshop_id, name)
);
COMMENT ON COLUMN cloths.price IS 'Landed, per price_unit.';
COMMENT ON COLUMN cloths.shrink_length IS 'Percent lengthwise at the first wash.';

CREATE TABLE bolts (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id  bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    cloth_id     bigint NOT NULL REFERENCES cloths,
    name         text NOT NULL CONSTRAINT bolts_name_given CHECK (btrim(name) <> ''),
    lot          text NOT NULL DEFAULT '',
    full_width   bigint CONSTRAINT bolts_width_positive CHECK (full_width > 0),
    length       bigint NOT NULL CONSTRAINT bolts_length_not_negative CHECK (length >= 0),
    price        numeric(18,6) CONSTRAINT bolts_price_not_negative CHECK (price >= 0),
    place        text NOT NULL DEFAULT '',
    remnant      boolean NOT NULL DEFAULT false,
    version      integer NOT NULL DEFAULT 1,
    CONSTRAINT bolts_name_once UNIQUE (workshop_id, name)
);
COMMENT ON TABLE bolts IS 'Cloth on the shelf: rolls, cut lengths and remnants.';
COMMENT ON COLUMN bolts.full_width IS 'Null: the width of the cloth.';
COMMENT ON COLUMN bolts.price IS 'What this bolt cost per price_unit of its cloth; null: the price of the cloth.';
CREATE INDEX bolts_by_cloth ON bolts (cloth_id);

CREATE TABLE bolt_faults (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    bolt_id      bigint NOT NULL REFERENCES bolts ON DELETE CASCADE,
    from_length  bigint NOT NULL CONSTRAINT bolt_faults_from_not_negative CHECK (from_length >= 0),
    to_length    bigint NOT NULL,
    from_width   bigint NOT NULL CONSTRAINT bolt_faults_across_not_negative CHECK (from_width >= 0),
    to_width     bigint NOT NULL,
    note         text NOT NULL DEFAULT '',
    CONSTRAINT bolt_faults_has_size CHECK (to_length > from_length AND to_width > from_width)
);
COMMENT ON COLUMN bolt_faults.from_length IS 'From the free end of the bolt.';
COMMENT ON COLUMN bolt_faults.from_width IS 'From the left selvage edge of the usable width.';

CREATE TABLE notions (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id  bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name         text NOT NULL CONSTRAINT notions_name_given CHECK (btrim(name) <> ''),
    kind         text NOT NULL CONSTRAINT notions_kind_known CHECK (kind IN ('cut from a roll', 'used by length', 'counted')),
    packing      boolean NOT NULL DEFAULT false,
    buy_length   bigint NOT NULL DEFAULT 0 CONSTRAINT notions_buy_length_not_negative CHECK (buy_length >= 0),
    buy_count    integer NOT NULL DEFAULT 1 CONSTRAINT notions_buy_count_positive CHECK (buy_count >= 1),
    buy_price    numeric(18,6) NOT NULL CONSTRAINT notions_price_not_negative CHECK (buy_price >= 0),
    in_stock     integer NOT NULL DEFAULT 0 CONSTRAINT notions_stock_not_negative CHECK (in_stock >= 0),
    version      integer NOT NULL DEFAULT 1,
    CONSTRAINT notions_name_once UNIQUE (workshop_id, name),
    CONSTRAINT notions_length_given CHECK (kind = 'counted' OR buy_length > 0)
);
COMMENT ON COLUMN notions.buy_length IS 'Length of one roll or spool as bought; buy_price pays for it.';
COMMENT ON COLUMN notions.buy_count IS 'How many a pack holds, for counted notions; buy_price pays for it.';

CREATE TABLE notion_rolls (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    notion_id bigint NOT NULL REFERENCES notions ON DELETE CASCADE,
    length    bigint NOT NULL CONSTRAINT notion_rolls_length_positive CHECK (length > 0),
    count     integer NOT NULL CONSTRAINT notion_rolls_count_positive CHECK (count >= 1)
);

CREATE TABLE styles (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    chart_id    bigint NOT NULL REFERENCES size_charts,
    name        text NOT NULL CONSTRAINT styles_name_given CHECK (btrim(name) <> ''),
    wearer      text NOT NULL CONSTRAINT styles_wearer_known CHECK (wearer IN ('child', 'adult', 'thing')),
    note        text NOT NULL DEFAULT '',
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT styles_name_once UNIQUE (workshop_id, name)
);

CREATE TABLE style_allowances (
    style_id    bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position    integer NOT NULL,
    name        text NOT NULL CONSTRAINT style_allowances_name_shape CHECK (name ~ '^[a-z][a-z0-9_]{0,39}$'),
    label       text NOT NULL,
    kind        text NOT NULL CONSTRAINT style_allowances_kind_known CHECK (kind IN ('length', 'number')),
    length      bigint,
    thousandths bigint,
    PRIMARY KEY (style_id, name),
    CONSTRAINT style_allowances_position_once UNIQUE (style_id, position),
    CONSTRAINT style_allowances_one_value CHECK ((kind = 'length') = (length IS NOT NULL) AND (kind = 'number') = (thousandths IS NOT NULL))
);

CREATE TABLE style_pieces (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    style_id       bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position       integer NOT NULL,
    name           text NOT NULL CONSTRAINT style_pieces_name_given CHECK (btrim(name) <> ''),
    role           text NOT NULL CONSTRAINT style_pieces_role_given CHECK (btrim(role) <> ''),
    copies         integer NOT NULL CONSTRAINT style_pieces_copies_range CHECK (copies BETWEEN 1 AND 100),
    shape          text NOT NULL CONSTRAINT style_pieces_shape_known CHECK (shape IN ('rectangle', 'outline', 'sector')),
    width          text NOT NULL DEFAULT '',
    length         text NOT NULL DEFAULT '',
    points         jsonb NOT NULL DEFAULT '[]' CONSTRAINT style_pieces_points_list CHECK (jsonb_typeof(points) = 'array'),
    inner_radius   text NOT NULL DEFAULT '',
    outer_radius   text NOT NULL DEFAULT '',
    angle          integer NOT NULL DEFAULT 0 CONSTRAINT style_pieces_angle_known CHECK (angle IN (0, 90, 180, 360)),
    grain          text NOT NULL CONSTRAINT style_pieces_grain_known CHECK (grain IN ('lengthwise', 'crosswise', 'any', 'bias')),
    on_fold        boolean NOT NULL DEFAULT false,
    paired         boolean NOT NULL DEFAULT false,
    gathered       text NOT NULL DEFAULT '',
    note           text NOT NULL DEFAULT '',
    CONSTRAINT style_pieces_name_once UNIQUE (style_id, name),
    CONSTRAINT style_pieces_position_once UNIQUE (style_id, position)
);
COMMENT ON COLUMN style_pieces.width IS 'Formula over the measures of the chart and the allowances of the style.';

CREATE TABLE style_piece_sizes (
    piece_id bigint NOT NULL REFERENCES style_pieces ON DELETE CASCADE,
    size     text NOT NULL,
    width    bigint NOT NULL CONSTRAINT style_piece_sizes_width_positive CHECK (width > 0),
    length   bigint NOT NULL CONSTRAINT style_piece_sizes_length_positive CHECK (length > 0),
    PRIMARY KEY (piece_id, size)
);
COMMENT ON TABLE style_piece_sizes IS 'Cut sizes by size, for pieces without formulas.';

CREATE TABLE style_notions (
    style_id bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position integer NOT NULL,
    need     text NOT NULL CONSTRAINT style_notions_need_given CHECK (btrim(need) <> ''),
    length   text NOT NULL DEFAULT '',
    count    integer NOT NULL CONSTRAINT style_notions_count_range CHECK (count BETWEEN 1 AND 100),
    PRIMARY KEY (style_id, need),
    CONSTRAINT style_notions_position_once UNIQUE (style_id, position)
);

CREATE TABLE style_operations (
    style_id    bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    position    integer NOT NULL,
    name        text NOT NULL CONSTRAINT style_operations_name_given CHECK (btrim(name) <> ''),
    stage       text NOT NULL CONSTRAINT style_operations_stage_known CHECK (stage IN ('prepare', 'sew', 'press', 'finish')),
    set_up      numeric(9,3) NOT NULL DEFAULT 0 CONSTRAINT style_operations_set_up_range CHECK (set_up BETWEEN 0 AND 1440),
    each        numeric(9,3) NOT NULL DEFAULT 0 CONSTRAINT style_operations_each_range CHECK (each BETWEEN 0 AND 1440),
    basis       text NOT NULL DEFAULT '',
    PRIMARY KEY (style_id, position)
);
COMMENT ON COLUMN style_operations.set_up IS 'Standard minutes per batch; each: per garment.';

CREATE TABLE colourways (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    style_id    bigint NOT NULL REFERENCES styles,
    name        text NOT NULL CONSTRAINT colourways_name_given CHECK (btrim(name) <> ''),
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT colourways_name_once UNIQUE (style_id, name)
);

CREATE TABLE colourway_cloths (
    colourway_id bigint NOT NULL REFERENCES colourways ON DELETE CASCADE,
    role         text NOT NULL,
    cloth_id     bigint NOT NULL REFERENCES cloths,
    PRIMARY KEY (colourway_id, role)
);

CREATE TABLE colourway_notions (
    colourway_id bigint NOT NULL REFERENCES colourways ON DELETE CASCADE,
    need         text NOT NULL,
    notion_id    bigint NOT NULL REFERENCES notions,
    PRIMARY KEY (colourway_id, need)
);

CREATE TABLE customers (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name        text NOT NULL CONSTRAINT customers_name_given CHECK (btrim(name) <> ''),
    kind        text NOT NULL CONSTRAINT customers_kind_known CHECK (kind IN ('fair', 'shop', 'online')),
    contact     text NOT NULL DEFAULT '',
    note        text NOT NULL DEFAULT '',
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT customers_name_once UNIQUE (workshop_id, name)
);

CREATE TABLE orders (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    customer_id bigint NOT NULL REFERENCES customers,
    number      text NOT NULL CONSTRAINT orders_number_given CHECK (btrim(number) <> ''),
    taken_on    date NOT NULL,
    due_on      date NOT NULL,
    state       text NOT NULL DEFAULT 'open' CONSTRAINT orders_state_known CHECK (state IN ('open', 'in a batch', 'made', 'delivered', 'cancelled')),
    note        text NOT NULL DEFAULT '',
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT orders_number_once UNIQUE (workshop_id, number),
    CONSTRAINT orders_due_after_taken CHECK (due_on >= taken_on)
);
CREATE INDEX orders_by_due ON orders (workshop_id, state, due_on);

CREATE TABLE order_lines (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    order_id     bigint NOT NULL REFERENCES orders ON DELETE CASCADE,
    colourway_id bigint NOT NULL REFERENCES colourways,
    size         text NOT NULL,
    quantity     integer NOT NULL CONSTRAINT order_lines_quantity_range CHECK (quantity BETWEEN 1 AND 10000),
    CONSTRAINT order_lines_once UNIQUE (order_id, colourway_id, size)
);

CREATE TABLE batches (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name        text NOT NULL CONSTRAINT batches_name_given CHECK (btrim(name) <> ''),
    state       text NOT NULL DEFAULT 'draft' CONSTRAINT batches_state_known CHECK (state IN ('draft', 'released', 'cut', 'done')),
    starts_on   date NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now(),
    version     integer NOT NULL DEFAULT 1,
    CONSTRAINT batches_name_once UNIQUE (workshop_id, name)
);

CREATE TABLE batch_lines (
    batch_id      bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    order_line_id bigint NOT NULL REFERENCES order_lines,
    PRIMARY KEY (batch_id, order_line_id),
    CONSTRAINT batch_lines_in_one_batch UNIQUE (order_line_id)
);
COMMENT ON TABLE batch_lines IS 'An order line is cut in one batch only.';

CREATE TABLE batch_plans (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    batch_id     bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    state        text NOT NULL DEFAULT 'waiting' CONSTRAINT batch_plans_state_known CHECK (state IN ('waiting', 'planning', 'planned', 'stopped', 'failed')),
    job_id       bigint,
    seed         bigint NOT NULL DEFAULT 1,
    iterations   integer NOT NULL DEFAULT 0 CONSTRAINT batch_plans_iterations_not_negative CHECK (iterations >= 0),
    share        real NOT NULL DEFAULT 0 CONSTRAINT batch_plans_share_range CHECK (share BETWEEN 0 AND 1),
    message      text NOT NULL DEFAULT '',
    plan         jsonb,
    created_at   timestamptz NOT NULL DEFAULT now(),
    beat_at      timestamptz,
    finished_at  timestamptz,
    CONSTRAINT batch_plans_planned_has_plan CHECK (state <> 'planned' OR plan IS NOT NULL)
);
COMMENT ON COLUMN batch_plans.plan IS 'batch.Plan as package batch writes it: a snapshot that never changes.';
COMMENT ON COLUMN batch_plans.beat_at IS 'When the program that plans last said that it is alive.';
CREATE INDEX batch_plans_by_batch ON batch_plans (batch_id, id DESC);

CREATE TABLE bolt_reservations (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    bolt_id    bigint NOT NULL REFERENCES bolts,
    batch_id   bigint NOT NULL REFERENCES batches ON DELETE CASCADE,
    length     bigint NOT NULL CONSTRAINT bolt_reservations_length_positive CHECK (length > 0),
    CONSTRAINT bolt_reservations_once UNIQUE (bolt_id, batch_id)
);

-- +goose StatementBegin
CREATE FUNCTION check_bolt_reserved() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    bolt bigint;
    on_shelf bigint;
    reserved bigint;
BEGIN
    IF TG_TABLE_NAME = 'bolts' THEN
        bolt := NEW.id;
    ELSE
        bolt := NEW.bolt_id;
    END IF;
    -- The row lock makes two batches that reserve the same bolt take turns. It is one that
    -- goes together with the lock of the foreign key, which both hold by now.
    SELECT length INTO on_shelf FROM bolts WHERE id = bolt FOR NO KEY UPDATE;
    SELECT coalesce(sum(length), 0) INTO reserved FROM bolt_reservations WHERE bolt_id = bolt;
    IF reserved > on_shelf THEN
        RAISE EXCEPTION 'bolt % has % and % would be reserved', bolt, on_shelf, reserved
            USING ERRCODE = 'check_violation', CONSTRAINT = 'bolt_reservations_within_bolt', TABLE = 'bolt_reservations';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER bolt_reservations_within_bolt AFTER INSERT OR UPDATE ON bolt_reservations FOR EACH ROW EXECUTE FUNCTION check_bolt_reserved();
CREATE TRIGGER bolts_keep_reserved AFTER UPDATE OF length ON bolts FOR EACH ROW EXECUTE FUNCTION check_bolt_reserved();

CREATE TABLE cost_snapshots (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id  bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    colourway_id bigint REFERENCES colourways ON DELETE SET NULL,
    batch_id     bigint REFERENCES batches ON DELETE SET NULL,
    label        text NOT NULL,
    sheets       jsonb NOT NULL CONSTRAINT cost_snapshots_sheets_list CHECK (jsonb_typeof(sheets) = 'array'),
    created_at   timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE cost_snapshots IS 'Issued cost sheets with their prices. Never updated.';

-- +goose StatementBegin
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- Losing a deleted batch or colourway is the only change that a snapshot takes.
    IF NEW.workshop_id = OLD.workshop_id AND NEW.label = OLD.label AND NEW.sheets = OLD.sheets AND NEW.created_at = OLD.created_at THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'an issued snapshot does not change' USING ERRCODE = 'check_violation', CONSTRAINT = 'snapshots_do_not_change', TABLE = 'cost_snapshots';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER cost_snapshots_do_not_change BEFORE UPDATE ON cost_snapshots FOR EACH ROW EXECUTE FUNCTION refuse_change();

CREATE TABLE imports (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    name        text NOT NULL,
    digest      bytea NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT imports_once UNIQUE (workshop_id, digest)
);
COMMENT ON TABLE imports IS 'Files that were imported, so that the same one is not taken twice.';
