package hooks

import (
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"slices"
	"syscall"

	"relevel/levelling"
)

// Guard keeps deliveries out of the networks that the server itself stands in: an
// address is looked at when it is dialled, after its name was resolved, so that no
// name can lead there.
type Guard struct {
	Networks []netip.Prefix // that may be told although they are not public
	Plain    bool           // http is allowed beside https
}

// CheckURL reports, as an InputError, an address that is not allowed. Its name is not
// resolved: that is done at each delivery.
func (g Guard) CheckURL(text string) error {
	u, err := url.Parse(text)
	if err != nil {
		return levelling.Bad("url", "an address such as https://office.example/relevel")
	}
	if u.Scheme != "https" && !g.Plain {
		return levelling.Bad("url", "an address that begins with https://")
	}
	if ip, err := netip.ParseAddr(u.Hostname()); err == nil && !g.allows(ip) {
		return levelling.Bad("url", "an address that the public reaches: this one lies in a network of its own")
	}
	return nil
}

// reserved are networks that are not the public's, beside those that package netip
// knows (IANA special-purpose address registries).
var reserved = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"), netip.MustParsePrefix("100.64.0.0/10"), netip.MustParsePrefix("192.0.0.0/24"),
	netip.MustParsePrefix("192.0.2.0/24"), netip.MustParsePrefix("192.88.99.0/24"), netip.MustParsePrefix("198.18.0.0/15"),
	netip.MustParsePrefix("198.51.100.0/24"), netip.MustParsePrefix("203.0.113.0/24"), netip.MustParsePrefix("240.0.0.0/4"),
	netip.MustParsePrefix("::/96"), netip.MustParsePrefix("64:ff9b::/96"), netip.MustParsePrefix("64:ff9b:1::/48"), netip.MustParsePrefix("100::/64"),
	netip.MustParsePrefix("2001::/23"), netip.MustParsePrefix("2001:db8::/32"), netip.MustParsePrefix("2002::/16"),
	netip.MustParsePrefix("3fff::/20"), netip.MustParsePrefix("fec0::/10"),
}

// allows reports whether an address may be dialled.
func (g Guard) allows(ip netip.Addr) bool {
	ip = ip.Unmap().WithZone("")
	in := func(p netip.Prefix) bool { return p.Contains(ip) }
	if slices.ContainsFunc(g.Networks, in) {
		return true
	}
	return ip.IsGlobalUnicast() && !ip.IsPrivate() && !ip.IsLoopback() && !ip.IsLinkLocalUnicast() && !slices.ContainsFunc(reserved, in)
}

// control is called by the dialer with the address that it is about to connect to.
func (g Guard) control(network, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil || network != "tcp4" && network != "tcp6" {
		return fmt.Errorf("%s %s is no address of the internet", network, address)
	}
	if !g.allows(at.Addr()) {
		return &net.AddrError{Err: "lies in a network of its own, and is not told", Addr: at.Addr().String()}
	}
	return nil
}
