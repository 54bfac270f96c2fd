-- 0010 office: acts beside putting in force, proposals, and how far a release came at each branch.
-- Before: the tables of 0001. During: one transaction; the rows of runs are read once. After: releases know what they
-- widen, cancel, withdraw and hand over; nothing of what was kept has changed.

-- +goose Up

-- Derived from the sealed bytes, like the columns beside them.
ALTER TABLE recipes_release ADD COLUMN proposer  TEXT   NOT NULL DEFAULT '';
ALTER TABLE recipes_release ADD COLUMN widens    BIGINT NOT NULL DEFAULT 0;
ALTER TABLE recipes_release ADD COLUMN cancels   BIGINT NOT NULL DEFAULT 0;
ALTER TABLE recipes_release ADD COLUMN withdrawn TEXT   NOT NULL DEFAULT 'null';
ALTER TABLE recipes_release ADD COLUMN next_key  BYTEA;
ALTER TABLE recipes_release ADD COLUMN from_key  BYTEA;
CREATE UNIQUE INDEX recipes_release_cancels ON recipes_release (cancels) WHERE cancels > 0;

-- A plan's bytes stand in its own row: nobody has approved them, so they are not sealed.
CREATE TABLE recipes_proposal (
    id          TEXT   NOT NULL PRIMARY KEY,
    content     BYTEA  NOT NULL,
    digest      BYTEA  NOT NULL CHECK (length(digest) = 32),
    plan        TEXT   NOT NULL,
    state       TEXT   NOT NULL,
    etag        BIGINT NOT NULL CHECK (etag > 0),
    proposer    TEXT   NOT NULL,
    proposed_us BIGINT NOT NULL,
    refusal     TEXT   NOT NULL,
    release     BIGINT NOT NULL
);
CREATE INDEX recipes_proposal_state ON recipes_proposal (state);

-- 0 is not known.
ALTER TABLE recipes_reach ADD COLUMN since_us  BIGINT NOT NULL DEFAULT 0;
ALTER TABLE recipes_reach ADD COLUMN opened    BIGINT NOT NULL DEFAULT 0;
ALTER TABLE recipes_reach ADD COLUMN opened_us BIGINT NOT NULL DEFAULT 0;

-- Derived from runs in the transaction that keeps them: when a branch's runs named a revision first and last.
CREATE TABLE recipes_use (
    branch   TEXT   NOT NULL,
    revision TEXT   NOT NULL,
    first_us BIGINT NOT NULL,
    last_us  BIGINT NOT NULL,
    PRIMARY KEY (branch, revision)
);
INSERT INTO recipes_use (branch, revision, first_us, last_us)
    SELECT branch, recipe, min(end_us), max(end_us) FROM runs_run WHERE recipe <> '' GROUP BY branch, recipe;
