package signed

import (
	"fmt"
	"net/url"
	"strings"
)

// Path is where the handler's pages are.
const Path = "/act/"

// Links writes links into messages.
type Links struct {
	Keys *Keys
	Base string // address of the pages as readers reach it
}

// Link returns the address for a claim.
func (l Links) Link(c Claim) (string, error) {
	token, err := l.Keys.Sign(c)
	if err != nil {
		return "", err
	}
	u, err := url.Parse(l.Base)
	if err != nil || u.Host == "" {
		return "", fmt.Errorf("link for %s: the base address %q has no host", c.Action, l.Base)
	}
	return strings.TrimRight(l.Base, "/") + Path + token, nil
}

// OneClick returns the headers List-Unsubscribe and List-Unsubscribe-Post of a
// mail (RFC 2369, RFC 8058) for a link made for Unsubscribe. RFC 8058 asks for
// https and for a DKIM signature over both; without them mail programs ignore
// the second.
func OneClick(link string) (unsubscribe, post string) {
	return "<" + link + ">", "List-Unsubscribe=One-Click"
}
