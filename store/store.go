// Package store has the plain data that the service keeps. Persistence stands
// behind the interfaces that its users declare; sqlite and postgres implement
// them.
package store

import (
	"errors"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/weather"
)

// ErrNotFound is returned where one thing was asked for and is not there.
var ErrNotFound = errors.New("not found")

// ErrTaken is returned when another worker has claimed the same slot or holds
// the same message.
var ErrTaken = errors.New("already taken")

// ErrConflict is returned when a record comes in a second time under the same
// ID with other contents. The first is kept.
var ErrConflict = errors.New("another record has this id")

// Lease is how long one attempt to deliver a message keeps others from it.
// After that the attempt counts as lost and the message is due again.
const Lease = 10 * time.Minute

// Round is what one round of the service decided for one site. It is written
// in one transaction: assessments, and the messages they cause.
type Round struct {
	Site string
	At   time.Time
	// Day is the site's local date. History keeps the last assessment of a key
	// per day. When not set, the UTC date of At stands in.
	Day         civil.Date
	Assessments []plan.Assessment
	Hours       []plan.Hours // working hours ahead
	Messages    []Message
	// Reminders are for the round's own messages: work that follows earlier work.
	// They follow from records and weather, and are not kept.
	Reminders []plan.Reminder
}

// Message is one message to one person over one channel. Key makes it unique:
// writing the same key twice is no error and keeps the first.
type Message struct {
	Key     string // what, who, channel, slot; also the stem of the Message-ID
	Person  string
	Channel string // "email"
	Site    string
	Slot    time.Time // the local hour it is due, as an instant
	Body    []byte    // the channel's own encoding of what to send
	// Told is what the person knows once they have read it, in the encoding of
	// its maker: the next message says what is new against it. May be empty.
	Told []byte
}

// Delivery states.
const (
	Pending = "pending"
	Sending = "sending" // an attempt began; after a crash it is tried again under the same Message-ID
	Sent    = "sent"
	Failed  = "failed" // given up, with the reason
)

// Delivery is a message with what became of it.
type Delivery struct {
	Message
	State    string
	Attempts int
	NextAt   time.Time // pending: when to try next; sending: when the attempt began
	LastErr  string
	SentAt   time.Time // zero until sent
}

// OutboxStats counts the messages by state.
type OutboxStats struct {
	Pending, Sending, Sent, Failed int
	// Oldest is the earliest slot of a message that is neither sent nor given
	// up; zero when there is none.
	Oldest time.Time
}

// Forecast is one forecast as it was issued.
type Forecast struct {
	Site   string
	Source string
	Issued time.Time
	Series *weather.Series
}

// SourceStatus is how a weather source is doing for one site.
type SourceStatus struct {
	Site        string
	Source      string
	LastTry     time.Time
	LastGood    time.Time // zero when never
	LastErr     string    // empty after a good fetch
	Cause       string    // short and stable: "http-429", "html-body", "truncated", "missing-variable"
	Consecutive int       // failures in a row
	// Elevation is that of the grid cell that answered last, in metres; nil when
	// the source never said.
	Elevation *float64
}
