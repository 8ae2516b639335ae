package doctor

import (
	"encoding/xml"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
)

func TestPhotoFolder(t *testing.T) {
	for _, f := range []fault{
		{"NotYet", func(t *testing.T, i *Installation) { must(t, os.Remove(filepath.Join(i.Data, "photos"))) }, "Photos", "folder", Look, "is not there yet", "first start"},
		{"NoFolder", func(t *testing.T, i *Installation) {
			must(t, os.Remove(filepath.Join(i.Data, "photos")))
			must(t, os.WriteFile(filepath.Join(i.Data, "photos"), nil, 0o600))
		}, "Photos", "folder", Wrong, "nothing can be written", "give the folder"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
	t.Run("LeavesNothing", func(t *testing.T) {
		i := healthy(t)
		soundExcept(t, examined(t, i), "address")
		left, err := os.ReadDir(filepath.Join(i.Data, "photos"))
		if err != nil || len(left) > 0 {
			t.Errorf("%v %v is left", left, err)
		}
	})
}

func TestS3(t *testing.T) {
	config := s3test.Start(t)
	store, err := s3photos.New(config)
	must(t, err)
	proxy := s3test.NewProxy(t, config.Endpoint)
	with := func(change func(*s3photos.Config)) func(*testing.T, *Installation) {
		return func(_ *testing.T, i *Installation) {
			c := config
			change(&c)
			i.S3 = &c
		}
	}
	fault{"NoBucketYet", with(func(c *s3photos.Config) {}), "Photos", "S3", Look, "has no bucket", "first start"}.tried(t, healthy(t))
	must(t, store.EnsureBucket(t.Context()))
	for _, f := range []fault{
		{"WrongSecret", with(func(c *s3photos.Config) { c.Secret = "other" }), "Photos", "S3", Wrong, "does not find the bucket", "RELEVEL_S3_ENDPOINT"},
		{"Away", with(func(c *s3photos.Config) { proxy.Break(s3test.Fault{Refuse: true}); c.Endpoint = proxy.Addr() }), "Photos", "S3", Wrong, "does not find the bucket", "RELEVEL_S3_ENDPOINT"},
		{"ClockOff", func(t *testing.T, i *Installation) { i.S3 = &config; i.Now = later(time.Minute) }, "Photos", "clock", Wrong, "the S3 server's clock is", "NTP"},
		{"TakesAnything", with(func(c *s3photos.Config) { c.Endpoint = careless(t, "") }), "Photos", "S3", Look, "under a digest that is not theirs", "RELEVEL_WORKER_DATABASE_URL"},
		{"ListsNothing", with(func(c *s3photos.Config) { c.Endpoint = careless(t, "list") }), "Photos", "S3", Wrong, "does not list it", "let the key"},
		{"KeepsNothing", with(func(c *s3photos.Config) { c.Endpoint = careless(t, "get") }), "Photos", "S3", Wrong, "does not give it back", "let the key"},
		{"RemovesNothing", with(func(c *s3photos.Config) { c.Endpoint = careless(t, "delete") }), "Photos", "S3", Wrong, "does not remove it", "let the key"},
		{"OK", with(func(c *s3photos.Config) {}), "Photos", "S3", OK, "refuses a wrong digest", ""},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
}

// What was tried with S3 is removed.
func TestS3LeavesNothing(t *testing.T) {
	endpoint := careless(t, "")
	i := healthy(t)
	i.S3 = &s3photos.Config{Endpoint: endpoint, Bucket: "photos", Key: "k", Secret: "s", Insecure: true}
	examined(t, i)
	resp, err := http.Get("http://" + endpoint + "/photos?list-type=2")
	must(t, err)
	defer resp.Body.Close()
	left, err := io.ReadAll(resp.Body)
	if err != nil || strings.Contains(string(left), "<Key>") {
		t.Errorf("%s is left, %v", left, err)
	}
}

// careless is an S3 server that takes anything under any digest, and does not do one
// thing at all.
func careless(t *testing.T, lacks string) (endpoint string) {
	t.Helper()
	s := &carelessS3{lacks: lacks, kept: map[string][]byte{}}
	server := httptest.NewServer(s)
	t.Cleanup(server.Close)
	return strings.TrimPrefix(server.URL, "http://")
}

type carelessS3 struct {
	lacks string
	mu    sync.Mutex
	kept  map[string][]byte
}

func (s *carelessS3) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, key, inBucket := strings.Cut(strings.Trim(r.URL.Path, "/"), "/")
	w.Header().Set("Last-Modified", time.Now().UTC().Format(http.TimeFormat))
	w.Header().Set("ETag", `"x"`)
	data, there := s.kept[key]
	switch {
	case r.URL.Query().Has("list-type"):
		s.list(w)
	case !inBucket: // the bucket itself
	case r.Method == http.MethodPut:
		s.kept[key], _ = io.ReadAll(r.Body)
	case !there:
		w.WriteHeader(http.StatusNotFound)
	case r.Method == http.MethodDelete:
		if s.lacks != "delete" {
			delete(s.kept, key)
		}
		w.WriteHeader(http.StatusNoContent)
	case s.lacks == "get" && r.Method == http.MethodGet:
		w.Write([]byte(strings.Repeat("?", len(data))))
	default:
		http.ServeContent(w, r, "", time.Time{}, strings.NewReader(string(data)))
	}
}

func (s *carelessS3) list(w http.ResponseWriter) {
	type content struct{ Key string }
	answer := struct {
		XMLName  xml.Name `xml:"ListBucketResult"`
		Contents []content
	}{}
	for key := range s.kept {
		if s.lacks != "list" {
			answer.Contents = append(answer.Contents, content{key})
		}
	}
	xml.NewEncoder(w).Encode(answer)
}
