package store

import "time"

// Tuning is one entry of a region's changes of the published numbers. Entries are
// never changed: undoing is an entry, too.
type Tuning struct {
	ID     string
	Region string
	Body   []byte // the signed, readable file
	At     time.Time
	By     string // person id
	Undoes string // id of the entry that it takes back; empty otherwise
}
