-- +goose Up

-- What people made in the browser: every version of every part of the ground.
CREATE TABLE things (
    rev     INTEGER NOT NULL PRIMARY KEY,
    kind    TEXT    NOT NULL,
    id      TEXT    NOT NULL,
    deleted INTEGER NOT NULL,
    at      INTEGER NOT NULL,
    person  TEXT    NOT NULL,
    why     TEXT    NOT NULL,
    body    BLOB    NOT NULL
) STRICT;
CREATE INDEX things_id ON things (kind, id, rev);

-- Numbers that only grow.
CREATE TABLE counters (
    name  TEXT    NOT NULL PRIMARY KEY,
    value INTEGER NOT NULL
) STRICT;

CREATE TABLE accounts (
    person   TEXT    NOT NULL PRIMARY KEY,
    login    TEXT    NOT NULL UNIQUE,
    role     TEXT    NOT NULL,
    password TEXT    NOT NULL,
    passkeys BLOB    NOT NULL,
    created  INTEGER NOT NULL,
    closed   INTEGER NOT NULL,
    rev      INTEGER NOT NULL
) STRICT;

CREATE TABLE grants (
    hash    TEXT    NOT NULL PRIMARY KEY,
    id      TEXT    NOT NULL UNIQUE,
    kind    TEXT    NOT NULL,
    person  TEXT    NOT NULL,
    site    TEXT    NOT NULL,
    name    TEXT    NOT NULL,
    body    BLOB    NOT NULL,
    created INTEGER NOT NULL,
    seen    INTEGER NOT NULL,
    expires INTEGER NOT NULL,
    ended   INTEGER NOT NULL
) STRICT;
CREATE INDEX grants_person ON grants (person, kind);
CREATE INDEX grants_site ON grants (site, kind);

CREATE TABLE audits (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    at      INTEGER NOT NULL,
    person  TEXT    NOT NULL,
    address TEXT    NOT NULL,
    did     TEXT    NOT NULL,
    object  TEXT    NOT NULL,
    detail  TEXT    NOT NULL
) STRICT;

CREATE TABLE records (
    id   TEXT    NOT NULL PRIMARY KEY,
    site TEXT    NOT NULL,
    at   INTEGER NOT NULL,
    body TEXT    NOT NULL
) STRICT;
CREATE INDEX records_site ON records (site, at, id);

CREATE TABLE photos (
    id     TEXT    NOT NULL PRIMARY KEY,
    site   TEXT    NOT NULL,
    person TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    type   TEXT    NOT NULL,
    width  INTEGER NOT NULL,
    height INTEGER NOT NULL,
    body   BLOB    NOT NULL
) STRICT;
CREATE INDEX photos_site ON photos (site, at, id);

CREATE TABLE tunings (
    id     TEXT    NOT NULL PRIMARY KEY,
    region TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    person TEXT    NOT NULL,
    undoes TEXT    NOT NULL,
    body   BLOB    NOT NULL
) STRICT;
CREATE INDEX tunings_region ON tunings (region, at, id);

-- +goose Down

DROP TABLE tunings;
DROP TABLE photos;
DROP TABLE records;
DROP TABLE audits;
DROP TABLE grants;
DROP TABLE accounts;
DROP TABLE counters;
DROP TABLE things;
