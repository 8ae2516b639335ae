package server

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/levelling"
	"relevel/server/pictures"
)

// filePolicy is what a file that somebody sent may do when a browser is led to
// show it on its own: nothing.
const filePolicy = "sandbox; default-src 'none'"

// keptFile says how safely a file is kept.
type keptFile struct {
	SHA256 events.Digest    `json:"sha256"`
	State  events.FileState `json:"state"`
	Type   events.FileType  `json:"type"`
	Media  string           `json:"media_type"`
	Bytes  int64            `json:"bytes"`
	Reason string           `json:"reason,omitempty"`
}

func keptFileOf(k events.Kept) keptFile {
	return keptFile{k.SHA256, k.State, k.Type, k.Media, k.Bytes, k.Reason}
}

// digestOf returns the file an address names.
func digestOf(r *http.Request) (events.Digest, error) {
	d, err := events.ParseDigest(mux.Vars(r)["sha256"])
	if err != nil {
		return d, levelling.Bad("sha256", "64 hexadecimal digits")
	}
	return d, nil
}

// putPhoto is PUT photos/{sha256}?type=sound. It may be repeated.
func (s *Server) putPhoto(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	digest, err := digestOf(r)
	if err != nil {
		return err
	}
	media := r.Header.Get("Content-Type")
	if kind := r.URL.Query().Get("type"); kind != "" {
		prefix, known := prefixOf[events.FileType(kind)]
		if !known || !strings.HasPrefix(media, prefix) {
			return levelling.Bad("type", fmt.Sprintf("photo or sound, and a media type that is one: %.60q is not", media))
		}
	}
	ctx, span := s.config.Tracer.Start(r.Context(), "photo put", slog.Int64("bytes", r.ContentLength))
	kept, err := s.config.Photos.Put(ctx, events.Upload{
		Firm: firm, SHA256: digest, Bytes: r.ContentLength, Media: media, At: s.config.Now(), Body: r.Body,
	})
	span.End(err)
	if err != nil {
		return fmt.Errorf("take a file in: %w", err)
	}
	return reply(w, http.StatusOK, keptFileOf(kept))
}

// prefixOf is what the media types of a file begin with.
var prefixOf = map[events.FileType]string{events.Photo: "image/", events.Sound: "audio/"}

// getPhotoState is GET photos/{sha256}/state.
func (s *Server) getPhotoState(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	digest, err := digestOf(r)
	if err != nil {
		return err
	}
	kept, err := s.config.Photos.Ledger.Find(r.Context(), firm, digest)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, keptFileOf(kept))
}

func sizeOf(r *http.Request) (events.Size, error) {
	text := r.URL.Query().Get("size")
	if text == "original" {
		return events.Original, nil
	}
	return events.ParseSize(text)
}

// getPhoto is GET photos/{sha256}?size=320|1600|original.
func (s *Server) getPhoto(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	digest, err := digestOf(r)
	if err != nil {
		return err
	}
	size, err := sizeOf(r)
	if err != nil {
		return err
	}
	err = s.sendPhoto(w, r, events.Key{Firm: firm, SHA256: digest, Size: size})
	switch {
	case errors.Is(err, pictures.ErrUnreadable):
		return levelling.Bad("size", "only the original: this file cannot be made smaller")
	case errors.Is(err, events.ErrDamaged):
		s.distrust(r, firm, digest, err)
		return refuse(http.StatusNotFound, "The file is damaged in the store. Whoever still has it, send it again.")
	}
	return err
}

func (s *Server) sendPhoto(w http.ResponseWriter, r *http.Request, key events.Key) error {
	p, err := s.config.Album.Open(r.Context(), key.Firm, key.SHA256, key.Size)
	if err != nil {
		return err
	}
	defer p.Body.Close()
	if strings.HasPrefix(p.Media, prefixOf[events.Sound]) {
		return s.sendSound(w, r, key, p)
	}
	fileHeaders(w, p.Media)
	// A smaller size never changes and says nothing but what it shows. The
	// original may hold where and when it was taken: it stays on no disk.
	if key.Size != events.Original {
		w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	}
	w.Header().Set("Content-Length", strconv.FormatInt(p.Bytes, 10))
	s.sendBytes(w, r, key, p)
	return nil
}

func fileHeaders(w http.ResponseWriter, media string) {
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Security-Policy", filePolicy)
}

// sendBytes streams a file, of which the last byte waits until all of it has
// proved sound. If it has not, or the store goes away, the connection is cut
// and nobody takes what came for the file.
func (s *Server) sendBytes(w http.ResponseWriter, r *http.Request, key events.Key, p pictures.Picture) {
	if r.Method == http.MethodHead {
		return
	}
	var last []byte
	_, err := io.CopyN(w, p.Body, p.Bytes-1)
	if err == nil {
		last, err = io.ReadAll(p.Body)
	}
	if err == nil {
		_, err = w.Write(last)
	}
	if err == nil || r.Context().Err() != nil {
		return
	}
	s.distrust(r, key.Firm, key.SHA256, err)
	panic(http.ErrAbortHandler)
}

// distrust notes that a file could not be read. If it is damaged its state
// falls back, so that whoever still has it sends it again.
func (s *Server) distrust(r *http.Request, firm events.ID, digest events.Digest, err error) {
	log := s.config.Logger.With("sha256", digest.String())
	log.ErrorContext(r.Context(), "a file could not be read", "err", err)
	if !errors.Is(err, events.ErrDamaged) {
		return
	}
	if _, err := s.config.Photos.Verify(r.Context(), firm, digest, s.config.Now()); err != nil && !errors.Is(err, events.ErrDamaged) {
		log.ErrorContext(r.Context(), "a damaged file was not marked", "err", err)
	}
}

// sendSound sends a sound as something to be saved. Players ask for parts of
// it; it is small, so it is read whole first.
func (s *Server) sendSound(w http.ResponseWriter, r *http.Request, key events.Key, p pictures.Picture) error {
	b, err := io.ReadAll(io.LimitReader(p.Body, events.MaxSoundBytes+1))
	if err != nil {
		return fmt.Errorf("read a sound: %w", err)
	}
	fileHeaders(w, p.Media)
	ending := map[string]string{events.MediaWebM: "webm", events.MediaMP4: "m4a"}[p.Media]
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%.12s.%s"`, key.SHA256, ending))
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(b))
	return nil
}
