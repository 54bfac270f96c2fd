-- 0004 movements: what a count measured, and which rolls a remnant lies between.
-- Before: movements and rolls. During: one transaction. After: the same rows; old ones say nothing of the new.

-- +goose Up

-- 0 where nothing was measured.
ALTER TABLE stock_movement ADD COLUMN counted_mm BIGINT NOT NULL DEFAULT 0;
-- The other roll where a remnant was cut.
ALTER TABLE stock_movement ADD COLUMN other_roll TEXT NOT NULL DEFAULT '';
CREATE INDEX stock_movement_made ON stock_movement (branch, made_us, id);

-- The roll that a remnant was cut from, where it is known.
ALTER TABLE stock_roll ADD COLUMN cut_from TEXT NOT NULL DEFAULT '';
