// Package engine has what every engine of the store does the same way, apart
// from the statements: what is refused, and how log entries are encoded and
// compared.
package engine

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/store"
)

// CheckThing says what keeps a thing from being stored.
func CheckThing(t store.Thing) error {
	switch {
	case t.Kind == "" || t.ID == "":
		return errors.New("it needs a kind and an id")
	case t.At.IsZero():
		return errors.New("it needs a time")
	case t.Deleted && len(t.Body) == 0:
		return nil
	case !json.Valid(t.Body):
		return errors.New("its body is not JSON")
	}
	return nil
}

// MayReplace says whether a writer that saw the version expect (0 is none) may
// write after have, the newest version; deleted says that it is a deletion. What
// was deleted may be made anew by one who saw nothing.
func MayReplace(expect, have int64, deleted bool) bool {
	return expect == have || expect == 0 && deleted
}

// CheckAccount says what keeps an account from being stored.
func CheckAccount(a store.Account) error {
	switch {
	case a.Person == "" || a.Login == "" || a.Role == "":
		return errors.New("it needs a person, a login and a role")
	case a.Login != strings.ToLower(a.Login):
		return fmt.Errorf("login %q is not in lower case", a.Login)
	}
	return nil
}

// CheckGrant says what keeps a grant from being stored.
func CheckGrant(g store.Grant) error {
	if g.Hash == "" || g.ID == "" || g.Kind == "" {
		return errors.New("it needs a hash, an id and a kind")
	}
	return nil
}

// CheckPhoto says what keeps a picture from being stored.
func CheckPhoto(p store.Photo) error {
	if p.ID == "" || p.Site == "" || len(p.Body) == 0 {
		return errors.New("it needs an id, a site and a body")
	}
	return nil
}

// CheckTuning says what keeps an entry from being stored.
func CheckTuning(t store.Tuning) error {
	if t.ID == "" || t.Region == "" || len(t.Body) == 0 {
		return errors.New("it needs an id, a region and a body")
	}
	return nil
}

// Micros is how instants are kept; finer parts are cut off.
func Micros(t time.Time) int64 { return t.UnixMicro() }

// Instant is the instant that Micros made the number of.
func Instant(us int64) time.Time { return time.UnixMicro(us).UTC() }

// Never is the zero time as Micros keeps it.
var Never = Micros(time.Time{})

// Blob is b as a column takes it that may be empty but not NULL.
func Blob(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// NoBlob is nil for an empty column.
func NoBlob(b []byte) []byte {
	if len(b) == 0 {
		return nil
	}
	return b
}

// Text is s as every engine can keep it: what is no UTF-8, and the zero byte,
// become a mark. Texts of others, as errors are, may hold either.
func Text(s string) string {
	const mark = "\uFFFD"
	return strings.ReplaceAll(strings.ToValidUTF8(s, mark), "\x00", mark)
}
