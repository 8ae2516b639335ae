package localca_test

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"relevel/deploy/localca"
)

var now = time.Now()

func open(t *testing.T, dir string, at time.Time, names ...string) *localca.Authority {
	t.Helper()
	a, err := localca.Open(dir, names, at)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func roots(t *testing.T, a *localca.Authority) *x509.CertPool {
	t.Helper()
	root, err := x509.ParseCertificate(a.Root)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	return pool
}

// Who trusts the root trusts the server by each of its names, and by no other.
func TestServes(t *testing.T) {
	a := open(t, t.TempDir(), now, "localhost", "127.0.0.1", "192.168.7.4")
	for name, good := range map[string]bool{"localhost": true, "127.0.0.1": true, "192.168.7.4": true, "192.168.7.5": false, "example.com": false} {
		_, err := a.Leaf.Leaf.Verify(x509.VerifyOptions{Roots: roots(t, a), DNSName: name, CurrentTime: now})
		if (err == nil) != good {
			t.Errorf("%s: %v", name, err)
		}
	}
	plain, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := localca.Listen(plain, a.Leaf)
	server := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.TLS != nil {
			io.WriteString(w, r.Proto+" over TLS")
			return
		}
		io.WriteString(w, "plain")
	})}
	go server.Serve(l)
	defer server.Close()
	silent, err := net.Dial("tcp", plain.Addr().String()) // says nothing, and keeps nobody waiting
	if err != nil {
		t.Fatal(err)
	}
	defer silent.Close()
	client := &http.Client{Transport: &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: roots(t, a)}}}
	for url, want := range map[string]string{"https://" + plain.Addr().String(): "HTTP/2.0 over TLS", "http://" + plain.Addr().String(): "plain"} {
		resp, err := client.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		body, _ := io.ReadAll(resp.Body)
		resp.Body.Close()
		if string(body) != want {
			t.Errorf("%s answers %q, want %q", url, body, want)
		}
	}
}

// The root stays what phones trust; the machine's certificate follows its names
// and is renewed before it ends.
func TestKept(t *testing.T) {
	dir := t.TempDir()
	first := open(t, dir, now, "localhost")
	again := open(t, dir, now.AddDate(0, 0, 300), "localhost")
	if string(first.Root) != string(again.Root) || string(first.Leaf.Certificate[0]) != string(again.Leaf.Certificate[0]) {
		t.Error("opened again, it is another")
	}
	for what, other := range map[string]*localca.Authority{
		"other names": open(t, dir, now, "localhost", "10.0.0.7"), "its end near": open(t, dir, now.AddDate(0, 0, 380), "localhost"),
	} {
		if string(first.Root) != string(other.Root) {
			t.Errorf("%s: the root changed", what)
		}
		if string(first.Leaf.Certificate[0]) == string(other.Leaf.Certificate[0]) {
			t.Errorf("%s: the certificate did not", what)
		}
	}
	for _, name := range []string{"root.pem", "server.pem"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v %v", name, info, err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "root.pem"), []byte("spoilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := localca.Open(dir, []string{"localhost"}, now); err == nil {
		t.Error("a root that cannot be read is made anew without a word: every phone would have to trust another")
	}
}

// The root signs for nothing outside private networks, whoever has its key.
func TestConstrained(t *testing.T) {
	for name, may := range map[string]bool{"localhost": true, "office.local": true, "192.168.0.3": true, "fe80::1": true, "example.com": false, "8.8.8.8": false} {
		if localca.MayName(name) != may {
			t.Errorf("%s: may %t", name, !may)
		}
	}
	a := open(t, t.TempDir(), now, "example.com")
	if _, err := a.Leaf.Leaf.Verify(x509.VerifyOptions{Roots: roots(t, a), DNSName: "example.com", CurrentTime: now}); err == nil {
		t.Error("a certificate for example.com is trusted")
	}
}
