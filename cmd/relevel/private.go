package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/pprof"
	"time"

	"relevel/deploy/backups"
	"relevel/server"
	"relevel/server/census"
	"relevel/server/census/pgcensus"
	"relevel/server/metrics"
	"relevel/server/watch"
)

// checkEvery is how often it is looked whether what the server needs answers.
const checkEvery = 15 * time.Second

// backupsEvery is how often it is looked how far the backups reach.
const backupsEvery = 5 * time.Minute

// private is a port for those who run the server: figures, profiles, and how it is. It
// asks nobody who they are, so it is for this machine or a network of its own.
type private struct {
	url  string
	http *http.Server
	log  *slog.Logger
}

// countedIn has what a server is going to do counted, where there is a port at which
// somebody may ask for it; nil where there is none.
func countedIn(c *server.Config, set settings) *metrics.Metrics {
	if set.private == "" {
		return nil
	}
	m := metrics.New(version)
	c.Meter = m
	c.Photos.Objects = watch.Objects(c.Photos.Objects, m, watch.Untraced{})
	return m
}

// openPrivate opens the port for those who run the server, unless there are no figures.
func (i *instance) openPrivate(ctx context.Context, address string, m *metrics.Metrics) (err error) {
	if m == nil {
		return nil
	}
	i.watchedBy(ctx, m)
	i.private, err = listenPrivate(address, privateHandler(m.Handler(), i.server.Health()), i.log)
	return err
}

// listenPrivate takes the address.
func listenPrivate(address string, h http.Handler, log *slog.Logger) (*private, error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("take the private address: %w", err)
	}
	p := &private{url: "http://" + hostOf(listener), log: log, http: &http.Server{
		Handler: h, ReadHeaderTimeout: headerTime, IdleTimeout: idleTime, MaxHeaderBytes: headerBytes,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}}
	if at := listener.Addr().(*net.TCPAddr); !at.IP.IsLoopback() {
		log.Warn("the private port can be reached from other machines, and asks nobody who they are", "address", at.String())
	}
	go func() {
		if err := p.http.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			log.Error("the private port is closed", "err", err)
		}
	}()
	return p, nil
}

// Close ends what is asked there, too: a profile may take minutes.
func (p *private) Close() error {
	if p == nil {
		return nil
	}
	return p.http.Close()
}

// privateHandler is all that is served there.
func privateHandler(figures, health http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", figures)
	mux.Handle("GET /healthz", health)
	mux.Handle("GET /readyz", health)
	mux.HandleFunc("GET /debug/pprof/", pprof.Index)
	mux.HandleFunc("GET /debug/pprof/cmdline", pprof.Cmdline)
	mux.HandleFunc("GET /debug/pprof/profile", pprof.Profile)
	mux.HandleFunc("GET /debug/pprof/symbol", pprof.Symbol)
	mux.HandleFunc("GET /debug/pprof/trace", pprof.Trace)
	return mux
}

// watchedBy has what a server does counted, and says how often and by whom.
func (i *instance) watchedBy(ctx context.Context, m *metrics.Metrics) {
	s := i.stores
	m.Watch(i.server.Vitals)
	m.WatchLog(func() metrics.Ways { return metrics.Ways(s.log.Counts()) })
	pools := map[string]metrics.Pool{"app": {Stat: s.db.Pool().Stat, Repeats: s.db.Repeats}}
	if s.worker == nil {
		m.WatchFirms(nil)
	} else {
		pools["worker"] = metrics.Pool{Stat: s.worker.Pool().Stat, Repeats: s.worker.Repeats}
		firms := census.NewReader(func(ctx context.Context) (census.Census, error) { return pgcensus.Count(ctx, s.worker) }, i.log)
		m.WatchFirms(firms.Latest)
		i.background.Go(func() { firms.Run(ctx) })
	}
	m.WatchPools(pools)
	checks, disks := m.Checks(), m.Disks()
	i.nowAndAgain(ctx, "checks", checkEvery, func(ctx context.Context) { i.look(ctx, checks) })
	i.nowAndAgain(ctx, "disks", disksEvery, func(ctx context.Context) { i.lookAtDisks(ctx, disks) })
	if i.backups != "" {
		reach := m.Backups()
		i.nowAndAgain(ctx, "backups", backupsEvery, func(ctx context.Context) { i.lookAtBackups(ctx, reach, disks) })
	}
}

// nowAndAgain looks at something in the background, at once and again after each pause,
// until ctx ends. Its lines in the log name the work.
func (i *instance) nowAndAgain(ctx context.Context, work string, pause time.Duration, look func(ctx context.Context)) {
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, work))
	i.background.Go(func() {
		tick := time.NewTicker(pause)
		defer tick.Stop()
		for {
			look(ctx)
			select {
			case <-tick.C:
			case <-ctx.Done():
				return
			}
		}
	})
}

// lookAtBackups looks how far the backups reach, and how much room is left for more: by
// itself, for their folder may be on another machine that does not answer.
func (i *instance) lookAtBackups(ctx context.Context, reach *metrics.Backups, disks *metrics.Disks) {
	at, err := backups.Reach(i.backups)
	switch {
	case err == nil:
		reach.Set(at)
	case errors.Is(err, backups.ErrNone):
		reach.None()
	default: // it stays as old as it was
		i.log.WarnContext(ctx, "the backups could not be looked at", "err", err)
	}
	i.lookAtDisk(ctx, disks, "backups", i.backups)
}

// look looks whether what the server needs answers.
func (i *instance) look(ctx context.Context, checks *metrics.Checks) {
	i.server.Look(ctx, func(c server.Check, err error) {
		if ctx.Err() == nil {
			checks.Set(c.Name, err == nil)
		}
	})
}
