package calendar

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// Book remembers what a reader was given: the revision of each event by its
// name. It holds only events that are not over, and is JSON.
type Book map[string]Entry

// Entry is one event as it was last given.
type Entry struct {
	Event event `json:"event"`
	// Sequence is the revision (RFC 5545, section 3.8.7.4). It counts minutes, so
	// that it grows also where the book was lost.
	Sequence  int       `json:"sequence"`
	Stamp     time.Time `json:"stamp"`     // when this wording was made
	Mark      string    `json:"mark"`      // of the whole wording
	Cancelled bool      `json:"cancelled"` // no longer planned
}

// ParseBook reads what json.Marshal wrote; nothing at all is an empty book.
func ParseBook(b []byte) (Book, error) {
	if len(b) == 0 {
		return nil, nil
	}
	var out Book
	if err := json.Unmarshal(b, &out); err != nil {
		return nil, fmt.Errorf("read the calendar's book: %w", err)
	}
	return out, nil
}

// epoch is where revisions are counted from.
var epoch = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// revise returns the book after these events are given at now.
func (b Book) revise(events []event, now time.Time, loc *time.Location) Book {
	next := Book{}
	for _, e := range events {
		was, had := b[e.UID]
		is := Entry{Event: e, Sequence: max(0, int(now.Sub(epoch)/time.Minute)), Stamp: now.UTC().Truncate(time.Second), Mark: mark(&e)}
		switch {
		case had && was.Mark == is.Mark && !was.Cancelled:
			is = was
			is.Event = e
		case had && !was.Cancelled && sameTime(&was.Event, &e):
			is.Sequence = was.Sequence // only the text is another (RFC 5546, section 2.1.4)
		case had:
			is.Sequence = max(is.Sequence, was.Sequence+1)
		}
		is.Event.Description, is.Event.URL = "", ""
		next[e.UID] = is
	}
	for uid, was := range b {
		if _, still := next[uid]; still || was.Event.over(now, loc) {
			continue
		}
		if !was.Cancelled {
			was.Cancelled = true
			was.Sequence = max(was.Sequence+1, int(now.Sub(epoch)/time.Minute))
			was.Stamp = now.UTC().Truncate(time.Second)
			was.Mark = ""
		}
		next[uid] = was
	}
	return next
}

// cancelled lists what was given before and is off.
func (b Book) cancelled() []event {
	var out []event
	for _, e := range b {
		if e.Cancelled {
			ev := e.Event
			ev.Cancelled = true
			out = append(out, ev)
		}
	}
	slices.SortFunc(out, func(a, b event) int {
		if a.UID < b.UID {
			return -1
		}
		return 1
	})
	return out
}

func sameTime(a, b *event) bool {
	return a.From.Equal(b.From) && a.To.Equal(b.To) && a.Day == b.Day && a.Until == b.Until
}

func mark(e *event) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d\x00%d\x00%d\x00%d\x00%q\x00%q\x00%q\x00%t",
		e.From.Unix(), e.To.Unix(), e.Day, e.Until, e.Summary, e.Description, e.URL, e.Remind))
	return hex.EncodeToString(sum[:12])
}
