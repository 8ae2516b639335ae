//go:build bench

package bench

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"
	"time"
)

// callers are connections to the server that speak HTTP in as few words as they can. The
// client of net/http takes as much of a processor as the server's half of an append; it
// would be counted as the server's, on the machine that both stand on, while the client
// of Postgres is a part of what it is compared with.
type callers struct {
	address string // host and port
	mu      sync.Mutex
	idle    []*caller
}

type caller struct {
	conn  net.Conn
	in    *bufio.Reader
	out   []byte
	since time.Time // when it became idle
}

// A connection that was idle for so long is not used again: the server ends it soon.
const idleMost = time.Minute

// ask sends a request and returns the answer, if it went well. It follows no redirect.
func (c *callers) ask(method, path string, headers []string, body []byte) ([]byte, error) {
	one, err := c.take()
	if err != nil {
		return nil, err
	}
	one.out = fmt.Appendf(one.out[:0], "%s %s HTTP/1.1\r\nHost: %s\r\nContent-Length: %d\r\n", method, path, c.address, len(body))
	for _, h := range headers {
		one.out = append(append(one.out, h...), "\r\n"...)
	}
	one.out = append(append(one.out, "\r\n"...), body...)
	if _, err := one.conn.Write(one.out); err != nil {
		return nil, err
	}
	resp, err := http.ReadResponse(one.in, nil)
	if err != nil {
		return nil, err
	}
	answer, err := io.ReadAll(resp.Body)
	if err != nil {
		return nil, err
	}
	c.put(one)
	if resp.StatusCode >= http.StatusBadRequest {
		return nil, fmt.Errorf("%s %s: %s: %s", method, path, resp.Status, answer)
	}
	return answer, nil
}

func (c *callers) take() (*caller, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for last := len(c.idle) - 1; last >= 0; last-- {
		one := c.idle[last]
		c.idle = c.idle[:last]
		if time.Since(one.since) < idleMost {
			return one, nil
		}
		one.conn.Close()
	}
	conn, err := net.Dial("tcp", c.address)
	if err != nil {
		return nil, err
	}
	return &caller{conn: conn, in: bufio.NewReader(conn)}, nil
}

func (c *callers) put(one *caller) {
	c.mu.Lock()
	defer c.mu.Unlock()
	one.since = time.Now()
	c.idle = append(c.idle, one)
}

// close ends all connections that nobody uses.
func (c *callers) close() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, one := range c.idle {
		one.conn.Close()
	}
}

// stored counts the events of an answer that were stored.
func stored(answer []byte) int { return bytes.Count(answer, []byte(`"outcome":"stored"`)) }
