package demo

import (
	"crypto/sha256"
	"fmt"

	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
)

// Photo is a picture to be taken of something.
type Photo struct {
	Scene   pictures.Scene
	Subject string
	Stage   events.Stage
}

// keep draws a photo, gives it to the book and returns how an event refers to it.
func (s *Site) keep(p Photo) (events.File, error) {
	jpeg, err := pictures.Draw(p.Scene)
	if err != nil {
		return events.File{}, fmt.Errorf("draw a picture of %s: %w", p.Subject, err)
	}
	if err := s.Book.Keep(s.ctx, jpeg); err != nil {
		return events.File{}, fmt.Errorf("keep the picture of %s: %w", p.Subject, err)
	}
	return events.File{
		Type: events.Photo, SHA256: sha256.Sum256(jpeg), Bytes: int64(len(jpeg)), Media: events.MediaJPEG,
		Subject: p.Subject, Stage: p.Stage, TakenAt: s.Now,
	}, nil
}
