-- 0011 long numbers: which cutters read HP-GL/2's long numbers, and how far a blade runs past the start of an outline.
-- Before: the machines of 0001. During: one transaction. After: the same machines; no cutter reads long numbers until its
-- manager says so, and each overcuts by twice its blade's offset, as was taken before without being kept.

-- +goose Up

ALTER TABLE machines_machine ADD COLUMN long_numbers BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE machines_machine ADD COLUMN overcut_um   BIGINT  NOT NULL DEFAULT 0;
UPDATE machines_machine SET overcut_um = 2 * blade_offset_um;
