-- +goose Up

-- Hours have one source: the minutes worked on each weekday, the weeks worked in a year, and the share
-- of these hours that makes garments. Productive hours of a year that were entered, or added up from
-- days and hours, are kept by that share.
UPDATE workshops w SET day_minutes = ARRAY[0, m, m, m, m, m, 0]
FROM (SELECT workshop_id, least(10000, greatest(1, round(60 * year_hours * year_people)))::integer AS m FROM cost_settings) c
WHERE c.workshop_id = w.id AND 0 = ALL (w.day_minutes);
UPDATE cost_settings c SET year_productive = least(1, greatest(0.0001, round(w.productive_hours * 60 / (c.year_weeks * (SELECT sum(m) FROM unnest(w.day_minutes) m)), 4)))
FROM workshops w WHERE w.id = c.workshop_id;
ALTER TABLE workshops DROP COLUMN productive_hours,
    ADD CONSTRAINT workshops_day_minutes_some CHECK (NOT 0 = ALL (day_minutes));
ALTER TABLE cost_settings DROP COLUMN year_days, DROP COLUMN year_hours,
    ADD COLUMN unpaid_hours text NOT NULL DEFAULT 'in overhead' CONSTRAINT cost_settings_unpaid_known CHECK (unpaid_hours IN ('in overhead', 'from profit'));
COMMENT ON COLUMN cost_settings.year_weeks IS 'Weeks worked in a year, each with the minutes of workshops.day_minutes.';
COMMENT ON COLUMN cost_settings.year_productive IS 'Share of the hours worked that makes garments.';
COMMENT ON COLUMN cost_settings.unpaid_hours IS 'Who pays the other hours: garments, at the wage, beside the overhead; or what is kept beyond the cost.';
COMMENT ON TABLE year_costs IS 'What the overhead of a year is made up of. Saving it sets workshops.overhead_year.';
