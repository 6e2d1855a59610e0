package guard

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// Allow is the list of the operator's own hosts, which may lie in a private
// network and be spoken to without TLS. The zero value and nil allow none.
type Allow struct {
	hosts    []string // "relay.lan", "relay.lan:8080", in lower case
	prefixes []netip.Prefix
	ports    []netip.AddrPort
}

// ParseAllow reads the list. An entry is a host name, an address, either of
// them with a port, or a block of addresses: relay.lan, relay.lan:8080,
// 192.168.1.20, [fd00::5]:8080, 192.168.1.0/24.
func ParseAllow(entries []string) (*Allow, error) {
	a := &Allow{}
	for i, e := range entries {
		if err := a.add(strings.TrimSpace(e)); err != nil {
			return nil, fmt.Errorf("allowed host %d, %q: %w", i+1, e, err)
		}
	}
	return a, nil
}

func (a *Allow) add(e string) error {
	if p, err := netip.ParsePrefix(e); err == nil {
		if p != p.Masked() {
			return fmt.Errorf("the block begins at %s; write %s", p.Masked().Addr(), p.Masked())
		}
		a.prefixes = append(a.prefixes, p)
		return nil
	}
	if ip, err := netip.ParseAddr(strings.Trim(e, "[]")); err == nil {
		a.prefixes = append(a.prefixes, netip.PrefixFrom(ip.Unmap(), ip.Unmap().BitLen()))
		return nil
	}
	if ap, err := netip.ParseAddrPort(e); err == nil {
		a.ports = append(a.ports, netip.AddrPortFrom(ap.Addr().Unmap(), ap.Port()))
		return nil
	}
	host, port, hasPort := strings.Cut(strings.ToLower(e), ":")
	host = strings.TrimSuffix(host, ".")
	if host == "" || strings.ContainsAny(e, "/@?#*[] ") {
		return errors.New("write a host name, an address, either with :port, or a block of addresses such as 192.168.1.0/24")
	}
	if hasPort {
		if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
			return fmt.Errorf("the port %q is not a number from 1 to 65535", port)
		}
		host = net.JoinHostPort(host, port)
	}
	a.hosts = append(a.hosts, host)
	return nil
}

// host says whether a host is on the list under the name that the target uses.
func (a *Allow) host(host, port string) bool {
	if a == nil {
		return false
	}
	name := strings.TrimSuffix(strings.ToLower(host), ".")
	if slices.Contains(a.hosts, name) || slices.Contains(a.hosts, net.JoinHostPort(name, port)) {
		return true
	}
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return false
	}
	n, err := strconv.ParseUint(port, 10, 16)
	return err == nil && a.addr(netip.AddrPortFrom(ip, uint16(n)))
}

// addr says whether an address is on the list.
func (a *Allow) addr(ap netip.AddrPort) bool {
	if a == nil {
		return false
	}
	ip := ap.Addr().Unmap().WithZone("")
	return within(a.prefixes, ip) || slices.Contains(a.ports, netip.AddrPortFrom(ip, ap.Port()))
}
