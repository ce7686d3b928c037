-- One mechanism for each idea. Formulas, designs and moulds become records of
-- one table with a kind, and their versions lie in one table. Bench sheets and
-- runs become runs, each with its batches. What was done under an id that a form
-- made has a table of its own. Every id, code and version is kept.

CREATE TABLE record (
    id          TEXT   NOT NULL PRIMARY KEY,
    kind        TEXT   NOT NULL,
    name        TEXT   NOT NULL,
    name_key    TEXT   NOT NULL,
    search_key  TEXT   NOT NULL,
    newest      BIGINT NOT NULL CHECK (newest BETWEEN 1 AND 1000000000),
    kept_at     TEXT   NOT NULL,
    used_at     TEXT   NOT NULL,
    archived_at TEXT,
    from_id     TEXT   REFERENCES record (id),
    from_n      BIGINT CHECK (from_n BETWEEN 1 AND 1000000000)
);

CREATE UNIQUE INDEX record_living_name ON record (kind, name_key) WHERE archived_at IS NULL;
CREATE INDEX record_living_kept ON record (kind, kept_at, id) WHERE archived_at IS NULL;
CREATE INDEX record_archived_kept ON record (kind, kept_at, id) WHERE archived_at IS NOT NULL;
CREATE INDEX record_living_used ON record (kind, used_at, id) WHERE archived_at IS NULL;

-- A row of record_version is never updated and never deleted. Figures are what
-- was worked out when the version was kept; they may be empty.
CREATE TABLE record_version (
    record_id TEXT   NOT NULL REFERENCES record (id),
    n         BIGINT NOT NULL CHECK (n BETWEEN 1 AND 1000000000),
    kept_at   TEXT   NOT NULL,
    note      TEXT   NOT NULL,
    format    BIGINT NOT NULL CHECK (format BETWEEN 1 AND 1000000),
    document  TEXT   NOT NULL,
    figures   TEXT   NOT NULL,
    PRIMARY KEY (record_id, n)
);

-- What a record stands on in any version, in which role, and the newest version
-- that does: other records, ingredients, items.
CREATE TABLE record_use (
    record_id TEXT   NOT NULL REFERENCES record (id),
    kind      TEXT   NOT NULL,
    used_id   TEXT   NOT NULL,
    role      TEXT   NOT NULL,
    last_n    BIGINT NOT NULL CHECK (last_n BETWEEN 1 AND 1000000000),
    PRIMARY KEY (record_id, kind, used_id, role),
    FOREIGN KEY (record_id, last_n) REFERENCES record_version (record_id, n)
);

CREATE INDEX record_use_of ON record_use (kind, used_id, record_id, last_n);

INSERT INTO record (id, kind, name, name_key, search_key, newest, kept_at, used_at, archived_at, from_id, from_n)
SELECT id, 'formula', name, name_key, search_key, newest, kept_at, kept_at, put_away_at, from_id, from_n FROM formula;

INSERT INTO record_version (record_id, n, kept_at, note, format, document, figures)
SELECT formula_id, n, kept_at, note, format, document, kept FROM formula_version;

INSERT INTO record_use (record_id, kind, used_id, role, last_n)
SELECT formula_id, 'ingredient', ingredient_id, 'fat', last_n FROM formula_ingredient WHERE as_fat = 1;

INSERT INTO record_use (record_id, kind, used_id, role, last_n)
SELECT formula_id, 'ingredient', ingredient_id, 'extra', last_n FROM formula_ingredient WHERE as_extra = 1;

-- A mould had no versions: as it stands it is version 1. The program fills in its
-- search key, which SQL cannot fold.
INSERT INTO record (id, kind, name, name_key, search_key, newest, kept_at, used_at, archived_at)
SELECT id, 'mould', name, name_key, name_key, 1, changed_at, changed_at, put_away_at FROM mould;

INSERT INTO record_version (record_id, n, kept_at, note, format, document, figures)
SELECT id, 1, changed_at, '', format, document, '' FROM mould;

INSERT INTO record (id, kind, name, name_key, search_key, newest, kept_at, used_at, archived_at, from_id, from_n)
SELECT id, 'design', name, name_key, search_key, newest, kept_at, kept_at, put_away_at, from_id, from_n FROM design;

INSERT INTO record_version (record_id, n, kept_at, note, format, document, figures)
SELECT design_id, n, kept_at, note, format, document, '' FROM design_version;

INSERT INTO record_use (record_id, kind, used_id, role, last_n)
SELECT design_id, kind, used_id, '', last_n FROM design_use;

-- An ingredient of the studio's own was called an entry, the word of the ledger.
ALTER TABLE entry RENAME TO ingredient;
ALTER TABLE entry_revision RENAME TO ingredient_revision;

-- Codes come from a counter of their own.
CREATE TABLE counter (
    name  TEXT   NOT NULL PRIMARY KEY,
    value BIGINT NOT NULL CHECK (value BETWEEN 0 AND 1000000000)
);

INSERT INTO counter (name, value)
SELECT 'run', COALESCE(MAX(number), 0) FROM (SELECT number FROM sheet UNION ALL SELECT number FROM run) made;

-- What was done under an id that a form or a device made, so that it counts once.
CREATE TABLE done (
    id      TEXT   NOT NULL PRIMARY KEY,
    what    TEXT   NOT NULL,
    digest  TEXT   NOT NULL,
    result  TEXT   NOT NULL,
    n       BIGINT NOT NULL CHECK (n BETWEEN 0 AND 1000000000),
    done_at TEXT   NOT NULL
);

INSERT INTO done (id, what, digest, result, n, done_at) SELECT id, 'make run', '', id, 0, taken_at FROM sheet;
INSERT INTO done (id, what, digest, result, n, done_at) SELECT id, 'make run', '', id, 0, taken_at FROM run;

-- A row of run, and of the tables that belong to it, is never updated and never
-- deleted. A bench sheet is a run of one batch, without a design.
DROP INDEX run_mould_of;
DROP INDEX run_batch_formula;
ALTER TABLE run RENAME COLUMN taken_on TO made_on;
ALTER TABLE run RENAME COLUMN taken_at TO made_at;
ALTER TABLE run_design RENAME TO old_run_design;
ALTER TABLE run_mould RENAME TO old_run_mould;

INSERT INTO run (id, number, code, made_on, made_at, format, asked, working)
SELECT id, number, code, taken_on, taken_at, format, '{"overage_pct":0,"size":' || size || '}', working FROM sheet;

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
    FOREIGN KEY (design_id, n) REFERENCES record_version (record_id, n)
);

INSERT INTO run_design (run_id, place, design_id, n, design_name, pieces, made)
SELECT run_id, place, design_id, n, design_name, pieces, made FROM old_run_design;

-- A batch is one execution of a formula version. Its mass is that of the batter,
-- null where an old sheet does not say, or an old batch says what cannot be.
CREATE TABLE batch (
    id           TEXT   NOT NULL PRIMARY KEY,
    code         TEXT   NOT NULL UNIQUE,
    run_id       TEXT   NOT NULL REFERENCES run (id),
    n            BIGINT NOT NULL CHECK (n BETWEEN 1 AND 1000000),
    formula_id   TEXT   NOT NULL,
    formula_n    BIGINT NOT NULL,
    formula_name TEXT   NOT NULL,
    mass_mg      BIGINT CHECK (mass_mg BETWEEN 1 AND 1000000000000),
    UNIQUE (run_id, n),
    FOREIGN KEY (formula_id, formula_n) REFERENCES record_version (record_id, n)
);

CREATE INDEX batch_formula ON batch (formula_id, run_id);

INSERT INTO batch (id, code, run_id, n, formula_id, formula_n, formula_name, mass_mg)
SELECT b.run_id || '.' || b.letter, r.code || '-' || b.letter, b.run_id,
       ROW_NUMBER() OVER (PARTITION BY b.run_id ORDER BY LENGTH(b.letter), b.letter),
       b.formula_id, b.n, b.formula_name,
       CASE WHEN b.mass_g < 0.001 THEN 1
            WHEN b.mass_g > 2000000000 THEN NULL
            WHEN ROUND(CAST(b.mass_g * 1000 AS NUMERIC)) BETWEEN 1 AND 1000000000000
            THEN CAST(ROUND(CAST(b.mass_g * 1000 AS NUMERIC)) AS BIGINT) END
FROM run_batch b JOIN run r ON r.id = b.run_id;

INSERT INTO batch (id, code, run_id, n, formula_id, formula_n, formula_name)
SELECT id || '.A', code, id, 1, formula_id, n, formula_name FROM sheet;

CREATE TABLE run_mould (
    run_id   TEXT NOT NULL REFERENCES run (id),
    mould_id TEXT NOT NULL REFERENCES record (id),
    PRIMARY KEY (run_id, mould_id)
);

CREATE INDEX run_mould_of ON run_mould (mould_id, run_id);

INSERT INTO run_mould (run_id, mould_id) SELECT run_id, mould_id FROM old_run_mould;
INSERT INTO run_mould (run_id, mould_id) SELECT id, mould_id FROM sheet WHERE mould_id IS NOT NULL;

-- Lists of choices begin with what was used last: a run uses what it makes.
UPDATE record SET used_at = COALESCE((SELECT MAX(r.made_at) FROM run r JOIN batch b ON b.run_id = r.id WHERE b.formula_id = record.id), used_at)
WHERE kind = 'formula' AND used_at < (SELECT MAX(r.made_at) FROM run r JOIN batch b ON b.run_id = r.id WHERE b.formula_id = record.id);
UPDATE record SET used_at = COALESCE((SELECT MAX(r.made_at) FROM run r JOIN run_design d ON d.run_id = r.id WHERE d.design_id = record.id), used_at)
WHERE kind = 'design' AND used_at < (SELECT MAX(r.made_at) FROM run r JOIN run_design d ON d.run_id = r.id WHERE d.design_id = record.id);
UPDATE record SET used_at = COALESCE((SELECT MAX(r.made_at) FROM run r JOIN run_mould m ON m.run_id = r.id WHERE m.mould_id = record.id), used_at)
WHERE kind = 'mould' AND used_at < (SELECT MAX(r.made_at) FROM run r JOIN run_mould m ON m.run_id = r.id WHERE m.mould_id = record.id);

DROP TABLE old_run_design;
DROP TABLE old_run_mould;
DROP TABLE run_batch;
DROP TABLE sheet;
DROP TABLE design_use;
DROP TABLE design_version;
DROP TABLE design;
DROP TABLE formula_ingredient;
DROP TABLE formula_version;
DROP TABLE formula;
DROP TABLE mould;
