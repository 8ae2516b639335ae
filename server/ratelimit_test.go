package server

import (
	"fmt"
	"net/http/httptest"
	"net/netip"
	"testing"

	"golang.org/x/time/rate"
)

// Whoever ran into a limit does not get round it by sending a crowd after it.
func TestLimitOutlastsACrowd(t *testing.T) {
	names := &senders{limit: rate.Every(nameEvery), burst: nameBurst, known: map[string]*rate.Limiter{}}
	for range nameBurst {
		names.allow("the one")
	}
	for i := range 2 * maxSenders {
		names.allow(fmt.Sprint("of the crowd ", i))
	}
	if names.allow("the one") {
		t.Error("the limit was forgotten")
	}
	if n := len(names.known); n > maxSenders {
		t.Errorf("%d are known", n)
	}
}

// All addresses that one network hands out count as one; the trail has each.
func TestOneNetworkIsOneSender(t *testing.T) {
	s := &Server{config: Config{Proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}}
	for _, test := range []struct{ remote, forwarded, address, network string }{
		{"192.0.2.7:80", "", "192.0.2.7", "192.0.2.7"},
		{"[2001:db8:1:2::7]:80", "", "2001:db8:1:2::7", "2001:db8:1:2::/64"},
		{"[2001:db8:1:2:ffff::9]:80", "", "2001:db8:1:2:ffff::9", "2001:db8:1:2::/64"},
		{"[2001:db8:1:3::7]:80", "", "2001:db8:1:3::7", "2001:db8:1:3::/64"},
		{"[::ffff:192.0.2.7]:80", "", "::ffff:192.0.2.7", "::ffff:192.0.2.7"},
		{"10.0.0.1:80", "2001:db8:1:2::7", "2001:db8:1:2::7", "2001:db8:1:2::/64"},
		{"10.0.0.1:80", "fe80::1%made\xff up", "fe80::1", "fe80::/64"},
		{"192.0.2.7:80", "198.51.100.1", "192.0.2.7", "192.0.2.7"}, // it is no proxy of ours
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = test.remote
		r.Header.Set("X-Forwarded-For", test.forwarded)
		if address, network := s.senderAddress(r), s.senderNetwork(r); address != test.address || network != test.network {
			t.Errorf("%s for %q: %s in %s, want %s in %s", test.remote, test.forwarded, address, network, test.address, test.network)
		}
	}
}
