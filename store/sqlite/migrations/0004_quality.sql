-- +goose Up

-- Weather values that the checks took out, each with the reason.
CREATE TABLE rejects (
    site   TEXT    NOT NULL,
    source TEXT    NOT NULL,
    var    INTEGER NOT NULL,
    at     INTEGER NOT NULL, -- the hour
    value  REAL    NOT NULL,
    kind   INTEGER NOT NULL,
    fault  TEXT    NOT NULL,
    reason TEXT    NOT NULL,
    PRIMARY KEY (site, source, var, at)
) STRICT, WITHOUT ROWID;
CREATE INDEX rejects_time ON rejects (site, at);

CREATE TABLE quality (
    site TEXT NOT NULL PRIMARY KEY,
    at   INTEGER NOT NULL,
    body BLOB NOT NULL
) STRICT;

-- +goose Down

DROP TABLE quality;
DROP TABLE rejects;
