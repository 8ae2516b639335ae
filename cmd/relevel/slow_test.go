package main

import (
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"
)

// dawdlers are connections that say nothing, begin to shake hands, or begin a request, and
// then wait; the server hangs up on each. What is returned waits for that.
func dawdlers(t *testing.T, address string) (wait func()) {
	t.Helper()
	ended := map[string]chan error{}
	for name, said := range map[string]string{"nothing": "", "half a handshake": "\x16\x03\x01", "half a head": "GET / HTTP/1.1\r\nHost: x\r\nX-A: "} {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(conn, said); err != nil {
			t.Fatal(err)
		}
		end := make(chan error, 1)
		ended[name] = end
		go func() {
			defer conn.Close()
			conn.SetReadDeadline(time.Now().Add(2 * time.Minute)) // a slow machine; the server takes ten seconds
			_, err := io.Copy(io.Discard, conn)
			end <- err
		}()
	}
	return func() {
		for name, end := range ended {
			if err := <-end; err != nil && strings.Contains(err.Error(), "timeout") {
				t.Errorf("a connection that said %s was never ended", name)
			}
		}
	}
}

// A head that never ends is refused before it has filled anything.
func wantShortHeads(t *testing.T, address string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", "http://"+address+"/enter", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("X-Long", strings.Repeat("a", 2*headerBytes))
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return // it hung up while we were still talking
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("a head of 128 KiB is answered %d", resp.StatusCode)
	}
}
