package server

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"net/http"
	"runtime/debug"
	"strings"
	"time"
)

// wrap puts around the routes what every request goes through, the outermost
// last.
func (s *Server) wrap(h http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(s.answer(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusForbidden, "A page of another site sent this.")
	}))
	h = s.needTLS(h)
	h = s.limitTime(h)
	h = origin.Handler(h)
	h = s.limitRate(h)
	h = s.recoverPanic(h)
	h = secureHeaders(h)
	h = s.watchRequest(h)
	h = compress(h)
	h = s.tellTime(h)
	return s.nameRequest(h)
}

// timeHeader carries the server's clock, so that a phone knows how far off its own
// is. Date, which all answers have, knows whole seconds alone.
const (
	timeHeader = "Relevel-Time"
	timeFormat = "2006-01-02T15:04:05.000Z"
)

// tellTime puts the time at which an answer of the API begins into its header: what
// came before, such as a batch that was long in coming, is no error of a clock.
func (s *Server) tellTime(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/api/v1/") {
			w = &clock{ResponseWriter: w, now: s.config.Now}
		}
		next.ServeHTTP(w, r)
	})
}

// clock notes the time in an answer as it begins.
type clock struct {
	http.ResponseWriter
	now   func() time.Time
	began bool
}

func (c *clock) WriteHeader(status int) {
	if !c.began {
		c.began = true
		c.Header().Set(timeHeader, c.now().UTC().Format(timeFormat))
	}
	c.ResponseWriter.WriteHeader(status)
}

func (c *clock) Write(b []byte) (int, error) {
	if !c.began {
		c.WriteHeader(http.StatusOK)
	}
	return c.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController reach the connection.
func (c *clock) Unwrap() http.ResponseWriter { return c.ResponseWriter }

// recoverPanic turns a bug into one internal error. If the answer has begun
// nothing honest can follow, and the connection is cut.
func (s *Server) recoverPanic(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			bug := recover()
			if bug == nil {
				return
			}
			if bug == http.ErrAbortHandler {
				panic(bug)
			}
			s.config.Meter.Panicked("request")
			err := fmt.Errorf("panic: %v\n%s", bug, bytes.TrimSpace(debug.Stack()))
			if seen, ok := w.(*watcher); ok && seen.status != 0 {
				s.config.Logger.ErrorContext(r.Context(), "internal error", "err", err)
				panic(http.ErrAbortHandler)
			}
			s.fail(w, r, err)
		}()
		next.ServeHTTP(w, r)
	})
}

// What every answer carries. All answers share these lists: whoever sets another value in
// a header puts another list there, and who adds one gets a longer copy.
var (
	secure = http.Header{
		"X-Content-Type-Options":       {"nosniff"},
		"X-Frame-Options":              {"DENY"},
		"Referrer-Policy":              {"no-referrer"},
		"Cross-Origin-Opener-Policy":   {"same-origin"},
		"Cross-Origin-Resource-Policy": {"same-origin"},
		"Cache-Control":                {"no-store"},
		"Permissions-Policy":           {noPermissions},
	}
	policyOfPages = []string{pagePolicy}
	policyOfAPI   = []string{apiPolicy}
)

// secureHeaders sets what every answer carries. Pages run scripts and styles of
// this server only; answers of the API run nothing at all.
func secureHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		maps.Copy(h, secure)
		h["Content-Security-Policy"] = policyOfPages
		if strings.HasPrefix(r.URL.Path, "/api/") {
			h["Content-Security-Policy"] = policyOfAPI
		}
		if isHTTPS(r) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

const (
	apiPolicy  = "default-src 'none'; frame-ancestors 'none'"
	pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; worker-src 'none'; " +
		"base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

	// Pages ask for nothing of the device they are on: the phone's app alone does.
	noPermissions = "camera=(), microphone=(), geolocation=(), display-capture=(), screen-wake-lock=(), payment=(), usb=()"
)

// limitTime bounds how long a request may take, from the first byte of its body
// to the last of its answer.
func (s *Server) limitTime(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if isStream(r) {
			next.ServeHTTP(w, r)
			return
		}
		limit := s.config.Limits.Timeout
		if isLarge(r) {
			limit *= 10 // over one bar of signal
		}
		deadline := time.Now().Add(limit)
		control := http.NewResponseController(w)
		// What stands in front of the connection in a test has no deadlines.
		_ = control.SetReadDeadline(deadline)
		_ = control.SetWriteDeadline(deadline.Add(time.Second))
		ctx, cancel := context.WithDeadline(r.Context(), deadline)
		defer cancel()
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// isLarge reports whether a request may move megabytes: a photo, the phone's app, or a
// job as a file.
func isLarge(r *http.Request) bool {
	return r.Method == http.MethodPut || strings.HasSuffix(r.URL.Path, "/export.json") || strings.HasSuffix(r.URL.Path, "/bundle.zip") || strings.HasSuffix(r.URL.Path, "/book.csv") || strings.HasPrefix(r.URL.Path, phonePath) ||
		r.Method == http.MethodPost && strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data")
}

// isStream reports whether a request is for a live stream, which goes on for
// as long as somebody listens.
func isStream(r *http.Request) bool { return strings.HasSuffix(r.URL.Path, "/live") }
