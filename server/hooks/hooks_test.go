package hooks

import (
	"crypto/rand"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// The signature is what anybody computes with openssl dgst -sha256 -hmac over the
// time, a point and the body.
func TestSign(t *testing.T) {
	got := Sign("rlh_secret", time.Unix(1772446500, 0), []byte(`{"id":"1"}`))
	// printf '1772446500.{"id":"1"}' | openssl dgst -sha256 -hmac rlh_secret
	const want = "t=1772446500,v1=1108a0a4d577ccce3041470675e1da9f988c21b3bc2b5a691aee2d6a02796a76"
	if got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Addresses of the IANA special-purpose registries are not told, in whatever form they
// are written; public ones are.
func TestGuard(t *testing.T) {
	for _, text := range []string{
		"127.0.0.1", "127.8.9.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "192.0.0.192",
		"198.18.0.1", "224.0.0.1", "255.255.255.255", "240.0.0.1", "::1", "::", "fe80::1", "fe80::1%eth0", "fc00::1", "fd00:ec2::254",
		"::ffff:127.0.0.1", "::ffff:169.254.169.254", "::7f00:1", "64:ff9b::7f00:1", "2002:7f00:1::", "2001:0:1::1", "ff02::1", "2001:db8::1",
	} {
		if (Guard{}).allows(netip.MustParseAddr(text)) {
			t.Errorf("%s may be told", text)
		}
	}
	for _, text := range []string{"1.1.1.1", "93.184.216.34", "2606:4700:4700::1111", "::ffff:1.1.1.1"} {
		if !(Guard{}).allows(netip.MustParseAddr(text)) {
			t.Errorf("%s may not be told", text)
		}
	}
	own := Guard{Networks: []netip.Prefix{netip.MustParsePrefix("10.1.0.0/16")}}
	if !own.allows(netip.MustParseAddr("10.1.2.3")) || own.allows(netip.MustParseAddr("10.2.2.3")) || !own.allows(netip.MustParseAddr("::ffff:10.1.2.3")) {
		t.Error("a network of one's own is told, and no other")
	}
}

func TestCheckURL(t *testing.T) {
	for text, ok := range map[string]bool{
		"https://office.example/told": true, "http://office.example/told": false, "https://127.0.0.1/": false, "https://[::1]/": false,
		"https://169.254.169.254/latest": false, "https://1.1.1.1/": true, "ftp://office.example": false, "https://[::ffff:10.0.0.1]/": false,
	} {
		if err := (Guard{}).CheckURL(text); (err == nil) != ok {
			t.Errorf("%s: %v, want allowed %t", text, err, ok)
		}
	}
	if err := (Guard{Plain: true}).CheckURL("http://office.example/"); err != nil {
		t.Error(err)
	}
}

func sender(g Guard) *Sender { return NewSender(g, time.Now, rand.Reader) }

var loopback = Guard{Plain: true, Networks: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}

// A name that leads to this machine is refused when it is dialled, and the port behind
// it is never opened.
func TestNameThatLeadsInside(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	reached := make(chan struct{}, 1)
	go func() {
		if conn, err := listener.Accept(); err == nil {
			conn.Close()
			reached <- struct{}{}
		}
	}()
	_, port, _ := net.SplitHostPort(listener.Addr().String())
	// Some resolvers take the others for 127.0.0.1, too; here it does not matter which do.
	for _, host := range []string{"localhost", "localhost.", "127.0.0.1", "[::ffff:127.0.0.1]", "[::ffff:7f00:1]", "[::1]", "[::]", "0.0.0.0", "2130706433", "0x7f000001", "0177.0.0.1", "127.1", "0", "①②⑦.0.0.1", "name@127.0.0.1"} {
		h := jobs.Hook{ID: events.ID{1}, URL: "http://" + host + ":" + port, Secret: "s"}
		d, err := sender(Guard{Plain: true}).Send(t.Context(), h, Message{}, "test")
		if err != nil || d.Status != 0 || d.Arrived() {
			t.Errorf("%s: %v: %+v", host, err, d)
		}
		if host == "localhost" && !strings.Contains(d.Reason, "network that is not told") {
			t.Errorf("%+v", d)
		}
	}
	select {
	case <-reached:
		t.Error("it was dialled")
	case <-time.After(100 * time.Millisecond):
	}
}

// A redirect is an answer like any other and is not followed.
func TestNoRedirect(t *testing.T) {
	var asked []string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = append(asked, r.URL.Path)
		http.Redirect(w, r, "/inside", http.StatusTemporaryRedirect)
	}))
	defer server.Close()
	d, err := sender(loopback).Send(t.Context(), jobs.Hook{ID: events.ID{1}, URL: server.URL + "/told"}, Message{}, "test")
	if err != nil || d.Status != 307 || d.Arrived() || len(asked) != 1 {
		t.Errorf("%v: %+v after %q", err, d, asked)
	}
}

// An answer without an end is not waited for.
func TestEndlessAnswer(t *testing.T) {
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for r.Context().Err() == nil {
			if _, err := w.Write(make([]byte, 64<<10)); err != nil {
				return
			}
		}
	}))
	defer server.Close()
	begin := time.Now()
	d, err := sender(loopback).Send(t.Context(), jobs.Hook{ID: events.ID{1}, URL: server.URL}, Message{}, "test")
	if err != nil || !d.Arrived() || time.Since(begin) > 5*time.Second {
		t.Errorf("%v: %+v after %v", err, d, time.Since(begin))
	}
}

// What went wrong is said in words that tell nothing of the networks behind.
func TestReasons(t *testing.T) {
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	gone.Close()
	tls := httptest.NewTLSServer(http.NotFoundHandler())
	defer tls.Close()
	for text, want := range map[string]string{
		"http://" + gone.Addr().String(): "cannot be reached", tls.URL: "its certificate is not trusted", "https://nowhere.invalid/": "there is no such name",
	} {
		d, err := sender(loopback).Send(t.Context(), jobs.Hook{ID: events.ID{1}, URL: text}, Message{}, "test")
		if err != nil || d.Reason != want {
			t.Errorf("%s: %v, %q, want %q", text, err, d.Reason, want)
		}
	}
}

// Attempts are spread over a day, each later than the one before.
func TestBackoffIsADay(t *testing.T) {
	var sum, last time.Duration
	n := 1
	for ; ; n++ {
		wait, again := Backoff(n)
		if !again {
			break
		}
		if wait < last {
			t.Errorf("attempt %d waits %v after %v", n, wait, last)
		}
		sum, last = sum+wait, wait
	}
	if sum < 20*time.Hour || sum > 28*time.Hour || n != 12 {
		t.Errorf("%d attempts over %v, want a day", n, sum)
	}
}

func FuzzCheckURL(f *testing.F) {
	for _, text := range []string{"https://office.example", "https://127.0.0.1", "http://[::1%25lo]:80", "https://0x7f.1", "https://user@host"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		hook := jobs.Hook{Name: "x", URL: text, Happenings: []jobs.Happening{jobs.AnyEvent}}
		if hook.Check() != nil || (Guard{}).CheckURL(text) != nil {
			return
		}
		u, err := url.Parse(text)
		if err != nil || u.Scheme != "https" || u.User != nil || u.Hostname() == "" {
			t.Errorf("%q is allowed", text)
		}
	})
}
