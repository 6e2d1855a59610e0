package store

import "time"

// Photo is one picture that belongs to log entries. It carries no position.
type Photo struct {
	ID    string // unique
	Site  string
	By    string // person id
	At    time.Time
	Type  string // "image/jpeg"
	Body  []byte
	Width int // pixels
	High  int
}
