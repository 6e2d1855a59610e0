package store

import "time"

// Account is how a person signs in. Its secrets are hashes.
type Account struct {
	Person   string // id of a garden.Person; the key
	Login    string // unique, lower case
	Role     string // of package access
	Password string // argon2id in its printed form; empty when there is none
	Passkeys []byte // in the encoding of its maker; empty when there are none
	Created  time.Time
	Closed   time.Time // zero while it is open
	// Rev is 0 for a new account, then grows with each change: who writes an
	// older one gets ErrConflict.
	Rev int64
}

// Kinds of grant.
const (
	SessionGrant = "session" // a browser that signed in
	TokenGrant   = "token"   // a program that acts for a person
	ShareGrant   = "share"   // a link by which anyone may read one site
	InviteGrant  = "invite"  // a link by which a person makes their account
)

// Grant is one secret that opens something, of which the store has only the
// hash.
type Grant struct {
	Hash    string // of the secret, hex; the key
	ID      string // unique; safe to show
	Kind    string
	Person  string // whom it lets in, or who made it
	Site    string // of a share
	Name    string // as its owner calls it
	Body    []byte // in the encoding of its maker; may be empty
	Created time.Time
	Seen    time.Time // when it was last used; zero is never
	Expires time.Time // zero is never
	Ended   time.Time // zero while it holds
}

// Audit is one thing that somebody did which others may ask about later.
type Audit struct {
	ID     int64 // grows; the store sets it
	At     time.Time
	Person string // empty when nobody was signed in
	From   string // network address
	Did    string // short and stable: "signed-in", "sign-in-refused", "changed-site"
	On     string // what it was done to
	Detail string
}
