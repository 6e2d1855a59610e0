package signed

import (
	"context"
	"time"

	"plotwarden/lang"
)

// Store is what the pages need. What a claim is about and is not there any more
// is store.ErrNotFound.
type Store interface {
	// Describe says in words what a claim is about. It changes nothing.
	Describe(ctx context.Context, c Claim) (Subject, error)
	// Act carries a claim out. Carrying out the same claim again is no error and
	// changes no more than its last day. For NotNow and Mute, Until is set.
	Act(ctx context.Context, c Claim, at time.Time) error
	// Undo takes back what Act did for the claim. Nothing to take back is no error.
	Undo(ctx context.Context, c Claim, at time.Time) error
}

// Subject is what a claim is about, in words.
type Subject struct {
	Person string
	Site   string
	What   string         // "Late blight, Bed 3: Tomato"; empty for Unsubscribe
	Lang   lang.Voice     // in which the person reads
	Loc    *time.Location // the site's zone; nil is UTC
	Page   string         // address of the site's page; empty without pages
}
