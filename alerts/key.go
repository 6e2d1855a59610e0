package alerts

import (
	"strings"
	"time"
)

// DigestKey names the digest of a site for a person over a channel in a slot.
// The same slot gives the same key, however often it is composed. Slashes in
// ids are replaced, so that no two digests share a key by chance of naming.
func DigestKey(site, person, channel string, slot time.Time) string {
	clean := strings.NewReplacer("%", "%25", "/", "%2F")
	return strings.Join([]string{"digest", clean.Replace(site), clean.Replace(person), clean.Replace(channel), slot.UTC().Format(time.RFC3339)}, "/")
}

// Key returns the digest's key for a channel.
func (d *Digest) Key(channel string) string {
	return DigestKey(d.SiteID, d.PersonID, channel, d.Slot)
}
