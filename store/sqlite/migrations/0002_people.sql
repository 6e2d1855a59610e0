-- +goose Up

-- What people chose about their messages; parts of the key that do not apply
-- are empty.
CREATE TABLE choices (
    person   TEXT    NOT NULL,
    site     TEXT    NOT NULL,
    kind     TEXT    NOT NULL,
    planting TEXT    NOT NULL,
    threat   TEXT    NOT NULL,
    channel  TEXT    NOT NULL,
    at       INTEGER NOT NULL,
    until    INTEGER NOT NULL,
    seen     BLOB    NOT NULL,
    PRIMARY KEY (person, site, kind, planting, threat, channel)
) STRICT;
CREATE INDEX choices_site ON choices (site);

CREATE TABLE subscriptions (
    person TEXT    NOT NULL,
    id     TEXT    NOT NULL,
    body   BLOB    NOT NULL,
    added  INTEGER NOT NULL,
    PRIMARY KEY (person, id)
) STRICT;

-- Small things kept under a name: secrets drawn at the first start, the
-- revisions of calendars.
CREATE TABLE kept (
    name TEXT NOT NULL PRIMARY KEY,
    body BLOB NOT NULL
) STRICT;

-- +goose Down

DROP TABLE kept;
DROP TABLE subscriptions;
DROP TABLE choices;
