package s3photos_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"io"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
	"relevel/levelling"
)

func open(t testing.TB, c s3photos.Config) *s3photos.Store {
	t.Helper()
	s, err := s3photos.New(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func object(t testing.TB, n int) (events.Object, []byte) {
	body := make([]byte, n)
	rand.Read(body)
	sum := events.Digest(sha256.Sum256(body))
	key := events.Key{Firm: eventstest.NewFirm(t), SHA256: sum}
	return events.Object{Key: key, Bytes: int64(n), SHA256: sum, Media: events.MediaJPEG}, body
}

func TestObjects(t *testing.T) {
	s := open(t, s3test.Start(t))
	if err := s.EnsureBucket(t.Context()); err != nil {
		t.Fatal(err)
	}
	eventstest.Objects(t, func(*testing.T) events.Objects { return s })
}

func TestNewRefused(t *testing.T) {
	good := s3photos.Config{Endpoint: "127.0.0.1:1", Bucket: "photos"}
	tests := map[string]struct {
		change func(*s3photos.Config)
		field  string
	}{
		"no bucket":    {func(c *s3photos.Config) { c.Bucket = "" }, "bucket"},
		"no endpoint":  {func(c *s3photos.Config) { c.Endpoint = "" }, "endpoint"},
		"with a path":  {func(c *s3photos.Config) { c.Endpoint = "127.0.0.1:1/photos" }, "endpoint"},
		"with a space": {func(c *s3photos.Config) { c.Endpoint = "our server" }, "endpoint"},
	}
	for name, test := range tests {
		c := good
		test.change(&c)
		var bad *levelling.InputError
		if _, err := s3photos.New(c); !errors.As(err, &bad) || bad.Field != test.field {
			t.Errorf("%s: New = %v, want an InputError on %s", name, err, test.field)
		}
	}
	if _, err := s3photos.New(good); err != nil {
		t.Errorf("New with the server away = %v, want no error", err)
	}
}

func TestPutMakesBucket(t *testing.T) {
	s := open(t, s3test.Start(t))
	o, body := object(t, 5000)
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
		t.Fatalf("Put into a bucket that is missing: %v", err)
	}
	if size, err := s.Stat(t.Context(), o.Key); err != nil || size != o.Bytes {
		t.Errorf("Stat = %d, %v; want %d", size, err, o.Bytes)
	}
	if err := s.EnsureBucket(t.Context()); err != nil {
		t.Errorf("EnsureBucket of one that exists: %v", err)
	}
}

// TestPutOtherBytes shows that the server itself compares the digest.
func TestPutOtherBytes(t *testing.T) {
	s := open(t, s3test.Start(t))
	o, body := object(t, 5000)
	body[4000]++
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err == nil {
		t.Error("the server took bytes that do not have their digest")
	}
	if _, err := s.Stat(t.Context(), o.Key); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Stat = %v, want ErrNotFound", err)
	}
}

func TestWrongSecret(t *testing.T) {
	c := s3test.Start(t)
	c.Secret = "guessed"
	s := open(t, c)
	o, body := object(t, 5000)
	for name, err := range map[string]error{
		"EnsureBucket": s.EnsureBucket(t.Context()),
		"Put":          putError(s.Put(t.Context(), o, bytes.NewReader(body))),
		"Open":         firstError(s.Open(t.Context(), o.Key)),
	} {
		if !errors.Is(err, events.ErrUnavailable) {
			t.Errorf("%s = %v, want ErrUnavailable", name, err)
		}
	}
}

func firstError(body io.ReadCloser, _ int64, err error) error {
	if err == nil {
		return body.Close()
	}
	return err
}

func putError(_ bool, err error) error { return err }

// behindProxy starts a server and a store that reaches it through a proxy.
func behindProxy(t *testing.T, timeout time.Duration) (*s3photos.Store, *s3test.Proxy) {
	c := s3test.Start(t)
	p := s3test.NewProxy(t, c.Endpoint)
	c.Endpoint, c.Timeout = p.Addr(), timeout
	s := open(t, c)
	if err := s.EnsureBucket(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s, p
}

func TestAway(t *testing.T) {
	s, p := behindProxy(t, 400*time.Millisecond)
	o, body := object(t, 300_000)
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
		t.Fatal(err)
	}
	for name, fault := range map[string]s3test.Fault{
		"refused": {Refuse: true},
		"silent":  {Silent: true},
	} {
		t.Run(name, func(t *testing.T) {
			p.Break(fault)
			start := time.Now()
			_, statErr := s.Stat(t.Context(), o.Key)
			for method, err := range map[string]error{
				"Put":    putError(s.Put(t.Context(), o, bytes.NewReader(body))),
				"Stat":   statErr,
				"Open":   firstError(s.Open(t.Context(), o.Key)),
				"Delete": s.Delete(t.Context(), o.Key),
			} {
				if !errors.Is(err, events.ErrUnavailable) || errors.Is(err, events.ErrNotFound) {
					t.Errorf("%s = %v, want ErrUnavailable", method, err)
				}
			}
			if took := time.Since(start); took > 4*time.Second {
				t.Errorf("four calls took %s, with a limit of 0.4 s each", took)
			}
		})
	}
	p.Break(s3test.Fault{})
	if size, err := s.Stat(t.Context(), o.Key); err != nil || size != o.Bytes {
		t.Errorf("once it is back: Stat = %d, %v; want %d", size, err, o.Bytes)
	}
}

// TestPutCut cuts the connection once in the middle of the upload, and once
// after it, in the answer. The same Put gets through both.
func TestPutCut(t *testing.T) {
	for name, fault := range map[string]s3test.Fault{
		"in the body":   {CutUp: 500_000, CutOnce: true},
		"in the answer": {CutDown: 20, CutOnce: true},
	} {
		t.Run(name, func(t *testing.T) {
			s, p := behindProxy(t, 5*time.Second)
			o, body := object(t, 2_000_000)
			p.Break(fault)
			if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
				t.Fatalf("Put: %v", err)
			}
			got, _, err := s.Open(t.Context(), o.Key)
			if err != nil {
				t.Fatal(err)
			}
			defer got.Close()
			if b, err := io.ReadAll(got); err != nil || !bytes.Equal(b, body) {
				t.Errorf("read %d bytes, %v; want %d", len(b), err, len(body))
			}
		})
	}
}

// TestPutArrived cuts every answer to an upload, but lets the question whether
// it has arrived through: nothing is sent twice.
func TestPutArrived(t *testing.T) {
	s, p := behindProxy(t, 5*time.Second)
	o, body := object(t, 100_000)
	p.Break(s3test.Fault{CutDown: 20, CutOnce: true})
	counted := &countingBody{Reader: bytes.NewReader(body)}
	if _, err := s.Put(t.Context(), o, counted); err != nil {
		t.Fatalf("Put: %v", err)
	}
	if counted.read != len(body) {
		t.Errorf("%d bytes were sent, want the %d of one upload", counted.read, len(body))
	}
}

type countingBody struct {
	*bytes.Reader
	read int
}

func (c *countingBody) ReadAt(p []byte, off int64) (int, error) {
	n, err := c.Reader.ReadAt(p, off)
	c.read += n
	return n, err
}

func TestReadCut(t *testing.T) {
	s, p := behindProxy(t, 5*time.Second)
	o, body := object(t, 1_000_000)
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
		t.Fatal(err)
	}
	p.Break(s3test.Fault{CutDown: 200_000})
	got, _, err := s.Open(t.Context(), o.Key)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Close()
	if b, err := io.ReadAll(got); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("read %d bytes, %v; want ErrUnavailable", len(b), err)
	}
}

// TestSlow has a server that is slow but steady, which is no error, and one
// that falls silent in the middle, which is one soon.
func TestSlow(t *testing.T) {
	s, p := behindProxy(t, 400*time.Millisecond)
	o, body := object(t, 300_000)
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
		t.Fatal(err)
	}
	p.Break(s3test.Fault{DelayDown: 40 * time.Millisecond})
	got, _, err := s.Open(t.Context(), o.Key)
	if err != nil {
		t.Fatal(err)
	}
	defer got.Close()
	start := time.Now()
	if b, err := io.ReadAll(got); err != nil || !bytes.Equal(b, body) {
		t.Errorf("slow but steady: %d bytes, %v; want all", len(b), err)
	}
	if took := time.Since(start); took < 400*time.Millisecond {
		t.Errorf("read in %s: the proxy did not slow it down beyond the limit", took)
	}

	p.Break(s3test.Fault{DelayDown: 2 * time.Second})
	if err := firstError(s.Open(t.Context(), o.Key)); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("silent: %v, want ErrUnavailable", err)
	}
}

func TestEndedContext(t *testing.T) {
	s, p := behindProxy(t, 10*time.Second)
	p.Break(s3test.Fault{Silent: true})
	o, body := object(t, 1000)
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	_, err := s.Put(ctx, o, bytes.NewReader(body))
	if !errors.Is(err, context.DeadlineExceeded) || errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put = %v, want the caller's own deadline and nothing about the store", err)
	}
}

// TestPhotos runs the wrapper over a real server through an outage.
func TestPhotos(t *testing.T) {
	s, p := behindProxy(t, time.Second)
	photos := &events.Photos{Objects: s, Ledger: new(eventstest.MemLedger)}
	b := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte("photo "), 50_000)...)
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	u := events.Upload{
		Firm: eventstest.NewFirm(t), SHA256: sha256.Sum256(b), Bytes: int64(len(b)),
		Media: "image/jpeg", At: noon,
	}
	p.Break(s3test.Fault{Refuse: true})
	u.Body = bytes.NewReader(b)
	if _, err := photos.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put with the server away = %v, want ErrUnavailable", err)
	}
	p.Break(s3test.Fault{})
	u.Body = bytes.NewReader(b)
	if k, err := photos.Put(t.Context(), u); err != nil || k.State != events.FileStored {
		t.Errorf("Put = %s, %v; want stored", k.State, err)
	}
	if k, err := photos.Verify(t.Context(), u.Firm, u.SHA256, noon.Add(time.Hour)); err != nil || k.State != events.FileDurable {
		t.Errorf("Verify = %s, %v; want durable", k.State, err)
	}
}
