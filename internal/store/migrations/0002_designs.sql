-- Designs, versioned as formulas are, and runs: what was taken down of a whole
-- design. Codes of sheets and runs are of one sequence; the program sees to it
-- within the transaction.

CREATE TABLE design (
    id          TEXT   NOT NULL PRIMARY KEY,
    name        TEXT   NOT NULL,
    name_key    TEXT   NOT NULL,
    search_key  TEXT   NOT NULL,
    newest      BIGINT NOT NULL CHECK (newest BETWEEN 1 AND 1000000000),
    kept_at     TEXT   NOT NULL,
    put_away_at TEXT,
    from_id     TEXT   REFERENCES design (id),
    from_n      BIGINT CHECK (from_n BETWEEN 1 AND 1000000000)
);

CREATE UNIQUE INDEX design_living_name ON design (name_key) WHERE put_away_at IS NULL;
CREATE INDEX design_living_kept ON design (kept_at, id) WHERE put_away_at IS NULL;
CREATE INDEX design_away_kept ON design (kept_at, id) WHERE put_away_at IS NOT NULL;

-- A row of design_version is never updated and never deleted.
CREATE TABLE design_version (
    design_id TEXT   NOT NULL REFERENCES design (id),
    n         BIGINT NOT NULL CHECK (n BETWEEN 1 AND 1000000000),
    kept_at   TEXT   NOT NULL,
    note      TEXT   NOT NULL,
    format    BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document  TEXT   NOT NULL,
    PRIMARY KEY (design_id, n)
);

-- What a design stands on in any version, and the newest version that does: its
-- mould, its formulas, the designs that it embeds.
CREATE TABLE design_use (
    design_id TEXT   NOT NULL REFERENCES design (id),
    kind      TEXT   NOT NULL CHECK (kind IN ('formula', 'mould', 'design')),
    used_id   TEXT   NOT NULL,
    last_n    BIGINT NOT NULL CHECK (last_n BETWEEN 1 AND 1000000000),
    PRIMARY KEY (design_id, kind, used_id),
    FOREIGN KEY (design_id, last_n) REFERENCES design_version (design_id, n)
);

CREATE INDEX design_use_of ON design_use (kind, used_id, design_id, last_n);

-- A row of run, and of the three tables that belong to it, is never updated and
-- never deleted.
CREATE TABLE run (
    id       TEXT   NOT NULL PRIMARY KEY,
    number   BIGINT NOT NULL UNIQUE CHECK (number BETWEEN 1 AND 1000000000),
    code     TEXT   NOT NULL UNIQUE,
    taken_on TEXT   NOT NULL,
    taken_at TEXT   NOT NULL,
    format   BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    asked    TEXT   NOT NULL,
    working  TEXT   NOT NULL
);

-- The designs that a run makes, in the order of its page; pieces is how many
-- were asked for, made how many it makes, embeds for others of it included.
CREATE TABLE run_design (
    run_id      TEXT   NOT NULL REFERENCES run (id),
    place       BIGINT NOT NULL CHECK (place BETWEEN 1 AND 1000000),
    design_id   TEXT   NOT NULL,
    n           BIGINT NOT NULL,
    design_name TEXT   NOT NULL,
    pieces      BIGINT NOT NULL CHECK (pieces BETWEEN 0 AND 1000000000),
    made        BIGINT NOT NULL CHECK (made BETWEEN 0 AND 1000000000),
    PRIMARY KEY (run_id, place),
    UNIQUE (design_id, run_id),
    FOREIGN KEY (design_id, n) REFERENCES design_version (design_id, n)
);

-- The batches of a run; the code of one is the run's, a hyphen and its letter.
CREATE TABLE run_batch (
    run_id       TEXT   NOT NULL REFERENCES run (id),
    letter       TEXT   NOT NULL,
    formula_id   TEXT   NOT NULL,
    n            BIGINT NOT NULL,
    formula_name TEXT   NOT NULL,
    mass_g       DOUBLE PRECISION NOT NULL CHECK (mass_g > 0),
    PRIMARY KEY (run_id, letter),
    FOREIGN KEY (formula_id, n) REFERENCES formula_version (formula_id, n)
);

CREATE INDEX run_batch_formula ON run_batch (formula_id, n, run_id);

CREATE TABLE run_mould (
    run_id   TEXT NOT NULL REFERENCES run (id),
    mould_id TEXT NOT NULL REFERENCES mould (id),
    PRIMARY KEY (run_id, mould_id)
);

CREATE INDEX run_mould_of ON run_mould (mould_id, run_id);
