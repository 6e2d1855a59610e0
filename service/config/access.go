package config

import (
	"fmt"
	"net/netip"
)

// Access is how requests reach the pages.
type Access struct {
	// Proxies are the networks, as 10.0.0.0/8 or 127.0.0.1, of the reverse proxies
	// whose word on where a request came from counts. Empty: nobody's.
	Proxies []string `yaml:"proxies"`
	// MetricsTokenFile holds the secret with which /metrics may be read from
	// elsewhere; empty: from this machine only.
	MetricsTokenFile string `yaml:"metrics_token_file"`
}

// Prefixes returns the networks of the proxies.
func (a *Access) Prefixes() ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, text := range a.Proxies {
		p, err := netip.ParsePrefix(text)
		if err != nil {
			ip, err := netip.ParseAddr(text)
			if err != nil {
				return nil, fmt.Errorf("%q is no network; write it as 10.0.0.0/8, or one address as 127.0.0.1", text)
			}
			p = netip.PrefixFrom(ip.Unmap(), ip.Unmap().BitLen())
		}
		out = append(out, p.Masked())
	}
	return out, nil
}

// MetricsToken reads the secret for /metrics; empty when none is configured.
func (a *Access) MetricsToken() (string, error) {
	s, err := secret(a.MetricsTokenFile)
	if err == nil && s != "" && len(s) < minLinkSecret {
		err = fmt.Errorf("%s holds %d characters; a token for the metrics needs %d or more", a.MetricsTokenFile, len(s), minLinkSecret)
	}
	return s, err
}

func (c *checker) access() {
	a := &c.cfg.Access
	if _, err := a.Prefixes(); err != nil {
		c.fault(&a.Proxies, "%v", err)
	}
}
