package server

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"

	"golang.org/x/time/rate"

	"relevel/jobs"
)

// maxSenders bounds how many senders are told apart. When there are more, the half of
// them starts anew that asked least of late: a limit that is too mild for a moment beats
// a map without end, and whoever ran into theirs stays there however many others come.
const maxSenders = 20000

// senders limits how fast each sender may ask. A sender is a valid token or session, so
// that an office behind one address is not one sender; without one it is the
// address.
type senders struct {
	limit rate.Limit
	burst int

	mu    sync.Mutex
	known map[string]*rate.Limiter
}

// allow takes one request of a sender into account and says whether it may go
// on. A negative limit lets everything pass.
func (s *senders) allow(sender string) bool {
	if s.limit < 0 {
		return true
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	l, ok := s.known[sender]
	if !ok {
		if len(s.known) >= maxSenders {
			s.forgetHalf()
		}
		l = rate.NewLimiter(s.limit, s.burst)
		s.known[sender] = l
	}
	return l.Allow()
}

// forgetHalf forgets the senders that have most left.
func (s *senders) forgetHalf() {
	left := make([]float64, 0, len(s.known))
	for _, l := range s.known {
		left = append(left, l.Tokens())
	}
	slices.Sort(left)
	middle, half := left[len(left)/2], len(left)/2
	for sender, l := range s.known {
		if half > 0 && l.Tokens() >= middle { // those in the middle may be many
			delete(s.known, sender)
			half--
		}
	}
}

// senderOf names who sent a request. Only a token that was found valid a short
// while ago counts, or made-up ones would each get a limit of their own.
func (s *Server) senderOf(r *http.Request) string {
	firm, hash, err := jobs.ParseToken(bearer(r.Header.Get("Authorization")))
	if cookie, none := r.Cookie(cookieName(r)); none == nil && r.Header.Get("Authorization") == "" {
		firm, hash, err = jobs.ParseSession(cookie.Value)
	}
	if err == nil {
		if _, ok := s.tokens.recall(tokenKey{firm, hash}); ok {
			return string(hash[:])
		}
	}
	return s.senderNetwork(r)
}

// ownNetwork is how much of an IPv6 address a network hands out: whoever has one has
// 2^64 addresses, which are to count as one (RFC 6177, 2).
const ownNetwork = 64

// senderNetwork is what counts as one address where it is limited.
func (s *Server) senderNetwork(r *http.Request) string {
	at, err := netip.ParseAddr(s.senderAddress(r))
	if at = at.Unmap(); err != nil || at.Is4() {
		return s.senderAddress(r)
	}
	return netip.PrefixFrom(at.WithZone(""), ownNetwork).Masked().String()
}

// senderAddress is where a request comes from: the connection's other end, or, where
// that is a proxy of ours, whom it says that it speaks for.
func (s *Server) senderAddress(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	said := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(said) - 1; i >= 0 && s.isProxy(host); i-- {
		at, err := netip.ParseAddr(strings.TrimSpace(said[i]))
		if err != nil {
			break
		}
		host = at.WithZone("").String() // which is whatever somebody wrote
	}
	return host
}

// fromProxy reports whether the connection's other end is a proxy of ours.
func (s *Server) fromProxy(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	return err == nil && s.isProxy(host)
}

func (s *Server) isProxy(host string) bool {
	at, err := netip.ParseAddr(host)
	return err == nil && slices.ContainsFunc(s.config.Proxies, func(p netip.Prefix) bool { return p.Contains(at.Unmap()) })
}

// limitRate refuses what comes too fast.
func (s *Server) limitRate(next http.Handler) http.Handler {
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		if !s.senders.allow(s.senderOf(r)) {
			return refuse(http.StatusTooManyRequests, "Too many requests at once: wait a moment and go on.")
		}
		next.ServeHTTP(w, r)
		return nil
	})
}
