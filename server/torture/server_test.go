package torture_test

import (
	"bufio"
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/s3photos"
	"relevel/events/scrub"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/pictures"
	"relevel/server/signing"
	"relevel/server/tasks/pgtasks"
)

// orders say to a server process what it serves.
type orders struct {
	App, Worker string // addresses of the database for two roles
	Bucket      s3photos.Config
	Keys, Spool string
}

// How much sooner than usual a server under torture does what it does behind the
// requests.
const (
	signSoon   = 50 * time.Millisecond
	sweepSoon  = 300 * time.Millisecond
	scrubAfter = 2 * time.Second
	sweepFiles = 50
)

// steppedClock is a clock that can be set.
type steppedClock struct{ ahead atomic.Int64 }

func (c *steppedClock) now() time.Time { return time.Now().Add(time.Duration(c.ahead.Load())) }

// obey sets the clock as the lines of stdin say, and ends the process with them: whoever
// started it is gone then.
func (c *steppedClock) obey() {
	for lines := bufio.NewScanner(os.Stdin); lines.Scan(); {
		if d, err := time.ParseDuration(lines.Text()); err == nil {
			c.ahead.Store(int64(d))
		}
	}
	os.Exit(0)
}

// serve is a server as the program wires it. It prints its address.
func serve(o orders) {
	ctx := context.Background()
	app, err := pgdb.Open(ctx, o.App)
	orPanic(err)
	worker, err := pgdb.Open(ctx, o.Worker)
	orPanic(err)
	clock := &steppedClock{}
	go clock.obey()
	bucket, err := s3photos.New(o.Bucket)
	orPanic(err)
	ring, err := signing.OpenRing(o.Keys, "relevel.example", time.Now(), rand.Reader)
	orPanic(err)
	photos := &events.Photos{Objects: bucket, Ledger: pglog.NewLedger(app), Spool: o.Spool}
	config := server.Config{
		Log: pglog.New(app), Store: pgjobs.New(app), Photos: photos,
		Album:       pictures.NewAlbum(photos, pictures.NewMaker(pictures.DefaultMemory)),
		Checkpoints: pgproof.New(app), Keys: ring, SignAfter: signSoon,
		Tasks: pgtasks.New(app, worker, clock.now, rand.Reader),
		Now:   clock.now, Version: "test", Limits: server.Limits{Rate: -1},
		Logger: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: logLevel()})),
		Checks: []server.Check{
			{Name: "database", Needed: true, Run: app.Ping},
			{Name: "photos", Run: bucket.EnsureBucket},
		},
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	orPanic(err)
	fmt.Println(listener.Addr())
	go sweep(ctx, photos, worker)
	panic(http.Serve(listener, server.New(config)))
}

// logLevel leaves out warnings, since torture brings no end of them, unless TORTURE_LOG
// asks for them.
func logLevel() slog.Level {
	if os.Getenv("TORTURE_LOG") != "" {
		return slog.LevelWarn
	}
	return slog.LevelError
}

func orPanic(err error) {
	if err != nil {
		panic(err)
	}
}

// sweep reads photos back as the program does, whatever the clock says.
func sweep(ctx context.Context, photos *events.Photos, worker *pgdb.DB) {
	s := &scrub.Scrubber{Photos: photos}
	for ; ; time.Sleep(sweepSoon) {
		rows, err := worker.Pool().Query(ctx, `SELECT DISTINCT firm FROM head`)
		if err != nil {
			continue
		}
		firms, err := pgx.CollectRows(rows, pgx.RowTo[[16]byte])
		if err != nil {
			continue
		}
		for _, firm := range firms {
			for _, state := range []events.FileState{events.FileStored, events.FileDurable, events.FileReceived} {
				before := time.Now().Add(24 * time.Hour) // those that a clock was ahead for, too
				if state == events.FileDurable {
					before = time.Now().Add(-scrubAfter)
				}
				_, _ = s.Firm(ctx, events.KeptQuery{Firm: firm, State: state, Before: before, Limit: sweepFiles}, time.Now())
			}
		}
	}
}
