package server

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"net/http"
	"strconv"
	"sync"
)

const (
	mostPacked  = 16 << 20 // bytes of pages that are kept packed
	packedFirst = 32 << 10 // room for what a large page comes to
)

// packedBefore keeps large pages as they were packed, by a sum of all that they say. A
// day sheet of hundreds of jobs is looked at far more often than something happens.
type packedBefore struct {
	mu    sync.Mutex
	known map[[sha256.Size]byte][]byte
	size  int
}

// find returns a page packed, which nobody may change, and makes it if it is not kept.
func (k *packedBefore) find(sum [sha256.Size]byte, page func() []byte) []byte {
	k.mu.Lock()
	kept, ok := k.known[sum]
	k.mu.Unlock()
	if ok {
		return kept
	}
	made := bytes.NewBuffer(make([]byte, 0, packedFirst))
	zip := packers.Get().(*gzip.Writer)
	zip.Reset(made)
	zip.Write(page()) // a buffer takes everything
	zip.Close()
	zip.Reset(nil)
	packers.Put(zip)
	k.keep(sum, made.Bytes())
	return made.Bytes()
}

func (k *packedBefore) keep(sum [sha256.Size]byte, packed []byte) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.known == nil || k.size+len(packed) > mostPacked {
		k.known, k.size = map[[sha256.Size]byte][]byte{}, 0
	}
	if _, ok := k.known[sum]; !ok {
		k.known[sum], k.size = packed, k.size+len(packed)
	}
}

// sendKnown sends a page that is known by a sum of what it says and of who may follow
// which links. It is made only for those who take nothing packed, or if it is new.
func (s *Server) sendKnown(w http.ResponseWriter, r *http.Request, sum [sha256.Size]byte, page func() []byte) {
	if r.Method == http.MethodHead || !takesGzip(r) {
		sendPage(w, http.StatusOK, page())
		return
	}
	sent := s.packed.find(sum, func() []byte { return permitted(w, page()) })
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Encoding", "gzip")
	h.Set("Content-Length", strconv.Itoa(len(sent)))
	h.Add("Vary", "Accept-Encoding")
	w.Write(sent) // a reader that has gone away is no error
}
