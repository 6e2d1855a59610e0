package engine

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
)

// Entry encodes a log entry. It fails for one that could not be read again.
func Entry[T any](x T) ([]byte, error) {
	body, err := json.Marshal(x)
	if err != nil {
		return nil, err
	}
	_, err = OpenEntry[T](body)
	return body, err
}

// OpenEntry decodes a log entry. A field that this version does not know is an
// error, so that it is not lost unseen.
func OpenEntry[T any](body []byte) (x T, err error) {
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(&x); err != nil {
		return x, fmt.Errorf("entry: %w", err)
	}
	return x, nil
}

// SameEntry says, with nil, that an entry came a second time; with ErrConflict
// that another has its id. It compares through the type and back, so that a field
// added since makes no conflict.
func SameEntry[T any](have, body []byte) error {
	first, err := OpenEntry[T](have)
	if err != nil {
		return errors.Join(store.ErrConflict, err)
	}
	again, err := json.Marshal(first)
	if err != nil || !bytes.Equal(again, body) {
		return errors.Join(store.ErrConflict, err)
	}
	return nil
}

// UTCRecord puts a record's times into UTC, so that one instant has one form.
func UTCRecord(r garden.Record) garden.Record {
	for _, t := range []*time.Time{&r.Entered, &r.Start, &r.End, &r.ReEntry} {
		*t = t.UTC()
	}
	return r
}
