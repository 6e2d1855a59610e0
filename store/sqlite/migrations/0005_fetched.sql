-- +goose Up

-- Height of the grid cell that answered, in metres.
ALTER TABLE sources ADD COLUMN elevation REAL;

-- The newest runs of ensemble forecasts. Sites of one grid cell share a body,
-- which is kept as long as one of them has it.
CREATE TABLE ensemble_bodies (
    id   INTEGER PRIMARY KEY,
    hash BLOB NOT NULL UNIQUE, -- SHA-256 of the body
    body BLOB NOT NULL
) STRICT;

CREATE TABLE ensembles (
    site   TEXT    NOT NULL,
    source TEXT    NOT NULL,
    at     INTEGER NOT NULL, -- of the fetch
    body   INTEGER NOT NULL REFERENCES ensemble_bodies (id),
    PRIMARY KEY (site, source)
) STRICT;
CREATE INDEX ensembles_body ON ensembles (body);

-- +goose Down

DROP TABLE ensembles;
DROP TABLE ensemble_bodies;
ALTER TABLE sources DROP COLUMN elevation;
