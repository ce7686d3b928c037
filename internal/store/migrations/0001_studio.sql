-- The studio's records. One text for SQLite and PostgreSQL: identifiers are
-- made by the program, instants are ISO 8601 in UTC with six digits of the
-- second (so that they sort as text), documents are JSON written by the program.

CREATE TABLE formula (
    id          TEXT   NOT NULL PRIMARY KEY,
    name        TEXT   NOT NULL,
    name_key    TEXT   NOT NULL,
    search_key  TEXT   NOT NULL,
    newest      BIGINT NOT NULL CHECK (newest BETWEEN 1 AND 1000000000),
    kept_at     TEXT   NOT NULL,
    put_away_at TEXT,
    from_id     TEXT   REFERENCES formula (id),
    from_n      BIGINT CHECK (from_n BETWEEN 1 AND 1000000000)
);

CREATE UNIQUE INDEX formula_living_name ON formula (name_key) WHERE put_away_at IS NULL;
CREATE INDEX formula_living_kept ON formula (kept_at, id) WHERE put_away_at IS NULL;
CREATE INDEX formula_away_kept ON formula (kept_at, id) WHERE put_away_at IS NOT NULL;

-- A row of formula_version is never updated and never deleted.
CREATE TABLE formula_version (
    formula_id TEXT   NOT NULL REFERENCES formula (id),
    n          BIGINT NOT NULL CHECK (n BETWEEN 1 AND 1000000000),
    kept_at    TEXT   NOT NULL,
    note       TEXT   NOT NULL,
    format     BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document   TEXT   NOT NULL,
    kept       TEXT   NOT NULL,
    PRIMARY KEY (formula_id, n)
);

-- Which ingredients a formula has in any version, and the newest version that
-- has each: what a search and a withdrawal look through.
CREATE TABLE formula_ingredient (
    formula_id    TEXT   NOT NULL REFERENCES formula (id),
    ingredient_id TEXT   NOT NULL,
    last_n        BIGINT NOT NULL CHECK (last_n BETWEEN 1 AND 1000000000),
    as_fat        BIGINT NOT NULL CHECK (as_fat BETWEEN 0 AND 1),
    as_extra      BIGINT NOT NULL CHECK (as_extra BETWEEN 0 AND 1),
    PRIMARY KEY (formula_id, ingredient_id),
    FOREIGN KEY (formula_id, last_n) REFERENCES formula_version (formula_id, n)
);

CREATE INDEX formula_ingredient_use ON formula_ingredient (ingredient_id, formula_id, last_n);

-- The studio's own ingredients, and its changes to the catalogue's.
CREATE TABLE entry (
    id         TEXT   NOT NULL PRIMARY KEY,
    format     BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document   TEXT   NOT NULL,
    changed_at TEXT   NOT NULL
);

-- One row: how often the entries were changed, so that what was made of them
-- is made again when another program changed them.
CREATE TABLE entry_revision (
    one      BIGINT NOT NULL PRIMARY KEY CHECK (one BETWEEN 1 AND 1),
    revision BIGINT NOT NULL CHECK (revision BETWEEN 0 AND 1000000000000)
);

INSERT INTO entry_revision (one, revision) VALUES (1, 0);

CREATE TABLE mould (
    id          TEXT   NOT NULL PRIMARY KEY,
    name        TEXT   NOT NULL,
    name_key    TEXT   NOT NULL,
    format      BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document    TEXT   NOT NULL,
    changed_at  TEXT   NOT NULL,
    put_away_at TEXT
);

CREATE UNIQUE INDEX mould_shelf_name ON mould (name_key) WHERE put_away_at IS NULL;

-- One row, once the studio has settings of its own.
CREATE TABLE settings (
    one        BIGINT NOT NULL PRIMARY KEY CHECK (one BETWEEN 1 AND 1),
    format     BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document   TEXT   NOT NULL,
    changed_at TEXT   NOT NULL
);

-- A row of sheet is never updated and never deleted.
CREATE TABLE sheet (
    id           TEXT   NOT NULL PRIMARY KEY,
    number       BIGINT NOT NULL UNIQUE CHECK (number BETWEEN 1 AND 1000000000),
    code         TEXT   NOT NULL UNIQUE,
    formula_id   TEXT   NOT NULL,
    n            BIGINT NOT NULL,
    formula_name TEXT   NOT NULL,
    mould_id     TEXT   REFERENCES mould (id),
    taken_on     TEXT   NOT NULL,
    taken_at     TEXT   NOT NULL,
    format       BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    size         TEXT   NOT NULL,
    working      TEXT   NOT NULL,
    FOREIGN KEY (formula_id, n) REFERENCES formula_version (formula_id, n)
);

CREATE INDEX sheet_formula ON sheet (formula_id, number);
