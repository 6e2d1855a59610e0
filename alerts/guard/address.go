package guard

import "net/netip"

// special4 are the blocks of IPv4 addresses that no message to the outside may
// go to: all that the registry of special-purpose addresses marks as not
// globally reachable, multicast, and the retired 6to4 relays. Source: IANA IPv4
// Special-Purpose Address Registry (RFC 6890, RFC 8190); 224.0.0.0/4 RFC 5771;
// 192.88.99.0/24 RFC 7526.
var special4 = prefixes(
	"0.0.0.0/8",       // this network (RFC 791)
	"10.0.0.0/8",      // private use (RFC 1918)
	"100.64.0.0/10",   // shared by carriers (RFC 6598)
	"127.0.0.0/8",     // loopback (RFC 1122)
	"169.254.0.0/16",  // link-local (RFC 3927); machines of a cloud keep secrets there
	"172.16.0.0/12",   // private use (RFC 1918)
	"192.0.0.0/24",    // protocol assignments (RFC 6890)
	"192.0.2.0/24",    // documentation (RFC 5737)
	"192.88.99.0/24",  // 6to4 relays, retired (RFC 7526)
	"192.168.0.0/16",  // private use (RFC 1918)
	"198.18.0.0/15",   // benchmarks (RFC 2544)
	"198.51.100.0/24", // documentation (RFC 5737)
	"203.0.113.0/24",  // documentation (RFC 5737)
	"224.0.0.0/4",     // multicast (RFC 5771)
	"240.0.0.0/4",     // reserved, and broadcast (RFC 1112, RFC 919)
)

// global6 is what is given out for hosts (RFC 4291, section 2.4; IANA IPv6
// Global Unicast Address Assignments). Everything outside it is refused, and so
// is special6 within it: IANA IPv6 Special-Purpose Address Registry.
var (
	global6  = netip.MustParsePrefix("2000::/3")
	special6 = prefixes(
		"2001::/23",     // protocol assignments, Teredo among them (RFC 2928, RFC 4380)
		"2001:db8::/32", // documentation (RFC 3849)
		"2002::/16",     // 6to4: any IPv4 address inside (RFC 3056)
		"3fff::/20",     // documentation (RFC 9637)
	)
	// nat64 holds an IPv4 address in its last four bytes, which decides (RFC
	// 6052, section 2.1): a machine with IPv6 alone reaches IPv4 through it.
	nat64 = netip.MustParsePrefix("64:ff9b::/96")
)

func prefixes(all ...string) []netip.Prefix {
	out := make([]netip.Prefix, len(all))
	for i, p := range all {
		out[i] = netip.MustParsePrefix(p)
	}
	return out
}

// Public says whether an address belongs to a host of the open internet: not to
// this machine, its network, or a block with another purpose.
func Public(a netip.Addr) bool {
	a = a.Unmap().WithZone("")
	if a.Is6() && nat64.Contains(a) {
		b := a.As16()
		a = netip.AddrFrom4([4]byte(b[12:]))
	}
	switch {
	case a.Is4():
		return !within(special4, a)
	case a.Is6():
		return global6.Contains(a) && !within(special6, a)
	}
	return false
}

func within(all []netip.Prefix, a netip.Addr) bool {
	for _, p := range all {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
