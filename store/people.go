package store

import (
	"time"

	"plotwarden/civil"
)

// Kinds of choice.
const (
	ChoseDone    = "done"     // the work is done; told again when something changes
	ChoseNotNow  = "not-now"  // put off until a day
	ChoseNotMine = "not-mine" // not the person's crop
	ChoseMute    = "mute"     // nothing of a threat up to and including a day
	ChoseStop    = "stop"     // no messages of a site over a channel
)

// Choice is what a person chose about their messages. Person, Site, Kind,
// Planting, Threat and Channel together are its key; parts that do not apply are
// empty.
type Choice struct {
	Person, Site, Kind        string
	Planting, Threat, Channel string
	At                        time.Time  // when it was chosen
	Until                     civil.Date // the last day on which it holds; 0 has no end
	// Seen is what the person had been told of it when they chose, in the
	// encoding of its maker; nil when nothing.
	Seen []byte
}

// Subscription is one browser that takes a person's messages by push.
type Subscription struct {
	Person, ID string
	Body       []byte // in the encoding of its channel
	Added      time.Time
}
