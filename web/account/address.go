package account

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// forwarded are the headers by which a proxy says for whom it asks. They count
// only from a trusted one: anybody can write them.
var forwarded = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Proto", "X-Forwarded-Host", "X-Real-Ip", "Via"}

// caller is where a request came from.
type caller struct {
	address string // of the client
	secure  bool   // over TLS, as the client sees it
	direct  bool   // nobody stood between
}

// caller reads it off a request. Behind trusted proxies it is the last address that
// none of them has, and their last word on the scheme.
func (a *Accounts) caller(r *http.Request) caller {
	c := caller{address: hostOf(r.RemoteAddr), secure: r.TLS != nil, direct: true}
	for _, h := range forwarded {
		if r.Header.Get(h) != "" {
			c.direct = false
		}
	}
	if c.direct || !a.trusted(c.address) {
		return c
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0; i-- {
		hop := hostOf(strings.TrimSpace(hops[i]))
		if _, err := netip.ParseAddr(hop); err != nil {
			break
		}
		c.address = hop
		if !a.trusted(hop) {
			break
		}
	}
	protos := strings.Split(r.Header.Get("X-Forwarded-Proto"), ",")
	c.secure = c.secure || strings.EqualFold(strings.TrimSpace(protos[len(protos)-1]), "https")
	return c
}

func (a *Accounts) trusted(address string) bool {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return false
	}
	for _, p := range a.Proxies {
		if p.Contains(ip.Unmap()) {
			return true
		}
	}
	return false
}

// hostOf cuts the port off an address.
func hostOf(address string) string {
	if host, _, err := net.SplitHostPort(address); err == nil {
		address = host
	}
	address, _, _ = strings.Cut(strings.Trim(address, "[]"), "%") // zone
	return address
}

// Local says whether a request was made on this machine, by its own name and not
// through a proxy: a page elsewhere whose name was pointed here does not count.
func Local(r *http.Request) bool {
	ip, err := netip.ParseAddr(hostOf(r.RemoteAddr))
	if err != nil || !ip.Unmap().IsLoopback() {
		return false
	}
	for _, h := range forwarded {
		if r.Header.Get(h) != "" {
			return false
		}
	}
	host := strings.ToLower(hostOf(r.Host))
	if host == "localhost" || strings.HasSuffix(host, ".localhost") {
		return true
	}
	named, err := netip.ParseAddr(host)
	return err == nil && named.IsLoopback()
}
