package demo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"

	"relevel/cmd/relevel/client"
	"relevel/events"
)

// Stray is a record that has no place in a book, so that the office finds it kept apart.
type Stray struct {
	Job    events.ID
	Record events.Incoming
}

// strays are a finding that was recorded for a job that nobody has, and a record that a
// phone sent twice with other words.
func strays(crew Crew, waiting History) ([]Stray, error) {
	last := waiting.Book.Events[len(waiting.Book.Events)-1]
	wrong, err := events.NewID(last.Event.At, crew.Phone.random)
	if err != nil {
		return nil, err
	}
	lost, err := crew.Phone.Seal(wrong, 0, Entry{
		Kind: events.KindFinding, At: last.Event.At, By: crew.Lead.ID,
		Body: &events.Finding{What: "split", HowBad: "200 mm along the grain", Where: "second bearer from the street", Cause: "an old notch for a pipe", Supports: []string{"B2-3"}},
	})
	if err != nil {
		return nil, err
	}
	other, err := events.Receive(bytes.Replace(last.Raw, []byte("hatch closed"), []byte("hatch closed, ladder left below"), 1))
	return []Stray{{wrong, lost}, {waiting.Job.ID, other}}, err
}

// load sends a stray. It may be repeated: what is kept apart is kept once.
func (s Stray) load(ctx context.Context, c *client.Client) error {
	_, err := c.Append(ctx, s.Job, []events.Incoming{s.Record})
	var refused *client.Refused
	var apart *client.KeptApart
	switch {
	case errors.As(err, &apart), errors.As(err, &refused) && refused.Status == http.StatusNotFound:
		return nil
	case err == nil:
		return fmt.Errorf("a stray %s found a place in a book", s.Record.Event.Kind)
	}
	return err
}
