package server_test

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"relevel/events/pgdb/pgtest"
	"relevel/server"
	"relevel/server/pgbell"
)

// fleetVariable has each server under test be so many behind a balancer, which sends
// every request to the next of them (`make fleet`).
const fleetVariable = "RELEVEL_TEST_FLEET"

func fleetSize() int {
	n, err := strconv.Atoi(os.Getenv(fleetVariable))
	if err != nil {
		return 1
	}
	return n
}

// balancer sends each request to the next of several servers, as the plainest do.
type balancer struct {
	urls []*url.URL
	next atomic.Uint64
}

// ServeHTTP sends a request to whoever's turn it is.
func (b *balancer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	to := b.urls[b.next.Add(1)%uint64(len(b.urls))]
	proxy := httputil.ReverseProxy{
		Rewrite: func(p *httputil.ProxyRequest) {
			p.SetURL(to)
			p.Out.Host = p.In.Host
			for _, name := range []string{"X-Forwarded-For", "X-Forwarded-Proto"} {
				if said, ok := p.In.Header[name]; ok {
					p.Out.Header[name] = said
				}
			}
		},
		Transport: balanced,
		ErrorLog:  slog.NewLogLogger(slog.DiscardHandler, slog.LevelError),
	}
	proxy.ServeHTTP(w, r)
}

// balanced passes what is packed as it is.
var balanced = &http.Transport{DisableCompression: true, MaxIdleConnsPerHost: 100}

// fleet is several servers on one database and one store of photos.
type fleet struct {
	*site // all of them, behind the balancer
	each  []*site
}

// newFleet starts n servers on a database of their own, with all that works between them.
func newFleet(t *testing.T, n int, change ...func(*server.Config)) fleet {
	t.Helper()
	db := pgtest.New(t)
	return newFleetOn(t, db, n, append([]func(*server.Config){withHooks(t, db), signs}, change...)...)
}

func newFleetOn(t *testing.T, db *pgtest.DB, n int, change ...func(*server.Config)) fleet {
	t.Helper()
	config, err := configOn(db.App, t.TempDir())
	must(t, err)
	f := fleet{site: &site{t: t, db: db, log: &logBook{}}}
	config.Logger = slog.New(slog.NewJSONHandler(f.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	b := &balancer{}
	for range n {
		own := config
		own.Bell = pgbell.New(db.App)
		for _, c := range change {
			c(&own)
		}
		one := &site{t: t, db: db, log: f.log, app: server.New(own)}
		one.Server = httptest.NewServer(one.app)
		at, err := url.Parse(one.URL)
		must(t, err)
		b.urls, f.each = append(b.urls, at), append(f.each, one)
		t.Cleanup(func() { one.app.Close(); one.Server.Close() })
	}
	f.Server = httptest.NewServer(b)
	f.app = f.each[0].app
	for _, one := range f.each[1:] {
		f.others = append(f.others, one.app)
	}
	t.Cleanup(f.Server.Close)
	t.Cleanup(func() {
		for line := range strings.Lines(f.log.String()) {
			if t.Failed() && (strings.Contains(line, `"level":"WARN"`) || strings.Contains(line, `"level":"ERROR"`)) {
				t.Log(line)
			}
		}
	})
	return f
}

// everywhere calls f for a caller at each server.
func (f fleet) everywhere(c *caller, do func(name string, there *caller)) {
	for i, s := range f.each {
		do("server "+strconv.Itoa(i), c.at(s))
	}
}
