package torture_test

import (
	"net"
	"sync"
	"testing"
	"time"
)

// wire stands between a client and a server, and can be broken while something is
// under way on it.
type wire struct {
	listener net.Listener
	dial     func() (net.Conn, error)
	watch    func() watcher // of a new connection; nil: nobody looks

	mu    sync.Mutex
	state wireState
	ends  map[net.Conn]bool
	going sync.WaitGroup
}

// wireState says how a wire is broken. The zero value is whole.
type wireState struct {
	Refuse bool          // hang up at once, on what is open too
	Silent bool          // take everything and pass nothing on, without hanging up
	Mute   bool          // pass requests on, and hang up where an answer comes
	Delay  time.Duration // before each piece, either way
}

// watcher sees what passes on one connection, and says how much of it may go on. When
// it says that this is the end, nothing follows.
type watcher interface {
	up(piece []byte) (pass []byte, end bool)
	down(piece []byte) (pass []byte, end bool)
}

func newWire(t testing.TB, listener net.Listener, dial func() (net.Conn, error)) *wire {
	t.Helper()
	w := &wire{listener: listener, dial: dial, ends: map[net.Conn]bool{}}
	w.going.Go(w.accept)
	t.Cleanup(func() {
		listener.Close()
		w.become(wireState{Refuse: true})
		w.going.Wait()
	})
	return w
}

// become breaks the wire or mends it. What hung on a silent one is dead.
func (w *wire) become(s wireState) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if s.Refuse || w.state.Silent {
		for c := range w.ends {
			c.Close()
		}
	}
	w.state = s
}

func (w *wire) now() wireState {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.state
}

// hold notes an end of a connection, unless the wire hangs up just now.
func (w *wire) hold(c net.Conn) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.ends[c] = true
	return !w.state.Refuse
}

func (w *wire) drop(c net.Conn) {
	c.Close()
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.ends, c)
}

func (w *wire) accept() {
	for {
		client, err := w.listener.Accept()
		if err != nil {
			return
		}
		w.going.Go(func() { w.serve(client) })
	}
}

func (w *wire) serve(client net.Conn) {
	defer w.drop(client)
	if !w.hold(client) {
		return
	}
	for w.now().Silent { // connected, as far as the client knows
		if !w.idle(client) {
			return
		}
	}
	server, err := w.dial()
	if err != nil {
		return
	}
	defer w.drop(server)
	if !w.hold(server) {
		return
	}
	up, down := unwatched, unwatched
	if w.watch != nil {
		eyes := w.watch()
		up, down = eyes.up, eyes.down
	}
	w.going.Go(func() {
		w.pass(client, server, true, down)
		client.Close() // ends the other direction
	})
	w.pass(server, client, false, up)
	server.Close()
}

func unwatched(piece []byte) ([]byte, bool) { return piece, false }

// idle waits a moment on a connection that nobody answers.
func (w *wire) idle(c net.Conn) bool {
	time.Sleep(10 * time.Millisecond)
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.ends[c] && !w.state.Refuse
}

// pass copies one direction until it ends or is broken.
func (w *wire) pass(to, from net.Conn, answers bool, look func([]byte) ([]byte, bool)) {
	piece := make([]byte, 32<<10)
	for {
		n, err := from.Read(piece)
		s := w.now()
		if s.Mute && answers && n > 0 {
			return
		}
		if err != nil {
			return
		}
		if s.Silent {
			continue
		}
		time.Sleep(s.Delay)
		some, end := look(piece[:n])
		if _, err := to.Write(some); err != nil || end {
			return
		}
	}
}
