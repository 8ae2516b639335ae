package main

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// TestServeHost has a public name certified by an authority that speaks ACME, pebble of
// Debian, whose names all lead to this machine.
func TestServeHost(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	const host = "levels.example"
	port, plain := freePort(t), freePort(t)
	authority := newAuthority(t, port)
	env := []string{envACME + "=" + authority.directory, envACMEMail + "=office@levels.example", "SSL_CERT_FILE=" + authority.trusted}
	serve := []string{"serve", "--listen", fmt.Sprintf("127.0.0.1:%d", port), "--data", dir, "--host", "Levels.Example", "--plain", fmt.Sprintf("127.0.0.1:%d", plain)}
	p := launch(t, env, serve...)
	url := fmt.Sprintf("https://%s:%d", host, port)
	if greeting := p.line() + p.line(); !strings.Contains(greeting, "serves at "+url+"\n") || !strings.Contains(greeting, "Begin:  "+url+"/invitation#") {
		t.Fatalf("it greets with %q", greeting)
	}
	first := wantCertified(t, p, authority, url)
	if status, err := certifiedAs(t, "other.example", port, authority.roots(t)); err == nil {
		t.Errorf("another name is served, too: %d", status)
	}
	wantLedOver(t, fmt.Sprintf("http://127.0.0.1:%d", plain), url)
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Fatalf("told to stop, it ended with %v: %s", err, p.errs)
	}

	// With the authority gone the certificate that is kept serves on.
	roots := authority.roots(t)
	authority.end()
	p = launch(t, env, serve...)
	p.line()
	again, err := certifiedAs(t, host, port, roots)
	if err != nil || !bytes.Equal(again, first) {
		t.Errorf("started again it shows another certificate than the one it kept, or none: %v\n%s", err, p.errs)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
}

// Without a certificate a server says why, and serves for when there is one.
func TestServeHostNobodyCertifies(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p := launch(t, []string{envACME + "=https://127.0.0.1:1/directory"}, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--host", "levels.example")
	p.line()
	until(t, func() bool { return strings.Contains(p.errs.String(), "does the name lead to this machine") }, func() string { return p.errs.String() })
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
}

func TestMayHost(t *testing.T) {
	for name, want := range map[string]bool{
		"levels.example": true, "a.b-c.example": true, "xn--bcher-kva.example": true, "": false, "localhost": false, "10.1.2.3": false, "::1": false,
		"levels.example.": false, ".example": false, "-a.example": false, "a-.example": false, "a_b.example": false, "*.example": false,
		strings.Repeat("a", 64) + ".example": false, strings.Repeat("a.", 130) + "example": false, "levels.example:443": false, "bücher.example": false,
	} {
		if got := mayHost(name); got != want {
			t.Errorf("may %q be a host: %v, want %v", name, got, want)
		}
	}
}

// authority is a public authority for this test.
type authority struct {
	directory  string
	trusted    string // the file of the certificate that it shows itself
	management string
	client     *http.Client
	end        func()
}

// newAuthority starts one that looks for whoever asks it at a port of this machine.
func newAuthority(t *testing.T, port int) *authority {
	t.Helper()
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	pool := selfSigned(t, cert, key)
	at, management := fmt.Sprintf("127.0.0.1:%d", freePort(t)), fmt.Sprintf("127.0.0.1:%d", freePort(t))
	config, err := json.Marshal(map[string]any{"pebble": map[string]any{"listenAddress": at, "managementListenAddress": management,
		"certificate": cert, "privateKey": key, "httpPort": freePort(t), "tlsPort": port}})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "config.json")
	if err := os.WriteFile(file, config, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("pebble", "-config", file, "-dnsserver", allNamesHere(t))
	cmd.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1")
	said := &lockedBuffer{}
	cmd.Stdout, cmd.Stderr = said, said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	a := &authority{directory: "https://" + at + "/dir", trusted: cert, management: "https://" + management,
		client: &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}}
	ended := false
	a.end = func() {
		if !ended {
			ended = true
			cmd.Process.Kill()
			cmd.Wait()
		}
	}
	t.Cleanup(a.end)
	until(t, func() bool {
		resp, err := a.client.Get(a.directory)
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	}, said.String)
	return a
}

// roots are what a browser trusts that knows the authority.
func (a *authority) roots(t *testing.T) *x509.CertPool {
	t.Helper()
	resp, err := a.client.Get(a.management + "/roots/0")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		t.Fatalf("no root in %q", text)
	}
	return pool
}

// selfSigned makes a certificate for this machine and keeps it and its key in files.
func selfSigned(t *testing.T, certFile, keyFile string) *x509.CertPool {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "authority"}, NotAfter: time.Now().Add(24 * time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	for file, content := range map[string][]byte{certFile: text, keyFile: pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})} {
		if err := os.WriteFile(file, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(text)
	return pool
}

// allNamesHere is the address of a name server by which every name leads to 127.0.0.1.
func allNamesHere(t *testing.T) string {
	t.Helper()
	conn, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	go func() {
		buffer := make([]byte, 1500)
		for {
			n, from, err := conn.ReadFrom(buffer)
			if err != nil {
				return
			}
			var m dnsmessage.Message
			if m.Unpack(buffer[:n]) != nil || len(m.Questions) != 1 {
				continue
			}
			m.Response, m.RecursionAvailable, m.Additionals = true, true, nil
			if q := m.Questions[0]; q.Type == dnsmessage.TypeA {
				m.Answers = []dnsmessage.Resource{{Header: dnsmessage.ResourceHeader{Name: q.Name, Type: q.Type, Class: q.Class, TTL: 1}, Body: &dnsmessage.AResource{A: [4]byte{127, 0, 0, 1}}}}
			}
			if answer, err := m.Pack(); err == nil {
				conn.WriteTo(answer, from)
			}
		}
	}()
	return conn.LocalAddr().String()
}

// wantCertified waits for the certificate, and looks at a page by it.
func wantCertified(t *testing.T, p *process, a *authority, url string) (leaf []byte) {
	t.Helper()
	at := strings.TrimPrefix(url, "https://")
	host, port, err := net.SplitHostPort(at)
	if err != nil {
		t.Fatal(err)
	}
	until(t, func() bool { return strings.Contains(p.errs.String(), "msg=certificate host="+host) }, p.errs.String)
	var number int
	fmt.Sscan(port, &number)
	if leaf, err = certifiedAs(t, host, number, a.roots(t)); err != nil {
		t.Fatalf("%v\n%s", err, p.errs)
	}
	client := here(at, a.roots(t))
	resp, err := client.Get(url + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK || resp.ProtoMajor != 2 || resp.Header.Get("Strict-Transport-Security") == "" {
		t.Errorf("over https it answers %d by %s, and that browsers come by https from now on: %q", resp.StatusCode, resp.Proto, resp.Header.Get("Strict-Transport-Security"))
	}
	return leaf
}

// certifiedAs is the certificate that a browser is shown under a name, checked.
func certifiedAs(t *testing.T, host string, port int, roots *x509.CertPool) ([]byte, error) {
	t.Helper()
	dialer := tls.Dialer{Config: &tls.Config{ServerName: host, RootCAs: roots}}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	conn, err := dialer.DialContext(ctx, "tcp", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		return nil, err
	}
	defer conn.Close()
	return conn.(*tls.Conn).ConnectionState().PeerCertificates[0].Raw, nil
}

// here is a browser for which a name leads to this machine.
func here(at string, roots *x509.CertPool) *http.Client {
	return &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true,
		DialContext: func(ctx context.Context, network, to string) (net.Conn, error) {
			_, port, _ := net.SplitHostPort(to)
			return (&net.Dialer{}).DialContext(ctx, network, "127.0.0.1:"+port)
		}}}
}

// wantLedOver looks at a page over plain http, and posts there.
func wantLedOver(t *testing.T, plain, url string) {
	t.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.Get(plain + "/jobs?crew=north")
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusMovedPermanently || resp.Header.Get("Location") != url+"/jobs?crew=north" {
		t.Errorf("plain http leads to %d %s", resp.StatusCode, resp.Header.Get("Location"))
	}
	if resp, err = client.Post(plain+"/api/v1/jobs", "application/json", strings.NewReader("{}")); err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("what is posted over plain http is answered %d", resp.StatusCode)
	}
}
