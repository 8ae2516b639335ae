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
	largePage   = 64 << 10 // from here on it is cheaper to know a page again than to pack it
	mostPacked  = 16 << 20 // bytes of what is kept packed
	packedFirst = 32 << 10 // room for what a large page comes to
)

// packedBefore keeps large pages as they were packed, by what they say. A day sheet of
// hundreds of jobs is looked at far more often than something happens.
type packedBefore struct {
	mu    sync.Mutex
	known map[[sha256.Size]byte][]byte
	size  int
}

// pack returns a page packed, which nobody may change.
func (k *packedBefore) pack(page []byte) []byte {
	sum := sha256.Sum256(page)
	k.mu.Lock()
	kept, ok := k.known[sum]
	k.mu.Unlock()
	if ok {
		return kept
	}
	made := bytes.NewBuffer(make([]byte, 0, packedFirst))
	zip := packers.Get().(*gzip.Writer)
	zip.Reset(made)
	zip.Write(page) // a buffer takes everything
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

// isWhole tells whether the first bytes of an answer are all of it, and many.
func (p *packed) isWhole(b []byte) bool {
	h := p.Header()
	return len(b) >= largePage && isCompressed(h) && h.Get("Content-Length") == strconv.Itoa(len(b))
}

// again answers with a whole page.
func (p *packed) again(b []byte) (int, error) {
	sent := p.before.pack(b)
	p.decided = true
	h := p.Header()
	h.Add("Vary", "Accept-Encoding")
	h.Set("Content-Encoding", "gzip")
	h.Set("Content-Length", strconv.Itoa(len(sent)))
	if p.status == 0 {
		p.status = http.StatusOK
	}
	p.ResponseWriter.WriteHeader(p.status)
	if _, err := p.ResponseWriter.Write(sent); err != nil {
		return 0, err
	}
	return len(b), nil
}
