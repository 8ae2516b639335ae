// Package server is the HTTP face of the program: the API under /api/v1 that
// phones and programs use, and the pages people look at.
//
// It keeps nothing that cannot be lost. The log, the store and the photos are
// reached through their interfaces; several servers may stand in front of the
// same ones.
package server

import (
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/gorilla/mux"
	"golang.org/x/sync/singleflight"
	"golang.org/x/time/rate"

	"relevel/events"
	"relevel/events/proof"
	"relevel/jobs"
	"relevel/server/hooks"
	"relevel/server/passwords"
	"relevel/server/pictures"
	"relevel/server/signing"
	"relevel/server/watch"
	"relevel/server/web"
)

// Config is everything a Server needs. Log, Store, Photos and Album are required;
// what else is left empty gets its usual value.
type Config struct {
	Log    events.Log
	Store  jobs.Store
	Photos *events.Photos
	Album  *pictures.Album // over the same photos

	Now     func() time.Time // the wall clock
	Random  io.Reader        // for ids, used by many goroutines; crypto/rand
	Logger  *slog.Logger
	Meter   watch.Meter  // counts what is done; nil where nobody does
	Tracer  watch.Tracer // likewise
	Version string
	Root    []byte // the certificate, DER, that browsers have to trust; nil where another signs
	Checks  []Check
	Limits  Limits
	Phone   *web.PhoneApp // the one that this program was built with

	Verifier *web.Verifier // likewise
	Office   *web.Office   // the same of the office's scripts

	Passwords *passwords.Hasher
	Mail      Mailer         // nil where links are shown to copy
	URL       string         // where people reach the server, for letters
	Proxies   []netip.Prefix // whose word counts for where a request comes from
	Bell      Bell           // nil where no other server is to be woken
	Tasks     Tasks          // nil where nobody looks for what is due: then hooks are told nothing
	Hooks     hooks.Guard    // which addresses may be told beside public ones

	Checkpoints proof.Store   // where what was signed is kept
	Keys        *signing.Ring // nil where nothing is signed
	SignAfter   time.Duration // between an append and its checkpoint
}

// Check is one thing that readiness asks for, such as "database". If Needed is
// false the server works without it, more or less, and says so.
type Check struct {
	Name   string
	Needed bool
	Run    func(context.Context) error
}

// Server answers HTTP requests. Make one with New and end it with Close.
type Server struct {
	config  Config
	router  *mux.Router
	handler http.Handler // the router, and what goes before it
	tokens  *tokens
	senders *senders
	doors   doors
	linked  linked
	packed  packedBefore
	trail   *trail
	nowhere events.ID // no firm's

	states    *states
	summaries *summaries
	kept      *keptLines
	stays     *stays
	opened    openedBooks
	photos    photoSets          // that owners see
	asking    singleflight.Group // for lines of day sheets
	phones    *phones
	books     *books
	hub       *hub
	refolds   chan struct{} // held by those who fold a whole log for one answer
	hooks     *hookWork     // nil without Tasks
	signs     *signWork     // nil without keys
	imports   *turns        // of those who read a sheet into a job
	packs     *packWork

	// problemPage shows a problem to a person on a page; nil shows everybody JSON.
	problemPage func(w http.ResponseWriter, r *http.Request, p Problem)

	leaving leaving
	closing context.Context // ends when the server closes
	close   context.CancelFunc
	running sync.WaitGroup
}

// maxRefolds bounds how many whole logs are in memory for one answer each.
const maxRefolds = 2

// New wires a server and starts what it does in the background.
func New(c Config) *Server {
	c = c.withDefaults()
	s := &Server{
		config:  c,
		tokens:  &tokens{store: c.Store, now: c.Now, known: map[tokenKey]knownToken{}},
		senders: &senders{limit: c.Limits.Rate, burst: c.Limits.Burst, known: map[string]*rate.Limiter{}},
		doors:   newDoors(c),
		trail:   newTrail(c),
	}
	rand.Read(s.nowhere[:])
	s.phones = newPhones(c.Store, c.Logger)
	s.states = newStates(c.Log, c.Store, c.Limits.States)
	s.states.heard, s.states.meter, s.states.trace = s.phones.hearAll, c.Meter, c.Tracer
	s.summaries = newSummaries(s.states, c.Store, c.Logger)
	s.kept, s.stays = newKeptLines(), newStays()
	s.opened.log = c.Log
	s.books = newBooks(c.Log, s.states, c.Store, c.Logger)
	s.hub = newHub(c)
	s.summaries.told = s.hub.publishRow
	s.refolds = make(chan struct{}, maxRefolds)
	s.trail.address = s.senderAddress
	s.imports = newTurns()
	s.hooks = newHookWork(c)
	s.signs = newSignWork(c)
	s.packs = newPackWork(s, c)
	s.leaving.begun = make(chan struct{})
	s.closing, s.close = context.WithCancel(context.Background())
	s.running.Go(func() { s.summaries.behind.run(s.closing) })
	s.running.Go(func() { s.phones.behind.run(s.closing) })
	s.running.Go(func() { s.books.behind.run(s.closing) })
	s.running.Go(func() { s.hub.run(s.closing) })
	s.running.Go(func() { s.trail.behind.run(s.closing) })
	s.running.Go(func() { s.hooks.run(s.closing) })
	s.running.Go(func() { s.signs.run(s.closing) })
	s.running.Go(func() { s.packs.run(s.closing) })
	s.handler = s.routes()
	return s
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Drain prepares for Close: from now on the server is not ready, and answers all the
// same, so that a balancer sends nothing more here. Live streams are told to come again
// and end one by one, before so long has passed.
func (s *Server) Drain(within time.Duration) { s.leaving.begin(time.Now(), within) }

// Close ends all live streams and what runs in the background, and returns
// when that is done. An http.Server calls it by RegisterOnShutdown, because it
// does not end streams by itself. Requests may still be answered afterwards.
func (s *Server) Close() {
	s.close()
	s.running.Wait()
}

func (c Config) withDefaults() Config {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Random == nil {
		c.Random = rand.Reader
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	c.Logger = slog.New(watch.Lines(c.Logger.Handler()))
	if c.Meter == nil {
		c.Meter = watch.Unmetered{}
	}
	if c.Tracer == nil {
		c.Tracer = watch.Untraced{}
	}
	if c.Phone == nil {
		c.Phone = web.BuiltPhone()
	}
	if c.Office == nil {
		c.Office = web.BuiltOffice()
	}
	if c.Verifier == nil {
		c.Verifier = web.BuiltVerifier()
	}
	if c.Passwords == nil {
		c.Passwords = passwords.New(hashAtOnce)
	}
	c.Limits = c.Limits.withDefaults()
	return c
}
