-- +goose Up

-- Times are microseconds since 1970 UTC, days are counted from 0001-01-01.
-- Blobs are those of package pack.

CREATE TABLE weather (
    site  TEXT    NOT NULL,
    chunk INTEGER NOT NULL, -- ten days, counted from 1970-01-01 UTC
    hours BLOB    NOT NULL,
    PRIMARY KEY (site, chunk)
) STRICT;

CREATE TABLE forecasts (
    site   TEXT    NOT NULL,
    source TEXT    NOT NULL,
    issued INTEGER NOT NULL,
    hours  BLOB    NOT NULL,
    PRIMARY KEY (site, source, issued)
) STRICT;

CREATE TABLE days (
    site TEXT    NOT NULL,
    year INTEGER NOT NULL,
    days BLOB    NOT NULL,
    PRIMARY KEY (site, year)
) STRICT;

-- Blobs that could not be read when new data came for the same place.
CREATE TABLE set_aside (
    id    INTEGER PRIMARY KEY,
    place TEXT NOT NULL,
    blob  BLOB NOT NULL
) STRICT;

CREATE TABLE rounds (
    site TEXT    NOT NULL PRIMARY KEY,
    at   INTEGER NOT NULL,
    day  INTEGER NOT NULL,
    body BLOB    NOT NULL
) STRICT;

CREATE TABLE history (
    site TEXT    NOT NULL,
    day  INTEGER NOT NULL,
    at   INTEGER NOT NULL,
    body BLOB    NOT NULL,
    PRIMARY KEY (site, day)
) STRICT;

CREATE TABLE outbox (
    key        TEXT    NOT NULL PRIMARY KEY,
    person     TEXT    NOT NULL,
    channel    TEXT    NOT NULL,
    site       TEXT    NOT NULL,
    slot       INTEGER NOT NULL,
    body       BLOB    NOT NULL,
    told       BLOB    NOT NULL,
    state      TEXT    NOT NULL DEFAULT 'pending' CHECK (state IN ('pending', 'sending', 'sent', 'failed')),
    attempts   INTEGER NOT NULL DEFAULT 0,
    next_at    INTEGER NOT NULL, -- pending: when to try; sending: when the attempt began
    last_error TEXT    NOT NULL DEFAULT '',
    sent_at    INTEGER
) STRICT;
CREATE INDEX outbox_open ON outbox (state, next_at) WHERE state IN ('pending', 'sending');
CREATE INDEX outbox_site ON outbox (site, slot);
CREATE INDEX outbox_person ON outbox (site, person, slot);

CREATE TABLE slots (
    job  TEXT    NOT NULL,
    slot INTEGER NOT NULL,
    PRIMARY KEY (job, slot)
) STRICT, WITHOUT ROWID;

CREATE TABLE scoutings (
    id   TEXT    NOT NULL PRIMARY KEY,
    site TEXT    NOT NULL,
    day  INTEGER NOT NULL,
    body TEXT    NOT NULL
) STRICT;
CREATE INDEX scoutings_site ON scoutings (site, day, id);

CREATE TABLE treatments (
    id   TEXT    NOT NULL PRIMARY KEY,
    site TEXT    NOT NULL,
    at   INTEGER NOT NULL,
    body TEXT    NOT NULL
) STRICT;
CREATE INDEX treatments_site ON treatments (site, at, id);

CREATE TABLE sources (
    site        TEXT    NOT NULL,
    source      TEXT    NOT NULL,
    last_try    INTEGER NOT NULL,
    last_good   INTEGER NOT NULL,
    last_error  TEXT    NOT NULL,
    cause       TEXT    NOT NULL,
    consecutive INTEGER NOT NULL,
    PRIMARY KEY (site, source)
) STRICT;

-- +goose Down

DROP TABLE sources;
DROP TABLE treatments;
DROP TABLE scoutings;
DROP TABLE slots;
DROP TABLE outbox;
DROP TABLE history;
DROP TABLE rounds;
DROP TABLE set_aside;
DROP TABLE days;
DROP TABLE forecasts;
DROP TABLE weather;
