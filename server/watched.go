package server

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/server/watch"
)

type requestKey struct{}

// asked is a request on its way. What is learned of it further in, its line in the log,
// its figures and its span say when it is over.
type asked struct {
	id    string
	route string // the pattern of its address
	by    asker  // nobody until it is found out
	about *watch.About
}

func askedBy(r *http.Request) *asked {
	a, _ := r.Context().Value(requestKey{}).(*asked)
	return a
}

// requestID is the name under which a request stands in the log.
func requestID(r *http.Request) string {
	if a := askedBy(r); a != nil {
		return a.id
	}
	return ""
}

// nameRequest gives each request an id of our own, so that nobody can write
// theirs into our log.
func (s *Server) nameRequest(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var b [8]byte
		if _, err := io.ReadFull(s.config.Random, b[:]); err != nil {
			s.config.Logger.ErrorContext(r.Context(), "no randomness for a request's id", "err", err)
		}
		a := &asked{id: hex.EncodeToString(b[:]), route: noRoute}
		w.Header().Set("X-Request-Id", a.id)
		ctx := context.WithValue(r.Context(), requestKey{}, a)
		ctx, a.about = watch.Begin(ctx, slog.String(watch.Request, a.id))
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// noRoute stands for all addresses where there is nothing: they are without number.
const noRoute = "none"

// noteRoute is between the router and what it found: it alone knows the pattern of an
// address, by which requests are counted, and which job it names.
func noteRoute(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if a := askedBy(r); a != nil {
			if pattern, err := mux.CurrentRoute(r).GetPathTemplate(); err == nil {
				a.route = pattern
			}
			if job, err := events.ParseID(mux.Vars(r)["job"]); err == nil {
				a.about.Set(watch.Job, job.String())
			}
		}
		next.ServeHTTP(w, r)
	})
}

// watchRequest writes one line a request: neither query nor header, where secrets could
// be. It counts it, and traces it, too.
func (s *Server) watchRequest(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start, a := time.Now(), askedBy(r)
		ctx, span := s.config.Tracer.Start(s.joined(r), methodOf(r), slog.String(watch.Request, a.id))
		if id := span.Trace(); id != "" {
			a.about.Set(watch.Trace, id)
		}
		s.config.Meter.Began()
		seen, body := &watcher{ResponseWriter: w}, &metered{ReadCloser: r.Body}
		if ctx != r.Context() {
			r = r.WithContext(ctx)
		}
		if r.Body != nil && r.Body != http.NoBody {
			r.Body = body
		}
		defer func() { // an answer that is broken off is one, too
			s.answered(r, watch.Answer{
				Route: a.route, Method: methodOf(r), Status: seen.status, Took: time.Since(start),
				In: body.bytes, Out: seen.bytes, Stream: isStream(r),
			})
			span.Name(methodOf(r) + " " + a.route)
			span.Say(append(a.about.Attrs(), slog.String("route", a.route), slog.Int("status", seen.status))...)
			span.End(failedAs(seen.status))
		}()
		next.ServeHTTP(seen, r)
	})
}

// joined is the context of a request in the trace that its sender says that it belongs
// to, if that is a proxy of ours. From anybody else such a header would let strangers
// decide what is traced, and tie their traces into ours.
func (s *Server) joined(r *http.Request) context.Context {
	if s.fromProxy(r) {
		return s.config.Tracer.Join(r.Context(), r.Header)
	}
	return r.Context()
}

func (s *Server) answered(r *http.Request, a watch.Answer) {
	s.config.Meter.Answered(a)
	level := slog.LevelInfo
	if isHealth(r) && a.Status < http.StatusBadRequest {
		level = slog.LevelDebug // it is asked all day
	}
	s.config.Logger.Log(r.Context(), level, "request",
		"method", r.Method, "path", loggedPath(r),
		"status", a.Status, "bytes", a.Out, "ms", a.Took.Milliseconds(), "route", a.Route)
}

// failedAs is what a span says of an answer by which something failed here.
func failedAs(status int) error {
	if status < http.StatusInternalServerError {
		return nil
	}
	return fmt.Errorf("answered %d", status)
}

var methods = []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodOptions, http.MethodDelete}

// methodOf is the method of a request as it is counted: one that somebody made up would
// be a name of its own.
func methodOf(r *http.Request) string {
	if slices.Contains(methods, r.Method) {
		return r.Method
	}
	return "other"
}

// loggedPath is a path as it may be read by whoever reads the log: the token of a
// calendar stands in it, because calendars send nothing else.
func loggedPath(r *http.Request) string {
	if strings.HasPrefix(path.Clean("/"+r.URL.Path)+"/", calendarPath) {
		return calendarPath
	}
	return r.URL.Path
}

// metered counts what is read of a body.
type metered struct {
	io.ReadCloser
	bytes int64
}

func (m *metered) Read(p []byte) (int, error) {
	n, err := m.ReadCloser.Read(p)
	m.bytes += int64(n)
	return n, err
}

// watcher notes what was answered.
type watcher struct {
	http.ResponseWriter
	status int
	bytes  int64
}

func (w *watcher) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *watcher) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += int64(n)
	return n, err
}

// Unwrap lets http.ResponseController reach the connection.
func (w *watcher) Unwrap() http.ResponseWriter { return w.ResponseWriter }
