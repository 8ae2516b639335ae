package server

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/pictures"
)

// asSeen calls f with the state that a visitor may see, and its time: what there is now,
// or what there was at the last record of the share.
func (s *Server) asSeen(ctx context.Context, v visitor, f func(state *jobs.State, now time.Time)) error {
	if v.share.UpTo > 0 {
		return s.stateAsOf(ctx, v.key, v.share.UpTo, f)
	}
	return s.states.use(ctx, v.key, func(state *jobs.State) { f(state, s.config.Now()) })
}

// maxPhotoSets is for how many jobs it is remembered which photos are seen.
const maxPhotoSets = 64

// photoSets remember which photos of a job count at a number of its log, so that a page
// with a hundred of them folds no log a hundred times.
type photoSets struct {
	mu    sync.Mutex
	known map[photoSet]map[events.Digest]bool
}

type photoSet struct {
	key jobKey
	seq int64
}

func (p *photoSets) recall(of photoSet) (map[events.Digest]bool, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	photos, ok := p.known[of]
	return photos, ok
}

func (p *photoSets) keep(of photoSet, photos map[events.Digest]bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.known == nil || len(p.known) >= maxPhotoSets {
		p.known = map[photoSet]map[events.Digest]bool{}
	}
	p.known[of] = photos
}

// photosSeen are the photos of the records that a visitor may see and that count. One
// whose record was voided, as that of another house, is none of them.
func (s *Server) photosSeen(ctx context.Context, v visitor) (map[events.Digest]bool, error) {
	seq := v.share.UpTo
	if seq == 0 {
		if err := s.states.use(ctx, v.key, func(state *jobs.State) { seq = state.Seq() }); err != nil {
			return nil, err
		}
	}
	of := photoSet{v.key, seq}
	if photos, ok := s.photos.recall(of); ok {
		return photos, nil
	}
	records, err := s.opened.upTo(ctx, v.key, seq)
	if err != nil {
		return nil, err
	}
	photos := map[events.Digest]bool{}
	err = s.asSeen(ctx, v, func(state *jobs.State, _ time.Time) {
		for _, e := range records {
			addPhotos(photos, state.Entry(e))
		}
	})
	if err == nil {
		s.photos.keep(of, photos)
	}
	return photos, err
}

func addPhotos(photos map[events.Digest]bool, e jobs.Entry) {
	for _, f := range e.Files {
		if f.Type == events.Photo && e.Apart == "" {
			photos[f.SHA256] = true
		}
	}
}

// getOwnerPhoto is GET /s/{share}/photos/{sha256}?size=320|1600: a photo made smaller,
// which holds nothing but what it shows. The original stays with the firm.
func (p *pages) getOwnerPhoto(w http.ResponseWriter, r *http.Request, v visitor) error {
	digest, err := digestOf(r)
	if err != nil {
		return events.ErrNotFound
	}
	size, err := events.ParseSize(r.URL.Query().Get("size"))
	if err != nil || size == events.Original {
		return events.ErrNotFound
	}
	seen, err := p.photosSeen(r.Context(), v)
	if err != nil {
		return err
	}
	if !seen[digest] {
		return events.ErrNotFound
	}
	key := events.Key{Firm: v.key.firm, SHA256: digest, Size: size}
	photo, err := p.config.Album.Open(r.Context(), key.Firm, key.SHA256, key.Size)
	switch {
	case errors.Is(err, pictures.ErrUnreadable):
		return events.ErrNotFound
	case errors.Is(err, events.ErrDamaged):
		p.distrust(r, key.Firm, digest, err)
		return events.ErrNotFound
	case err != nil:
		return err
	}
	defer photo.Body.Close()
	fileHeaders(w, photo.Media)
	w.Header().Set("Content-Length", strconv.FormatInt(photo.Bytes, 10))
	p.sendBytes(w, r, key, photo)
	return nil
}
