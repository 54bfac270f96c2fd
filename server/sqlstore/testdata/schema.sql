-- What all migrations come to in SQLite. Written by: go test ./server/sqlstore -run Schema -write

CREATE TRIGGER access_audit_no_DELETE BEFORE DELETE ON access_audit BEGIN SELECT RAISE(ABORT, 'access_audit is only added to'); END;

CREATE TRIGGER access_audit_no_UPDATE BEFORE UPDATE ON access_audit BEGIN SELECT RAISE(ABORT, 'access_audit is only added to'); END;

CREATE TABLE access_audit (
    number   BIGINT NOT NULL PRIMARY KEY CHECK (number > 0),
    time_us  BIGINT NOT NULL,
    person   TEXT   NOT NULL,
    act      TEXT   NOT NULL,
    object   TEXT   NOT NULL,
    previous BYTEA  NOT NULL CHECK (length(previous) = 32),
    hash     BYTEA  NOT NULL CHECK (length(hash) = 32)
);

CREATE TABLE access_person (
    name     TEXT    NOT NULL PRIMARY KEY,
    email    TEXT    NOT NULL,
    title    TEXT    NOT NULL,
    roles    TEXT    NOT NULL,
    branch   TEXT    NOT NULL,
    barred   BOOLEAN NOT NULL,
    password TEXT    NOT NULL
);

CREATE UNIQUE INDEX access_person_email ON access_person (email);

CREATE TABLE access_session (
    hash       BYTEA  NOT NULL PRIMARY KEY CHECK (length(hash) = 32),
    person     TEXT   NOT NULL,
    started_us BIGINT NOT NULL,
    seen_us    BIGINT NOT NULL,
    ends_us    BIGINT NOT NULL
);

CREATE INDEX access_session_person ON access_session (person);

CREATE TABLE branches_branch (
    name      TEXT NOT NULL PRIMARY KEY,
    title     TEXT NOT NULL,
    place     TEXT NOT NULL,
    market    TEXT NOT NULL,
    time_zone TEXT NOT NULL
);

CREATE TABLE compare_building (number BIGINT NOT NULL);

CREATE TABLE compare_cause (
    id    BIGINT NOT NULL PRIMARY KEY,
    cause TEXT   NOT NULL
);

CREATE TABLE compare_page (
    branch    TEXT   NOT NULL,
    month     TEXT   NOT NULL CHECK (length(month) = 7),
    part      BIGINT NOT NULL,
    last      BIGINT NOT NULL,
    newest_us BIGINT NOT NULL,
    content   BYTEA  NOT NULL,
    PRIMARY KEY (branch, month, part)
);

CREATE INDEX compare_page_last ON compare_page (last);

CREATE INDEX compare_page_month ON compare_page (month);

CREATE INDEX compare_page_newest ON compare_page (newest_us);

CREATE TABLE compare_stratum (
    id       BIGINT NOT NULL PRIMARY KEY,
    film     TEXT   NOT NULL,
    fabric   TEXT   NOT NULL,
    band     BIGINT NOT NULL,
    revision BIGINT NOT NULL
);

CREATE TABLE machines_machine (
    name            TEXT   NOT NULL PRIMARY KEY,
    branch          TEXT   NOT NULL,
    kind            TEXT   NOT NULL,
    title           TEXT   NOT NULL,
    dials           TEXT   NOT NULL,
    width_mm        BIGINT NOT NULL,
    edge_margin_mm  BIGINT NOT NULL,
    lead_mm         BIGINT NOT NULL,
    tail_mm         BIGINT NOT NULL,
    longest_cut_mm  BIGINT NOT NULL,
    blade_offset_um BIGINT NOT NULL,
    acceleration_mm_per_second2 BIGINT NOT NULL,
    travel_mm_per_second        BIGINT NOT NULL,
    units_per_metre BIGINT NOT NULL,
    platen_width_mm BIGINT NOT NULL,
    platen_depth_mm BIGINT NOT NULL,
    press_count     BIGINT NOT NULL,
    calibrated_on   TEXT   NOT NULL,
    etag            BIGINT NOT NULL
, long_numbers BOOLEAN NOT NULL DEFAULT FALSE, overcut_um   BIGINT  NOT NULL DEFAULT 0);

CREATE INDEX machines_machine_branch ON machines_machine (branch);

CREATE TRIGGER orders_drawing_no_DELETE BEFORE DELETE ON orders_drawing BEGIN SELECT RAISE(ABORT, 'orders_drawing is only added to'); END;

CREATE TRIGGER orders_drawing_no_UPDATE BEFORE UPDATE ON orders_drawing BEGIN SELECT RAISE(ABORT, 'orders_drawing is only added to'); END;

CREATE TABLE orders_drawing (
    branch   TEXT  NOT NULL,
    name     TEXT  NOT NULL,
    title    TEXT  NOT NULL,
    outlines BYTEA NOT NULL,
    PRIMARY KEY (branch, name)
);

CREATE TRIGGER orders_order_no_DELETE BEFORE DELETE ON orders_order BEGIN SELECT RAISE(ABORT, 'orders_order is only added to'); END;

CREATE TRIGGER orders_order_no_UPDATE BEFORE UPDATE ON orders_order BEGIN SELECT RAISE(ABORT, 'orders_order is only added to'); END;

CREATE TABLE orders_order (
    name       TEXT   NOT NULL PRIMARY KEY,
    branch     TEXT   NOT NULL,
    title      TEXT   NOT NULL,
    created_us BIGINT NOT NULL,
    body       BYTEA  NOT NULL
);

CREATE INDEX orders_order_branch ON orders_order (branch, created_us);

CREATE TABLE recipes_draft (
    id          TEXT   NOT NULL PRIMARY KEY,
    record      TEXT   NOT NULL,
    base_number BIGINT NOT NULL,
    content     BYTEA  NOT NULL,
    digest      BYTEA  NOT NULL CHECK (length(digest) = 32),
    etag        BIGINT NOT NULL CHECK (etag > 0),
    state       TEXT   NOT NULL,
    author      TEXT   NOT NULL,
    writers     TEXT   NOT NULL,
    saver       TEXT   NOT NULL,
    updated_us  BIGINT NOT NULL,
    reason      TEXT   NOT NULL,
    refusal     TEXT   NOT NULL
);

CREATE UNIQUE INDEX recipes_draft_open ON recipes_draft (record) WHERE state IN ('writing', 'asked', 'refused');

CREATE INDEX recipes_draft_state ON recipes_draft (state, updated_us);

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

CREATE TABLE recipes_reach (
    branch    TEXT   NOT NULL PRIMARY KEY,
    held      BIGINT NOT NULL,
    pulled_us BIGINT NOT NULL
, since_us  BIGINT NOT NULL DEFAULT 0, opened    BIGINT NOT NULL DEFAULT 0, opened_us BIGINT NOT NULL DEFAULT 0);

CREATE TRIGGER recipes_release_no_DELETE BEFORE DELETE ON recipes_release BEGIN SELECT RAISE(ABORT, 'recipes_release is only added to'); END;

CREATE TRIGGER recipes_release_no_UPDATE BEFORE UPDATE ON recipes_release BEGIN SELECT RAISE(ABORT, 'recipes_release is only added to'); END;

CREATE TABLE recipes_release (
    number       BIGINT NOT NULL PRIMARY KEY CHECK (number > 0),
    digest       BYTEA  NOT NULL REFERENCES recipes_sealed (digest),
    signature    BYTEA  NOT NULL,
    key_name     TEXT   NOT NULL,
    revisions    TEXT   NOT NULL,
    markets      TEXT   NOT NULL,
    branches     TEXT   NOT NULL,
    effective_us BIGINT NOT NULL,
    approver     TEXT   NOT NULL,
    made_us      BIGINT NOT NULL,
    previous     BYTEA  NOT NULL CHECK (length(previous) = 32),
    reason       TEXT   NOT NULL,
    request      TEXT
, proposer  TEXT   NOT NULL DEFAULT '', widens    BIGINT NOT NULL DEFAULT 0, cancels   BIGINT NOT NULL DEFAULT 0, withdrawn TEXT   NOT NULL DEFAULT 'null', next_key  BYTEA, from_key  BYTEA);

CREATE UNIQUE INDEX recipes_release_cancels ON recipes_release (cancels) WHERE cancels > 0;

CREATE UNIQUE INDEX recipes_release_request ON recipes_release (request);

CREATE TRIGGER recipes_revision_no_DELETE BEFORE DELETE ON recipes_revision BEGIN SELECT RAISE(ABORT, 'recipes_revision is only added to'); END;

CREATE TRIGGER recipes_revision_no_UPDATE BEFORE UPDATE ON recipes_revision BEGIN SELECT RAISE(ABORT, 'recipes_revision is only added to'); END;

CREATE TABLE recipes_revision (
    record      TEXT   NOT NULL,
    number      BIGINT NOT NULL CHECK (number > 0),
    kind        TEXT   NOT NULL,
    title       TEXT   NOT NULL,
    digest      BYTEA  NOT NULL REFERENCES recipes_sealed (digest),
    author      TEXT   NOT NULL,
    approver    TEXT   NOT NULL,
    approved_us BIGINT NOT NULL,
    reason      TEXT   NOT NULL,
    PRIMARY KEY (record, number)
);

CREATE TRIGGER recipes_sealed_no_DELETE BEFORE DELETE ON recipes_sealed BEGIN SELECT RAISE(ABORT, 'recipes_sealed is only added to'); END;

CREATE TRIGGER recipes_sealed_no_UPDATE BEFORE UPDATE ON recipes_sealed BEGIN SELECT RAISE(ABORT, 'recipes_sealed is only added to'); END;

CREATE TABLE recipes_sealed (
    digest  BYTEA NOT NULL PRIMARY KEY CHECK (length(digest) = 32),
    content BYTEA NOT NULL
);

CREATE TABLE recipes_use (
    branch   TEXT   NOT NULL,
    revision TEXT   NOT NULL,
    first_us BIGINT NOT NULL,
    last_us  BIGINT NOT NULL,
    PRIMARY KEY (branch, revision)
);

CREATE TRIGGER runs_reprint_no_DELETE BEFORE DELETE ON runs_reprint BEGIN SELECT RAISE(ABORT, 'runs_reprint is only added to'); END;

CREATE TRIGGER runs_reprint_no_UPDATE BEFORE UPDATE ON runs_reprint BEGIN SELECT RAISE(ABORT, 'runs_reprint is only added to'); END;

CREATE TABLE runs_reprint (
    branch   TEXT   NOT NULL,
    run      TEXT   NOT NULL,
    place    BIGINT NOT NULL,
    cause    TEXT   NOT NULL,
    pieces   BIGINT NOT NULL,
    film_mm2 BIGINT NOT NULL,
    PRIMARY KEY (branch, run, place)
);

CREATE TRIGGER runs_run_no_DELETE BEFORE DELETE ON runs_run BEGIN SELECT RAISE(ABORT, 'runs_run is only added to'); END;

CREATE TRIGGER runs_run_no_UPDATE BEFORE UPDATE ON runs_run BEGIN SELECT RAISE(ABORT, 'runs_run is only added to'); END;

CREATE TABLE runs_run (
    branch              TEXT   NOT NULL,
    id                  TEXT   NOT NULL,
    order_name          TEXT   NOT NULL,
    recipe              TEXT   NOT NULL,
    revision            BIGINT NOT NULL,
    recipe_digest       BYTEA  NOT NULL CHECK (length(recipe_digest) = 32),
    film                TEXT   NOT NULL,
    fabric              TEXT   NOT NULL,
    colour              TEXT   NOT NULL,
    lot                 TEXT   NOT NULL,
    cutter              TEXT   NOT NULL,
    press               TEXT   NOT NULL,
    band                BIGINT NOT NULL,
    pieces              BIGINT NOT NULL,
    good                BIGINT NOT NULL,
    reprints            BIGINT NOT NULL,
    drawn_mm2           BIGINT NOT NULL,
    drawn_length_mm     BIGINT NOT NULL,
    decorated_mm2       BIGINT NOT NULL,
    layout_loss_mm2     BIGINT NOT NULL,
    edge_loss_mm2       BIGINT NOT NULL,
    test_cut_loss_mm2   BIGINT NOT NULL,
    weeding_loss_mm2    BIGINT NOT NULL,
    reprint_film_mm2    BIGINT NOT NULL,
    roll_end_loss_mm2   BIGINT NOT NULL,
    achievable_mm2      BIGINT NOT NULL,
    start_us            BIGINT NOT NULL,
    end_us              BIGINT NOT NULL,
    day                 TEXT   NOT NULL CHECK (length(day) = 10),
    timed_dwell_seconds BIGINT NOT NULL,
    corrects            TEXT   NOT NULL,
    reporter            TEXT   NOT NULL, sequence BIGINT NOT NULL DEFAULT 0, received_us BIGINT NOT NULL DEFAULT 0,
    PRIMARY KEY (branch, id)
);

CREATE UNIQUE INDEX runs_run_corrects ON runs_run (branch, corrects) WHERE corrects <> '';

CREATE INDEX runs_run_end ON runs_run (branch, end_us, id);

CREATE UNIQUE INDEX runs_run_sequence ON runs_run (sequence);

CREATE TRIGGER stock_movement_no_DELETE BEFORE DELETE ON stock_movement BEGIN SELECT RAISE(ABORT, 'stock_movement is only added to'); END;

CREATE TRIGGER stock_movement_no_UPDATE BEFORE UPDATE ON stock_movement BEGIN SELECT RAISE(ABORT, 'stock_movement is only added to'); END;

CREATE TABLE stock_movement (
    branch    TEXT   NOT NULL,
    id        TEXT   NOT NULL,
    roll      TEXT   NOT NULL REFERENCES stock_roll (name),
    change_mm BIGINT NOT NULL,
    why       TEXT   NOT NULL,
    person    TEXT   NOT NULL,
    made_us   BIGINT NOT NULL, counted_mm BIGINT NOT NULL DEFAULT 0, other_roll TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (branch, id)
);

CREATE INDEX stock_movement_made ON stock_movement (branch, made_us, id);

CREATE INDEX stock_movement_roll ON stock_movement (roll);

CREATE TABLE stock_roll (
    name        TEXT    NOT NULL PRIMARY KEY,
    branch      TEXT    NOT NULL,
    film        TEXT    NOT NULL,
    colour      TEXT    NOT NULL,
    lot         TEXT    NOT NULL,
    width_mm    BIGINT  NOT NULL,
    remnant     BOOLEAN NOT NULL,
    place       TEXT    NOT NULL,
    received_us BIGINT  NOT NULL
, cut_from TEXT NOT NULL DEFAULT '');

CREATE INDEX stock_roll_branch ON stock_roll (branch);
