package torture_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"sync/atomic"
	"testing"

	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
)

// bucket is a real S3 server behind somebody who may lie, behind a wire that may break.
type bucket struct {
	*s3test.Proxy
	*liar
	config s3photos.Config // through both
	direct s3photos.Config // past both, for who looks what is really there
}

func newBucket(t testing.TB) *bucket {
	t.Helper()
	b := &bucket{direct: s3test.Start(t)}
	b.liar = newLiar(t, b.direct.Endpoint)
	b.Proxy = s3test.NewProxy(t, b.liar.address)
	b.config = b.direct
	b.config.Endpoint, b.config.Timeout = b.Proxy.Addr(), s3Patience
	return b
}

// A liar answers for an S3 server what is not so.
type liar struct {
	address string
	lie     atomic.Int32
	trap    atomic.Pointer[trap]
	told    atomic.Int64 // lies
	up      *httputil.ReverseProxy
}

// The lies.
const (
	truth     = iota
	losing    // 200 to what is then not kept
	otherwise // 200 and other bytes to who reads back
)

func newLiar(t testing.TB, target string) *liar {
	t.Helper()
	l := &liar{}
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.DisableCompression = true
	l.up = &httputil.ReverseProxy{
		Transport: transport,
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(&url.URL{Scheme: "http", Host: target})
			r.Out.Host = r.In.Host // the signature covers it
		},
		ModifyResponse: l.spoil,
		ErrorHandler:   func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) },
	}
	s := httptest.NewServer(l)
	t.Cleanup(s.Close)
	t.Cleanup(transport.CloseIdleConnections)
	l.address = s.Listener.Addr().String()
	return l
}

// tell begins a lie, or ends it.
func (l *liar) tell(lie int32) { l.lie.Store(lie) }

// ServeHTTP implements http.Handler.
func (l *liar) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if l.lie.Load() == losing && r.Method == http.MethodPut {
		io.Copy(io.Discard, r.Body)
		l.told.Add(1)
		w.Header().Set("ETag", `"0"`)
		return
	}
	t := l.trap.Load()
	number := t.count()
	if t.is(number, before) {
		t.spring()
		panic(http.ErrAbortHandler)
	}
	if t.is(number, sent) || t.is(number, after) {
		l.up.ServeHTTP(httptest.NewRecorder(), r)
		t.spring()
		panic(http.ErrAbortHandler)
	}
	l.up.ServeHTTP(w, r)
}

// spoil changes a byte of what is read.
func (l *liar) spoil(r *http.Response) error {
	if l.lie.Load() == otherwise && r.Request.Method == http.MethodGet && r.StatusCode == http.StatusOK && r.ContentLength > 100 {
		l.told.Add(1)
		r.Body = &spoiled{ReadCloser: r.Body}
	}
	return nil
}

type spoiled struct {
	io.ReadCloser
	done bool
}

func (s *spoiled) Read(p []byte) (int, error) {
	n, err := s.ReadCloser.Read(p)
	if n > 0 && !s.done {
		p[n/2] ^= 1
		s.done = true
	}
	return n, err
}
