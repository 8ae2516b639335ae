package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"relevel/server"
	"relevel/server/pictures"
	"relevel/server/smtpmail"
)

// Limits of the HTTP server. How long a request may take, the server bounds
// itself, by what is asked.
const (
	headerTime  = 10 * time.Second
	idleTime    = 2 * time.Minute
	headerBytes = 64 << 10
	// finishTime is how long requests may go on once no new ones are taken.
	finishTime = 20 * time.Second
	// pictureMemory bounds what is spent on making photos smaller: two at a
	// time from a phone's camera, inside a server of 150 MiB.
	pictureMemory = 64 << 20
)

// instance is a running server and everything behind it.
type instance struct {
	url     string
	stores  *stores
	plain   *plainDoor // nil unless plain http leads over to https elsewhere
	private *private   // nil unless there is a port for those who run the server
	backups string     // the folder of which that port says how far it reaches, "" for none
	data    string     // the data folder, of whose disk it says how much room is left

	log    *slog.Logger
	server *server.Server
	http   *http.Server
	ended  chan error // why it no longer serves

	background sync.WaitGroup
	stop       context.CancelFunc // of what runs in the background
}

// start takes the address, opens the stores and serves.
func start(ctx context.Context, set settings, address string, log *slog.Logger) (*instance, error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("take the address: %w", err)
	}
	s, err := openStores(ctx, set, log)
	if err != nil {
		listener.Close()
		return nil, err
	}
	keys, err := serverKeys(set, log)
	if err != nil {
		return nil, errors.Join(err, listener.Close(), s.Close())
	}
	background, stop := context.WithCancel(context.Background())
	front, err := openFront(background, set, listener, log) // after the stores, which make the data folder
	if err != nil {
		stop()
		return nil, errors.Join(err, listener.Close(), s.Close())
	}
	i := &instance{url: front.url, stores: s, plain: front.plain, backups: set.backups, data: set.data, log: log, ended: make(chan error, 1), stop: stop}
	config := server.Config{
		Log: s.log, Store: s.jobs, Photos: s.photos, Album: pictures.NewAlbum(s.photos, pictures.NewMaker(pictureMemory)),
		Logger: log, Version: version, Checks: s.checks, Root: front.root, URL: set.url, Proxies: set.proxies,
		Bell: s.bell, Tasks: s.tasks, Hooks: set.hooks, Checkpoints: s.proofs, Keys: keys,
	}
	if set.mail != nil {
		config.Mail = smtpmail.New(*set.mail)
	}
	figures := countedIn(&config, set)
	tracedIn(&config, s.traces)
	i.server = server.New(config)
	i.http = &http.Server{
		Handler: i.server, ReadHeaderTimeout: headerTime, IdleTimeout: idleTime, MaxHeaderBytes: headerBytes,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	i.http.RegisterOnShutdown(i.server.Close)
	if err := i.openPrivate(background, set.private, figures); err != nil {
		return nil, errors.Join(err, front.Close(), i.Close())
	}
	go func() { i.ended <- i.http.Serve(front) }()
	i.startSweeping(background)
	return i, nil
}

// hostOf is where a browser on this machine finds a listener.
func hostOf(l net.Listener) string {
	at := l.Addr().(*net.TCPAddr)
	if at.IP.IsUnspecified() {
		return fmt.Sprintf("localhost:%d", at.Port)
	}
	return at.String()
}

// wait returns when ctx ends, without an error, or when the server cannot go on.
func (i *instance) wait(ctx context.Context) error {
	var postgres <-chan struct{} // never, when it is not ours
	if i.stores.postgres != nil {
		postgres = i.stores.postgres.Done()
	}
	select {
	case <-ctx.Done():
		return nil
	case err := <-i.ended:
		return fmt.Errorf("serve: %w", err)
	case <-postgres:
		return fmt.Errorf("the private Postgres has ended: %w", i.stores.postgres.Err())
	}
}

// Drain says to whoever asks /readyz that this server is leaving, and goes on for so
// long, so that a balancer sees it before the address is closed.
func (i *instance) Drain(within time.Duration) {
	i.server.Drain(within)
	time.Sleep(within)
}

// Close lets running requests finish, then closes what is behind them.
func (i *instance) Close() error {
	ctx, cancel := context.WithTimeout(context.Background(), finishTime)
	defer cancel()
	err := i.http.Shutdown(ctx)
	if err != nil {
		err = errors.Join(fmt.Errorf("finish running requests: %w", err), i.http.Close())
	}
	i.server.Close()
	i.stop()
	i.background.Wait()
	return errors.Join(err, i.plain.Close(), i.private.Close(), i.stores.Close())
}
