package doctor

import (
	"bufio"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"log"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/server/smtpmail"
)

// front is a server of ours as people reach it, with something wrong.
type front struct {
	version string
	status  int    // of everything but 200
	ready   string // its answer
	by      string // a proxy that says its name
	gathers bool   // and keeps the beginnings of streams
}

func (f front) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if f.by != "" {
		w.Header().Set("Via", f.by)
	}
	switch {
	case f.status != 0:
		w.WriteHeader(f.status)
	case r.URL.Path == "/healthz":
		fmt.Fprintf(w, `{"status":"ok","version":%q}`, f.version)
	case r.URL.Path == "/readyz":
		fmt.Fprint(w, f.ready)
	case r.Header.Get("Authorization") != "Bearer rl_good":
		w.WriteHeader(http.StatusUnauthorized)
	default:
		w.Header().Set("Content-Type", "text/event-stream")
		if !f.gathers {
			fmt.Fprint(w, "event: head\n\n")
			w.(http.Flusher).Flush()
		}
		<-r.Context().Done()
	}
}

var good = front{version: "0.1.0", ready: `{"ready":true,"checks":{"database":"ok"}}`}

func at(change func(*front)) func(*testing.T, *Installation) {
	return func(t *testing.T, i *Installation) {
		f := good
		change(&f)
		s := httptest.NewServer(f)
		t.Cleanup(s.Close)
		i.URL = s.URL
	}
}

func TestReach(t *testing.T) {
	token := func(token string, change func(*front)) func(*testing.T, *Installation) {
		return func(t *testing.T, i *Installation) {
			at(change)(t, i)
			i.Token = token
		}
	}
	same := func(*front) {}
	for _, f := range []fault{
		{"NotSaid", func(*testing.T, *Installation) {}, "Reach", "address", Look, "nobody said", "set RELEVEL_URL"},
		{"OK", at(same), "Reach", "address", OK, "relevel 0.1.0 answers", ""},
		{"Nobody", func(_ *testing.T, i *Installation) { i.URL = "http://127.0.0.1:1" }, "Reach", "address", Wrong, "connection refused", "see that it runs"},
		{"SomebodyElse", at(func(f *front) { f.status = 404 }), "Reach", "address", Wrong, "it answers 404", "passes requests on"},
		{"NotReady", at(func(f *front) { f.ready = `{"ready":false,"checks":{"database":"away"}}` }), "Reach", "address", Wrong, "cannot work: map[database:away]", "what it logs"},
		{"AnotherVersion", at(func(f *front) { f.version = "0.0.9" }), "Reach", "address", Look, "is relevel 0.0.9, and this program is 0.1.0", "the older"},
		{"ProxyNotNamed", at(func(f *front) { f.by = "1.1 caddy" }), "Reach", "proxy", Look, "1.1 caddy stands before", "RELEVEL_PROXIES"},
		{"ProxyNamed", func(t *testing.T, i *Installation) {
			at(func(f *front) { f.by = "1.1 caddy" })(t, i)
			i.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}
		}, "Reach", "proxy", OK, "is believed from [10.0.0.0/8]", ""},
		{"StreamGathered", func(t *testing.T, i *Installation) {
			usual := streamTime
			streamTime = time.Second // others have their time on a slow machine
			t.Cleanup(func() { streamTime = usual })
			token("rl_good", func(f *front) { f.gathers = true })(t, i)
		}, "Reach", "live stream", Wrong, "nothing comes within 1s", "proxy_buffering off"},
		{"StreamClosed", token("rl_bad", same), "Reach", "live stream", Look, "does not open", "relevel firm token"},
		{"StreamOK", token("rl_good", same), "Reach", "live stream", OK, "as it is sent", ""},
		{"ClockFar", func(t *testing.T, i *Installation) { at(same)(t, i); i.Now = later(-time.Hour) }, "Reach", "clock", Wrong, "the server's clock is ", "NTP"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
	for address, want := range map[string]bool{"http://localhost:1": true, "http://127.0.0.1": true, "http://levels.example": false, "http://10.1.2.3": false} {
		if loopback(address) != want {
			t.Errorf("%s is this machine: %v, want %v", address, !want, want)
		}
	}
}

// certified serves with a certificate, and returns its root in a file of PEM.
func certified(t *testing.T, change func(*x509.Certificate)) (url string, root []byte) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	c := &x509.Certificate{
		SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-48 * time.Hour), NotAfter: time.Now().Add(90 * 24 * time.Hour),
		DNSNames: []string{"localhost"}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	change(c)
	der, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	must(t, err)
	s := httptest.NewUnstartedServer(good)
	s.Config.ErrorLog = log.New(io.Discard, "", 0) // who refuses the certificate says so below
	s.TLS = &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}}
	s.StartTLS()
	t.Cleanup(s.Close)
	return strings.Replace(s.URL, "127.0.0.1", "localhost", 1), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

func TestCertificates(t *testing.T) {
	with := func(trusted bool, change func(*x509.Certificate)) func(*testing.T, *Installation) {
		return func(t *testing.T, i *Installation) {
			url, root := certified(t, change)
			i.URL = url
			if trusted {
				must(t, os.Mkdir(filepath.Join(i.Data, "tls"), 0o700))
				must(t, os.WriteFile(filepath.Join(i.Data, "tls", "root.pem"), root, 0o600))
			}
		}
	}
	soon := func(c *x509.Certificate) { c.NotAfter = time.Now().Add(5 * 24 * time.Hour) }
	same := func(*x509.Certificate) {}
	for _, f := range []fault{
		{"OK", with(true, same), "Reach", "certificate", OK, "it is for localhost, until", ""},
		{"EndsSoon", with(true, soon), "Reach", "certificate", Look, "ends on", "why it was not renewed"},
		{"RootEndsSoon", with(true, soon), "Reach", "own authority", Look, "ends on", "why it was not renewed"},
		{"Ended", with(true, func(c *x509.Certificate) { c.NotAfter = time.Now().Add(-time.Hour) }), "Reach", "certificate", Wrong, "it ended, or has not begun", "renew it"},
		{"AnotherName", with(true, func(c *x509.Certificate) { c.DNSNames = []string{"elsewhere.example"} }), "Reach", "certificate", Wrong, "it is not for localhost", "its own are elsewhere.example"},
		{"UnknownIssuer", with(false, same), "Reach", "certificate", Wrong, "nobody whom browsers know", "/trust"},
		{"BrokenRoot", func(t *testing.T, i *Installation) {
			must(t, os.Mkdir(filepath.Join(i.Data, "tls"), 0o700))
			must(t, os.WriteFile(filepath.Join(i.Data, "tls", "root.pem"), []byte("what"), 0o600))
		}, "Reach", "own authority", Wrong, "cannot be read", "put it back"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
}

// greeted is a mail server that says good day to one.
func greeted(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			fmt.Fprint(conn, "220 here\r\n")
			for lines := bufio.NewScanner(conn); lines.Scan(); {
				fmt.Fprint(conn, "250 well\r\n")
			}
			conn.Close()
		}
	}()
	return l.Addr().(*net.TCPAddr).Port
}

func TestMail(t *testing.T) {
	to := func(port int) func(*testing.T, *Installation) {
		return func(_ *testing.T, i *Installation) {
			i.Mail = &smtpmail.Config{Host: "127.0.0.1", Port: port, Security: smtpmail.Plain, From: "office@example.com"}
		}
	}
	for _, f := range []fault{
		{"OK", to(greeted(t)), "Reach", "mail", OK, "no letter was sent", ""},
		{"Away", to(1), "Reach", "mail", Wrong, "does not take us", "RELEVEL_MAIL_URL"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
}

func TestRoom(t *testing.T) {
	for left, want := range map[uint64]Verdict{100 << 20: Wrong, 1 << 30: Look, 20 << 30: OK} {
		if got := roomOn("/data", left, 100<<30); got[0].Verdict != want {
			t.Errorf("%d bytes are %s, want %s", left, got[0].Verdict, want)
		}
	}
	if got := roomOn("/data", 20<<30, 1000<<30); got[0].Verdict != Look {
		t.Errorf("2 of a hundred are %s", got[0].Verdict)
	}
}
