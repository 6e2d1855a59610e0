package guard

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The rows follow the IANA registries of special-purpose addresses (IPv4 and
// IPv6, RFC 6890 and the RFCs beside each row): first and last address of each
// block, and the neighbours outside.
func TestPublic(t *testing.T) {
	for _, c := range []struct {
		addr   string
		public bool
		source string
	}{
		{"0.0.0.0", false, "RFC 791: this network"},
		{"0.255.255.255", false, "RFC 791"},
		{"1.0.0.0", true, "after 0/8"},
		{"9.255.255.255", true, "before 10/8"},
		{"10.0.0.0", false, "RFC 1918"},
		{"10.255.255.255", false, "RFC 1918"},
		{"11.0.0.0", true, "after 10/8"},
		{"100.63.255.255", true, "before 100.64/10"},
		{"100.64.0.0", false, "RFC 6598"},
		{"100.127.255.255", false, "RFC 6598"},
		{"100.128.0.0", true, "after 100.64/10"},
		{"127.0.0.1", false, "RFC 1122"},
		{"127.255.255.254", false, "RFC 1122"},
		{"169.254.169.254", false, "RFC 3927"},
		{"172.15.255.255", true, "before 172.16/12"},
		{"172.16.0.0", false, "RFC 1918"},
		{"172.31.255.255", false, "RFC 1918"},
		{"172.32.0.0", true, "after 172.16/12"},
		{"192.0.0.170", false, "RFC 7050: NAT64 discovery"},
		{"192.0.2.1", false, "RFC 5737"},
		{"192.31.196.1", true, "RFC 7535: AS112, globally reachable"},
		{"192.88.99.1", false, "RFC 7526"},
		{"192.167.255.255", true, "before 192.168/16"},
		{"192.168.0.0", false, "RFC 1918"},
		{"192.168.255.255", false, "RFC 1918"},
		{"192.169.0.0", true, "after 192.168/16"},
		{"198.17.255.255", true, "before 198.18/15"},
		{"198.18.0.0", false, "RFC 2544"},
		{"198.19.255.255", false, "RFC 2544"},
		{"198.51.100.7", false, "RFC 5737"},
		{"203.0.113.7", false, "RFC 5737"},
		{"223.255.255.255", true, "before 224/4"},
		{"224.0.0.1", false, "RFC 5771"},
		{"240.0.0.1", false, "RFC 1112"},
		{"255.255.255.255", false, "RFC 919"},
		{"::", false, "RFC 4291: unspecified"},
		{"::1", false, "RFC 4291: loopback"},
		{"::ffff:127.0.0.1", false, "RFC 4291: IPv4 written as IPv6"},
		{"::ffff:10.1.2.3", false, "RFC 4291"},
		{"::ffff:8.8.8.8", true, "RFC 4291"},
		{"::127.0.0.1", false, "RFC 4291: IPv4-compatible, retired"},
		{"64:ff9b::8.8.8.8", true, "RFC 6052: the IPv4 address inside decides"},
		{"64:ff9b::10.0.0.1", false, "RFC 6052"},
		{"64:ff9b:1::1", false, "RFC 8215: local NAT64"},
		{"100::1", false, "RFC 6666: discard"},
		{"1fff:ffff::1", false, "before 2000::/3"},
		{"2001::1", false, "RFC 4380: Teredo"},
		{"2001:1ff:ffff::1", false, "RFC 2928"},
		{"2001:200::1", true, "after 2001::/23"},
		{"2001:db8::1", false, "RFC 3849"},
		{"2002:7f00:1::1", false, "RFC 3056: 6to4 of 127.0.0.1"},
		{"2606:4700::1111", true, "global unicast"},
		{"3fff::1", false, "RFC 9637"},
		{"3fff:1000::1", true, "after 3fff::/20"},
		{"4000::1", false, "not given out"},
		{"5f00::1", false, "RFC 9602: segment routing"},
		{"fc00::1", false, "RFC 4193"},
		{"fd12::1", false, "RFC 4193"},
		{"fe80::1", false, "RFC 4291: link-local"},
		{"fe80::1%eth0", false, "RFC 4007: with a zone"},
		{"fec0::1", false, "RFC 3879: site-local, retired"},
		{"ff02::1", false, "RFC 4291: multicast"},
	} {
		assert.Equal(t, c.public, Public(netip.MustParseAddr(c.addr)), "%s (%s)", c.addr, c.source)
	}
	assert.False(t, Public(netip.Addr{}))
}

// Whatever the standard library calls private, loopback, link-local, multicast
// or unspecified is never public, in none of its spellings.
func TestPublicNeverExceedsTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 4, 4).Draw(t, "v4")
		four := netip.AddrFrom4([4]byte(b))
		mapped := netip.AddrFrom16(four.As16())
		if Public(four) != Public(mapped) {
			t.Fatalf("%s and %s differ", four, mapped)
		}
		six := netip.AddrFrom16([16]byte(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "v6")))
		for _, a := range []netip.Addr{four, six} {
			if Public(a) && (a.IsPrivate() || a.IsLoopback() || a.IsLinkLocalUnicast() || a.IsMulticast() || a.IsUnspecified() || !a.IsGlobalUnicast()) {
				t.Fatalf("%s is called public", a)
			}
		}
	})
}
