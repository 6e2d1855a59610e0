-- +goose Up

CREATE INDEX outbox_failed ON outbox (slot) WHERE state = 'failed';

-- +goose Down

DROP INDEX outbox_failed;
