package localca

import (
	"bufio"
	"crypto/tls"
	"net"
	"time"
)

// helloTime is how long a connection may take to say its first byte.
const helloTime = 10 * time.Second

// handshake is the first byte of a TLS connection (RFC 8446, 5.1).
const handshake = 0x16

// Listen serves TLS and plain HTTP at one address: a phone that does not trust the
// root yet can be told there how to. Which it is, the first byte says.
func Listen(plain net.Listener, cert tls.Certificate) net.Listener {
	l := &listener{Listener: plain, config: &tls.Config{Certificates: []tls.Certificate{cert}, NextProtos: []string{"h2", "http/1.1"}, MinVersion: tls.VersionTLS12},
		ready: make(chan net.Conn), failed: make(chan struct{})}
	go l.accept()
	return l
}

type listener struct {
	net.Listener
	config *tls.Config
	ready  chan net.Conn
	failed chan struct{} // closed when there are no more
	err    error
}

// accept looks at each connection by itself: one that says nothing keeps nobody
// waiting.
func (l *listener) accept() {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			l.err = err
			close(l.failed)
			return
		}
		go l.look(c)
	}
}

func (l *listener) look(c net.Conn) {
	first := bufio.NewReaderSize(c, 1)
	c.SetReadDeadline(time.Now().Add(helloTime))
	b, err := first.Peek(1)
	c.SetReadDeadline(time.Time{})
	if err != nil {
		c.Close()
		return
	}
	seen := net.Conn(&peeked{Conn: c, first: first})
	if b[0] == handshake {
		seen = tls.Server(seen, l.config)
	}
	select {
	case l.ready <- seen:
	case <-l.failed:
		c.Close()
	}
}

// Accept implements net.Listener.
func (l *listener) Accept() (net.Conn, error) {
	select {
	case c := <-l.ready:
		return c, nil
	case <-l.failed:
		return nil, l.err
	}
}

// peeked is a connection whose first byte was looked at.
type peeked struct {
	net.Conn
	first *bufio.Reader
}

// Read implements net.Conn.
func (p *peeked) Read(b []byte) (int, error) {
	if p.first.Buffered() > 0 {
		return p.first.Read(b)
	}
	return p.Conn.Read(b)
}
