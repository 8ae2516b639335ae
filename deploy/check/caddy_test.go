//go:build installed

package check

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	neturl "net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// caddy runs Caddy of the compose file's version with deploy/Caddyfile, on ports that
// are free and with its own authority, before a server. It returns the address, and a
// client that trusts it.
func caddy(t *testing.T, upstream string) (url string, client *http.Client) {
	t.Helper()
	program := install(t, "github.com/caddyserver/caddy/v2/cmd/caddy", imageVersion(t, compose(t).Services["caddy"].Image))
	home, file := t.TempDir(), filepath.Join(absolute(t, top), "deploy", "Caddyfile")
	port, health := freePort(t), freePort(t)
	env := append(os.Environ(), "HOME="+home, "XDG_DATA_HOME="+home, "XDG_CONFIG_HOME="+home, "RELEVEL_HOST=localhost",
		fmt.Sprintf("RELEVEL_HTTP_PORT=%d", freePort(t)), fmt.Sprintf("RELEVEL_HTTPS_PORT=%d", port),
		fmt.Sprintf("RELEVEL_CADDY_HEALTH=%d", health), "RELEVEL_UPSTREAM="+upstream)
	for _, args := range [][]string{{"validate", "--config", file}, {"fmt", "--diff", file}} {
		cmd := exec.Command(program, args...)
		cmd.Env = env
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("caddy %s: %v\n%s", args[0], err, out)
		}
	}
	run := exec.Command(program, "run", "--config", file)
	run.Env = env
	start(t, run)
	until(t, "Caddy is healthy", func() bool {
		resp, err := http.Get(fmt.Sprintf("http://127.0.0.1:%d/", health))
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusNoContent
	})
	root := filepath.Join(home, "caddy", "pki", "authorities", "local", "root.crt")
	var pem []byte
	until(t, "Caddy has an authority", func() (has bool) {
		var err error
		pem, err = os.ReadFile(root)
		return err == nil
	})
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(pem)
	client = &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
	url = fmt.Sprintf("https://localhost:%d", port)
	until(t, "Caddy has a certificate", func() bool {
		resp, err := client.Get(url + "/healthz")
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
	return url, client
}

// ask sends a request with a token and returns what is answered.
func ask(t *testing.T, client *http.Client, token, method, url, kind string, body io.Reader) (int, []byte) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+token)
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	resp, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, text
}

// live follows a stream, and tells when a line of it says what is waited for, while the
// answer is still open.
func live(t *testing.T, client *http.Client, token, url, what string) <-chan bool {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	t.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+token)
	resp, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { resp.Body.Close() })
	if kind := resp.Header.Get("Content-Type"); !strings.HasPrefix(kind, "text/event-stream") {
		t.Fatalf("the stream answers %s, %s", resp.Status, kind)
	}
	said := make(chan bool, 1)
	go func() {
		for scan := bufio.NewScanner(resp.Body); scan.Scan(); {
			if strings.Contains(scan.Text(), what) {
				said <- true
				return
			}
		}
	}()
	return said
}

// bigPhoto is a photo as large as one may be: a few pixels, and noise behind them.
func bigPhoto(t *testing.T) []byte {
	t.Helper()
	var photo bytes.Buffer
	if err := jpeg.Encode(&photo, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	if _, err := io.CopyN(&photo, rand.Reader, 16<<20-int64(photo.Len())); err != nil {
		t.Fatal(err)
	}
	return photo.Bytes()
}

// TestCaddy: through the proxy live streams come as they are written, a photo of the
// greatest size gets there and back, and who came is known by their own address.
func TestCaddy(t *testing.T) {
	url, token := startServer(t, "RELEVEL_PROXIES=127.0.0.1")
	url, client := caddy(t, strings.TrimPrefix(url, "http://"))

	const job = "0198e4a2-3b10-7a00-8000-000000000001"
	jobs, sends := url+"/api/v1/jobs", "application/json"
	if status, said := ask(t, client, token, "POST", jobs, sends, strings.NewReader(`{"id":"`+job+`","name":"12 Kauri Rd","zone":"Pacific/Auckland"}`)); status >= 300 {
		t.Errorf("a job: %d %s", status, said)
	}
	changed := live(t, client, token, url+"/api/v1/live", job)
	if status, said := ask(t, client, token, "POST", jobs+"/"+job+"/particulars", sends, strings.NewReader(`{"name":"14 Kauri Rd","zone":"Pacific/Auckland","revision":0}`)); status >= 300 {
		t.Errorf("its particulars: %d %s", status, said)
	}
	select {
	case <-changed:
	case <-time.After(patience):
		t.Error("the stream is held back")
	}
	photo := bigPhoto(t)
	at := fmt.Sprintf("%s/api/v1/photos/%x", url, sha256.Sum256(photo))
	if status, said := ask(t, client, token, "PUT", at, "image/jpeg", bytes.NewReader(photo)); status >= 300 {
		t.Errorf("a photo of 16 MiB: %d %s", status, said)
	}
	if status, back := ask(t, client, token, "GET", at, "", nil); status != http.StatusOK || !bytes.Equal(back, photo) {
		t.Errorf("it comes back as %d, %d bytes", status, len(back))
	}
	wantAddress(t, url, token, client)
}

// wantAddress signs in from 127.0.0.7, claiming to be somewhere else, and reads who came.
func wantAddress(t *testing.T, url, token string, client *http.Client) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	from := client.Transport.(*http.Transport).Clone()
	from.DialContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		dialer := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, 7)}}
		_, port, _ := net.SplitHostPort(address)
		return dialer.DialContext(ctx, network, net.JoinHostPort("127.0.0.1", port))
	}
	browser := &http.Client{Transport: from, Jar: jar}
	body := neturl.Values{"token": {token}}.Encode()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url+"/enter", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("X-Forwarded-For", "203.0.113.9")
	resp, err := browser.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if cookies := jar.Cookies(r.URL); len(cookies) == 0 || !strings.HasPrefix(cookies[0].Name, "__Host-") {
		t.Errorf("the cookies of a page over https: %v, %s", cookies, resp.Status)
	}
	resp, err = browser.Get(url + "/trail")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	page, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(page, []byte("127.0.0.7")) || bytes.Contains(page, []byte("203.0.113.9")) {
		t.Errorf("%s: who came is not known by their address:\n%s", resp.Status, page)
	}
}
