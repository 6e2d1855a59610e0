// Package guard reaches addresses that people typed in, and nothing behind the
// operator's back: a target that leads to this machine or into its network is
// refused where the connection is made, after the name was looked up. A name
// that changes its address between two look-ups gains nothing by it.
package guard

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"syscall"
	"time"
)

// Options say how to reach the outside.
type Options struct {
	Allow   *Allow        // the operator's own hosts
	Timeout time.Duration // of one request with all it needs; 20 s when 0
	// Resolver and TLS replace the system's; nil in normal use.
	Resolver *net.Resolver
	TLS      *tls.Config
}

// RefusedError says that a target leads where no message may go.
type RefusedError struct {
	Host string     // as the target names it
	Addr netip.Addr // what it led to
}

// Error names the host and the way out.
func (e *RefusedError) Error() string {
	if e.Host == e.Addr.String() {
		return fmt.Sprintf("%s is not an address of the open internet; an operator can allow it as an own host", e.Host)
	}
	return fmt.Sprintf("%s leads to %s, which is not an address of the open internet; an operator can allow it as an own host", e.Host, e.Addr)
}

// HTTPClient returns a client that connects to public addresses and allowed
// hosts only. It follows no redirect: the answer that asks for one is returned.
// Proxies of the environment are not used, because the check would see the
// proxy's address in place of the target's.
func HTTPClient(o Options) *http.Client {
	if o.Timeout <= 0 {
		o.Timeout = 20 * time.Second
	}
	return &http.Client{
		Timeout:       o.Timeout,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{
			Proxy:                  nil,
			DialContext:            o.dial,
			TLSClientConfig:        o.TLS,
			ForceAttemptHTTP2:      true,
			MaxIdleConns:           16,
			MaxConnsPerHost:        4,
			IdleConnTimeout:        30 * time.Second,
			TLSHandshakeTimeout:    10 * time.Second,
			MaxResponseHeaderBytes: 32 << 10,
			// A small answer can unpack to a large one; we read none of it.
			DisableCompression: true,
		},
	}
}

func (o Options) dial(ctx context.Context, network, address string) (net.Conn, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("target %q: %w", address, err)
	}
	d := net.Dialer{Timeout: 10 * time.Second, Resolver: o.Resolver}
	if !o.Allow.host(host, port) {
		d.Control = func(_, found string, _ syscall.RawConn) error {
			ap, err := netip.ParseAddrPort(found)
			if err != nil {
				return fmt.Errorf("address %q: %w", found, err)
			}
			if !Public(ap.Addr()) && !o.Allow.addr(ap) {
				return &RefusedError{Host: host, Addr: ap.Addr()}
			}
			return nil
		}
	}
	return d.DialContext(ctx, network, address)
}

// maxURL is the longest target: what browsers and servers commonly take (common
// practice).
const maxURL = 2048

// Check says what is wrong with a target before anything is sent there, in words
// for the person who typed it. It looks up no name: whether the name leads
// outside is checked when a connection is made.
func Check(target string, allow *Allow) error {
	if len(target) > maxURL {
		return fmt.Errorf("the address has %d characters; %d are the most", len(target), maxURL)
	}
	u, err := url.Parse(target)
	if err != nil {
		return errors.New("the address cannot be read; write https://host/path")
	}
	switch {
	case u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "":
		return errors.New("the address has no https:// with a host; write https://host/path")
	case u.User != nil:
		return errors.New("the address has a user name before the host; leave it out, the signature says who sends")
	case u.Fragment != "":
		return errors.New("the address has a part from # on; leave it out")
	}
	port := u.Port()
	if port == "" {
		port = map[string]string{"http": "80", "https": "443"}[u.Scheme]
	}
	own := allow.host(u.Hostname(), port)
	if u.Scheme == "http" && !own {
		return errors.New("the address begins with http://, so what is sent could be read on the way; write https://, or have the operator allow the host as an own one")
	}
	if ip, err := netip.ParseAddr(u.Hostname()); err == nil && !own && !Public(ip) {
		return &RefusedError{Host: u.Hostname(), Addr: ip}
	}
	return nil
}

// Bare takes the address out of an error of an HTTP client. Targets are often
// secrets in themselves: whoever knows one can send there, so none may reach a
// log.
func Bare(err error) error {
	var e *url.Error
	if errors.As(err, &e) && e.Err != nil {
		return e.Err
	}
	return err
}
