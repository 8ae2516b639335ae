package server

import (
	"compress/gzip"
	"net/http"
	"strings"
	"sync"
)

// compressed are the types that are worth it. Live streams, photos and what was
// packed when the program was built are none of them. A page that shows a secret is
// answered only to a cookie that no other site can send along, so its length tells
// nobody anything.
var compressed = []string{"text/html", "text/css", "text/javascript", "text/calendar", "application/json"}

// worth is from how many bytes at once an answer is compressed.
const worth = 1 << 10

// packers are made for 800 KB each, and used again.
var packers = sync.Pool{New: func() any {
	w, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // that level is a good one
	return w
}}

// compress packs answers for browsers that take it.
func compress(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// What a program or phone sends is answered in few words, and at once.
		if r.Method == http.MethodHead || !takesGzip(r) || r.Method != http.MethodGet && strings.HasPrefix(r.URL.Path, "/api/") {
			next.ServeHTTP(w, r)
			return
		}
		p := &packed{ResponseWriter: w}
		next.ServeHTTP(p, r)
		p.end()
	})
}

// takesGzip reads Accept-Encoding as far as browsers write it.
func takesGzip(r *http.Request) bool {
	for one := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(one), ";")
		if strings.TrimSpace(name) == "gzip" {
			return strings.ReplaceAll(weight, " ", "") != "q=0"
		}
	}
	return false
}

// packed is an answer that may be compressed. Its status waits for the first bytes,
// since only they tell.
type packed struct {
	http.ResponseWriter
	status  int
	decided bool
	zip     *gzip.Writer
}

func (p *packed) WriteHeader(status int) {
	if p.decided || status < 200 || !isCompressed(p.Header()) {
		p.decided = p.decided || status >= 200
		p.ResponseWriter.WriteHeader(status)
		return
	}
	if p.status == 0 {
		p.status = status
	}
}

func (p *packed) Write(b []byte) (int, error) {
	if !p.decided {
		p.decide(len(b))
	}
	if p.zip != nil {
		return p.zip.Write(b)
	}
	return p.ResponseWriter.Write(b)
}

// decide begins the answer, of which so many bytes are there.
func (p *packed) decide(first int) {
	p.decided = true
	h := p.Header()
	if isCompressed(h) {
		h.Add("Vary", "Accept-Encoding")
		if first >= worth {
			h.Set("Content-Encoding", "gzip")
			h.Del("Content-Length")
			p.zip = packers.Get().(*gzip.Writer)
			p.zip.Reset(p.ResponseWriter)
		}
	}
	if p.status != 0 {
		p.ResponseWriter.WriteHeader(p.status)
	}
}

// end finishes an answer that went well. One that was cut off stays without its end,
// and the browser sees that.
func (p *packed) end() {
	if !p.decided && p.status != 0 {
		p.decide(0)
	}
	if p.zip != nil {
		p.zip.Close()
		p.zip.Reset(nil)
		packers.Put(p.zip)
	}
}

func isCompressed(h http.Header) bool {
	if h.Get("Content-Encoding") != "" || h.Get("Content-Range") != "" {
		return false
	}
	for _, of := range compressed {
		if strings.HasPrefix(h.Get("Content-Type"), of) {
			return true
		}
	}
	return false
}

// Unwrap lets http.ResponseController reach the connection.
func (p *packed) Unwrap() http.ResponseWriter { return p.ResponseWriter }
