package s3test

import (
	"io"
	"net"
	"sync"
	"testing"
	"time"
)

// Proxy stands between a client and a server and can break what passes.
type Proxy struct {
	listener net.Listener
	target   string

	mu    sync.Mutex
	fault Fault
	conns map[net.Conn]bool
}

// Fault is a way for a connection to be broken. The zero value is none.
type Fault struct {
	Refuse    bool          // hang up at once
	Silent    bool          // take everything, pass nothing on
	CutUp     int64         // reset after so many bytes from the client; 0 is never
	CutDown   int64         // reset after so many bytes from the server; 0 is never
	CutOnce   bool          // heal after the first cut
	DelayDown time.Duration // before each piece of an answer
}

// NewProxy starts a proxy to a server's host and port. It stops with the test.
func NewProxy(t testing.TB, target string) *Proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &Proxy{listener: l, target: target, conns: make(map[net.Conn]bool)}
	var wg sync.WaitGroup
	wg.Go(func() { p.accept(&wg) })
	t.Cleanup(func() {
		l.Close()
		p.Break(Fault{Refuse: true})
		wg.Wait()
	})
	return p
}

// Addr is the host and port to connect to.
func (p *Proxy) Addr() string { return p.listener.Addr().String() }

// Break hangs up all connections and applies a fault to those that follow.
func (p *Proxy) Break(f Fault) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fault = f
	for c := range p.conns {
		c.Close()
	}
}

func (p *Proxy) accept(wg *sync.WaitGroup) {
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return
		}
		wg.Go(func() { p.serve(client) })
	}
}

func (p *Proxy) serve(client net.Conn) {
	defer client.Close()
	fault := p.enter(client)
	defer p.leave(client)
	if fault.Refuse {
		return
	}
	if fault.Silent {
		io.Copy(io.Discard, client)
		return
	}
	server, err := net.Dial("tcp", p.target)
	if err != nil {
		return
	}
	defer server.Close()
	done := make(chan struct{})
	go func() {
		defer close(done)
		p.pass(client, server, fault.CutDown, fault)
		client.Close() // ends the other direction
	}()
	up := fault
	up.DelayDown = 0
	p.pass(server, client, up.CutUp, up)
	server.Close()
	<-done
}

// enter notes a connection and returns the fault it is under.
func (p *Proxy) enter(c net.Conn) Fault {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.conns[c] = true
	return p.fault
}

func (p *Proxy) leave(c net.Conn) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.conns, c)
}

// pass copies one direction until it ends or is to be cut.
func (p *Proxy) pass(to, from net.Conn, cut int64, fault Fault) {
	piece := make([]byte, 16<<10)
	var passed int64
	for {
		n, err := from.Read(piece)
		time.Sleep(fault.DelayDown)
		if cut > 0 && passed+int64(n) >= cut {
			to.Write(piece[:cut-passed])
			p.cut(to, from, fault)
			return
		}
		if _, werr := to.Write(piece[:n]); err != nil || werr != nil {
			return
		}
		passed += int64(n)
	}
}

// cut resets both sides, as a router does that forgets a connection.
func (p *Proxy) cut(to, from net.Conn, fault Fault) {
	if fault.CutOnce {
		p.mu.Lock()
		p.fault = Fault{}
		p.mu.Unlock()
	}
	for _, c := range []net.Conn{to, from} {
		if tcp, ok := c.(*net.TCPConn); ok {
			tcp.SetLinger(0)
		}
		c.Close()
	}
}
