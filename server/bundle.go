package server

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"

	"relevel/events"
	"relevel/jobs/bundle"
	"relevel/levelling"
	"relevel/server/pictures"
)

// getBundle is GET jobs/{job}/bundle.zip?photos=originals|smaller: a job in one file
// that can be checked without us.
func (s *Server) getBundle(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	o := bundle.Order{Firm: key.firm, Job: key.job, Photos: bundle.Originals}
	switch text := r.URL.Query().Get("photos"); text {
	case "", string(bundle.Originals):
	case string(bundle.Smaller):
		o.Photos = bundle.Smaller
	default:
		return levelling.Bad("photos", "originals or smaller")
	}
	return s.sendBundle(w, r, o)
}

// sendBundle writes a bundle while its photos are read; what is in memory is the log of
// the job, and one photo.
func (s *Server) sendBundle(w http.ResponseWriter, r *http.Request, o bundle.Order) error {
	from := bundle.From{Log: s.config.Log, Store: s.config.Store, Signed: s.config.Checkpoints}
	c, err := bundle.Gather(r.Context(), from, o)
	if err != nil {
		return err
	}
	attach(w, "job-"+o.Job.String()+".zip", "application/zip")
	sent := &sending{w: w}
	out := bufio.NewWriterSize(sent, 256<<10)
	err = bundle.Write(out, c, BundleFiles(r.Context(), s.config.Album, o), nil)
	return s.end(r, sent, errors.Join(err, out.Flush()))
}

// BundleFiles reads the photos and sounds of a bundle, one at a time. The album checks
// originals against their digests. What cannot be made smaller counts as missing there.
func BundleFiles(ctx context.Context, album *pictures.Album, o bundle.Order) bundle.Opened {
	size := events.Original
	if o.Photos == bundle.Smaller {
		size = events.Large
	}
	return func(file events.Digest, _ events.FileType) ([]byte, error) {
		p, err := album.Open(ctx, o.Firm, file, size)
		if errors.Is(err, pictures.ErrUnreadable) {
			return nil, fmt.Errorf("make %s smaller: %w", file, events.ErrDamaged)
		}
		if err != nil {
			return nil, err
		}
		data, err := io.ReadAll(io.LimitReader(p.Body, events.MaxPhotoBytes+1))
		return data, errors.Join(err, p.Body.Close())
	}
}
