package torture_test

import (
	"math/rand/v2"
	"syscall"
	"testing"
)

// The server is killed at some of the operations it does on its wires to Postgres and S3
// while it takes records and a photo in and signs; `make torture` has all of them.
func TestFailpoints(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	dice := rand.New(rand.NewPCG(1, 0))
	for range 4 {
		w.strike(1+dice.Int64N(30), phase(dice.IntN(3)))
	}
}

// strike kills the server at an operation while a phone is served, and looks when it is
// back. It reports whether the run came as far as that operation.
func (w *world) strike(at int64, when phase) (sprung bool) {
	w.t.Helper()
	c := w.newFirm(1)
	phone := &phone{crew: c, job: c.jobs[0], id: c.newID(), by: c.newID()}
	photos := &photographer{crew: c}
	w.within(recovery, "the server is ready", w.ready)
	server := w.process()
	trap := &trap{at: at, when: when, kill: func() { server.cmd.Process.Signal(syscall.SIGKILL) }}
	w.trap.Store(trap)
	w.s3.trap.Store(trap)
	c.serveOnce(phone, photos, trap)
	w.trap.Store(nil)
	w.s3.trap.Store(nil)
	sprung = trap.over()
	if sprung {
		w.killServer()
		w.startServer()
	}
	c.serveOnce(phone, photos, nil)
	c.photosSafe()
	c.headsSigned()
	for _, fault := range c.audit() {
		w.t.Errorf("killed %s operation %d: %s", when, at, fault)
	}
	return sprung
}

// serveOnce does all that a server does for a phone: two batches, of which the second has
// what is repeated and what is to be kept apart, a photo until it is durable, and a
// checkpoint over it all. It breaks off when the trap has sprung.
func (c *crew) serveOnce(p *phone, photos *photographer, t *trap) {
	c.t.Helper()
	for range 2 {
		if p.batch == nil {
			p.fill(true, true)
		}
		c.until(t, "a batch is acknowledged", func() bool { p.send(); return p.batch == nil })
	}
	c.until(t, "a photo is durable", func() bool { photos.send(); return photos.photo == nil })
	c.until(t, "a head is signed", func() bool { c.witness(p.job); return c.seen() })
}

// until repeats something until it is so, or the trap has sprung.
func (c *crew) until(t *trap, what string, ok func() bool) {
	c.t.Helper()
	c.within(recovery, what, func() bool { return t.over() || ok() })
}

// seen reports whether anybody saw a checkpoint.
func (c *crew) seen() bool {
	c.book.Lock()
	defer c.book.Unlock()
	return len(c.notes) > 0
}
