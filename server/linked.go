package server

import (
	"net/http"
	"net/url"
	"strings"
	"sync"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/server/web"
)

// limitedWriter answers somebody who may not use everything.
type limitedWriter struct {
	http.ResponseWriter
	may func(address string) bool
}

// Unwrap lets http.ResponseController reach the connection.
func (w limitedWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// permitted is a page without the links that whoever it is for may not follow.
func permitted(w http.ResponseWriter, page []byte) []byte {
	if limited, ok := w.(limitedWriter); ok {
		return web.WithoutLinks(page, limited.may)
	}
	return page
}

// sendPage sends a page or a part of one.
func sendPage(w http.ResponseWriter, status int, page []byte) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(permitted(w, page)) // a reader that has gone away is no error
}

// mayOpen tells of links whether whoever asks may follow them, so that a page shows no
// others.
func (s *Server) mayOpen(a asker) func(address string) bool {
	return func(address string) bool {
		u, err := url.Parse(address)
		if err != nil || u.Host != "" || !strings.HasPrefix(u.Path, "/") {
			return err == nil
		}
		return a.may(s.linked.use(s.router, u.Path))
	}
}

// mostShapes is for how many shapes of addresses it is remembered who may use them.
const mostShapes = 4096

// linked remembers who may use the addresses that pages link to. A page can have
// thousands, and finding the route of one tries all routes; but they have few shapes.
type linked struct {
	mu    sync.Mutex
	known map[string]use
}

// use finds who may use what is linked to.
func (l *linked) use(router *mux.Router, path string) use {
	shape := shapeOf(path)
	l.mu.Lock()
	defer l.mu.Unlock()
	if u, ok := l.known[shape]; ok {
		return u
	}
	if len(l.known) >= mostShapes || l.known == nil {
		l.known = map[string]use{}
	}
	u := byAll // an address that leads nowhere keeps no secret
	asked := &http.Request{Method: http.MethodGet, URL: &url.URL{Path: path}}
	var match mux.RouteMatch
	if router.Match(asked, &match) && match.MatchErr == nil {
		u = useOf(asked, match.Route, match.Vars["kind"])
	}
	l.known[shape] = u
	return u
}

// shapeOf is a path without the ids in it, which no route looks at.
func shapeOf(path string) string {
	parts := strings.Split(path, "/")
	for i, part := range parts {
		if len(part) != idLength {
			continue
		}
		if _, err := events.ParseID(part); err == nil {
			parts[i] = "id"
		}
	}
	return strings.Join(parts, "/")
}

// idLength is that of an id as it is written.
const idLength = 36
