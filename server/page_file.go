package server

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"mime/multipart"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"

	"relevel/events"
	"relevel/server/web"
)

const (
	maxSent     = 4*events.MaxPhotoBytes + events.MaxBatchBytes // of one form with its photos
	maxInMemory = 1 << 20                                       // the rest of it goes to disk
)

// sent is what came with a form beside its fields.
type sent struct {
	form     *multipart.Form
	document string
	files    []events.File
	headers  []*multipart.FileHeader // of files, in the same order
	wrong    web.Wrong
}

// readSent takes a form in with its photos.
func readSent(w http.ResponseWriter, r *http.Request) (*sent, error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxSent)
	err := r.ParseMultipartForm(maxInMemory)
	if errors.Is(err, http.ErrNotMultipart) {
		return &sent{wrong: web.Wrong{}}, nil
	}
	if err != nil {
		return nil, formError(err)
	}
	s := &sent{form: r.MultipartForm, wrong: web.Wrong{}}
	for _, h := range r.MultipartForm.File["photo"] {
		if h.Size == 0 {
			continue // the browser's way to say that none was chosen
		}
		f, err := fileOf(h)
		if err != nil {
			s.wrong["photo"] = err.Error()
			continue
		}
		f.Subject, f.Stage = subjectOf(r.PostForm), events.Stage(r.PostFormValue("photo-stage"))
		if err := f.Check(); err != nil {
			s.wrong["photo"] = err.Error()
			continue
		}
		s.files, s.headers = append(s.files, f), append(s.headers, h)
	}
	for _, h := range r.MultipartForm.File["document-file"] {
		if h.Size > 0 {
			return s, s.readDocument(h)
		}
	}
	return s, nil
}

// formError says whose fault it is that a form could not be read: the sender's, unless it
// is the disk's or the connection's.
func formError(err error) error {
	disk, isDisk := errors.AsType[*fs.PathError](err)
	_, isNet := errors.AsType[*net.OpError](err)
	_, isLong := errors.AsType[*http.MaxBytesError](err)
	switch {
	case isDisk:
		return fmt.Errorf("%w: read form: %w", events.ErrUnavailable, disk)
	case errors.Is(err, multipart.ErrMessageTooLarge):
		return refuse(http.StatusRequestEntityTooLarge, "This form has more in it than one page sends.")
	case isNet, isLong, errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, os.ErrDeadlineExceeded), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("read form: %w", err)
	}
	return refuse(http.StatusBadRequest, "This form cannot be read: open its page anew and send it again.")
}

// subjectOf is what a form's photos are of: as somebody said, or the one thing
// the form is about.
func subjectOf(values url.Values) string {
	for _, name := range []string{"photo-subject", "support", "room", "cut", "tie", "gap", "place"} {
		if v := strings.TrimSpace(values.Get(name)); v != "" {
			return v
		}
	}
	if at := values["supports"]; len(at) == 1 {
		return at[0]
	}
	return ""
}

// fileOf describes a photo by its bytes.
func fileOf(h *multipart.FileHeader) (events.File, error) {
	body, err := h.Open()
	if err != nil {
		return events.File{}, fmt.Errorf("open photo: %w", err)
	}
	defer body.Close()
	head := make([]byte, 16)
	n, _ := io.ReadFull(body, head)
	media := events.Sniff(head[:n])
	if media == "" {
		return events.File{}, errors.New(h.Filename + " is no JPEG, PNG or WebP photo: choose another")
	}
	sum := sha256.New()
	sum.Write(head[:n])
	if _, err := io.Copy(sum, body); err != nil {
		return events.File{}, fmt.Errorf("read photo: %w", err)
	}
	return events.File{Type: events.Photo, SHA256: events.Digest(sum.Sum(nil)), Bytes: h.Size, Media: media}, nil
}

func (s *sent) readDocument(h *multipart.FileHeader) error {
	body, err := h.Open()
	if err != nil {
		return fmt.Errorf("open document: %w", err)
	}
	defer body.Close()
	text, err := io.ReadAll(io.LimitReader(body, events.MaxBatchBytes))
	if err != nil {
		return fmt.Errorf("read document: %w", err)
	}
	s.document = string(text)
	return nil
}

func (s *sent) close() {
	if s.form != nil {
		s.form.RemoveAll()
	}
}

// keepFiles stores the photos of an event that is stored already, and says
// which were not kept.
func (p *pages) keepFiles(r *http.Request, v view, s *sent) string {
	lost := 0
	for i, f := range s.files {
		if err := p.keepFile(r, v, f, s.headers[i]); err != nil {
			p.config.Logger.WarnContext(r.Context(), "a photo of a page was not kept", "err", err)
			lost++
		}
	}
	switch lost {
	case 0:
		return ""
	case 1:
		return "The photo is not kept: the store does not answer. Send it again with a note."
	}
	return fmt.Sprintf("%d photos are not kept: the store does not answer. Send them again with a note.", lost)
}

func (p *pages) keepFile(r *http.Request, v view, f events.File, h *multipart.FileHeader) error {
	body, err := h.Open()
	if err != nil {
		return fmt.Errorf("open photo: %w", err)
	}
	defer body.Close()
	_, err = p.config.Photos.Put(r.Context(), events.Upload{
		Firm: v.key.firm, SHA256: f.SHA256, Bytes: f.Bytes, Media: f.Media, At: p.config.Now(), Body: body,
	})
	return err
}
