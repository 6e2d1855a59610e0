package engine

import "context"

// Watch hears how each change of a store went: with nil when it was kept, or with
// the error. It must return at once.
type Watch func(err error)

// Full is a Store that can be copied as a whole.
type Full interface {
	Store
	// Place names the store for people, without secrets.
	Place() string
	// Dump gives every row of every table of Tables, table by table and in the order
	// of their keys, as all stood at one moment. The slice of values is used again
	// for the next row. Texts are as Text makes them. An error of give ends it and is
	// returned.
	Dump(ctx context.Context, give func(t *Table, row []any) error) error
	// Load puts rows into an empty store, in one transaction: all that next returns
	// until it returns a nil table, or none when it fails. A store that is not empty
	// is ErrNotEmpty, unless clear is set: then its rows go in the same transaction.
	Load(ctx context.Context, clear bool, next func() (*Table, []any, error)) error
}
