-- +goose Up

-- Lengths cut from rolls come out a little long, and rolls are crooked at their ends or shorter
-- than their label says. Common practice, no source: an eighth of an inch a cut, an inch a roll.
ALTER TABLE workshops
    ADD COLUMN cut_tolerance bigint NOT NULL DEFAULT 25400 CONSTRAINT workshops_cut_tolerance_range CHECK (cut_tolerance BETWEEN 0 AND 800000),
    ADD COLUMN roll_end bigint NOT NULL DEFAULT 203200 CONSTRAINT workshops_roll_end_range CHECK (roll_end BETWEEN 0 AND 8000000);
COMMENT ON COLUMN workshops.cut_tolerance IS 'What a length cut from a roll (elastic, cord, binding) may come out too long.';
COMMENT ON COLUMN workshops.roll_end IS 'Kept back at the ends of each roll.';
