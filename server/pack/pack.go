// Package pack writes what the owner sees as a PDF, for their drawer and the council's
// file: the account of the job in an owner's words, the table of every support, the
// floor before and after as it is drawn on screen, pairs of photos, cautions, and the
// checkpoint by which all of it can be checked years later.
//
// A pack is a function of what it is given: the same account, drawings and photos give
// the same bytes. It is laid out twice, first without photos to learn how many pages
// it has, so that each page can say "3 of 40" and nobody has to wait without knowing
// for how long; photos go through one at a time, and none is kept in memory.
package pack

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/server/pdf"
)

// Layout is counted up when packs come to look otherwise, so that one that was made
// before is not handed out as if it were new.
const Layout = 2

// Paper is the size of the sheets.
type Paper string

// The papers that a pack can be printed on.
const (
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// Papers are all of them, the one first that a region's offices have.
func Papers(r jobs.Region) []Paper {
	if r == jobs.NorthAmerica {
		return []Paper{Letter, A4}
	}
	return []Paper{A4, Letter}
}

// Known reports whether it is a paper.
func (p Paper) Known() bool { return p == A4 || p == Letter }

func (p Paper) sheet() pdf.Paper {
	if p == Letter {
		return pdf.Letter
	}
	return pdf.A4
}

// Pack is what is written.
type Pack struct {
	ID      string // of the job and the state of its record
	Account answers.Account
	Words   jobs.Words
	Lang    string // by RFC 5646
	Paper   Paper
	Prints  []Print    // of the floor
	Times   []Print    // of places that were read again
	Checked Checkpoint // zero where the log was not signed yet

	// Photo reads a photo at the size for paper, a JPEG made from its pixels alone.
	// What has not arrived is events.ErrNotFound; the pack says so in its place.
	Photo func(ctx context.Context, file events.Digest) ([]byte, error)
}

// Print is a drawing of the floor: what it shows, and how it is drawn.
type Print struct {
	Heading string // what a group of drawings shows, on the first of them
	Name    string // "As found"
	Note    string // beneath the heading
	SVG     string // "" where there is none, and Note says why
}

// Checkpoint is the signed state of the job's log that the account rests on.
type Checkpoint struct {
	Text      string // a signed note, as it is checked
	Size      int64  // how many lines of the book it covers
	Keys      string // where the keys are told by which it is checked, "" where there is no such place
	Disagrees bool   // the log is not what was signed before: there is no checkpoint of it
}

// Progress is told of each page as it is begun.
type Progress func(page, of int)

// Write writes the pack and answers how many pages it has.
func (k Pack) Write(ctx context.Context, w io.Writer, told Progress) (pages int, err error) {
	plan := k
	plan.Photo = nil
	counted, err := plan.lay(ctx, io.Discard, layout{})
	if err != nil {
		return 0, err
	}
	real, err := k.lay(ctx, w, layout{of: counted.doc.Pages(), contents: counted.headings, told: told})
	if err != nil {
		return 0, err
	}
	if got := real.doc.Pages(); got != real.of {
		return 0, fmt.Errorf("lay out a pack: %d pages with photos, %d without", got, real.of)
	}
	return real.of, nil
}

// layout is what the first time of laying out found for the second.
type layout struct {
	of       int
	contents []heading
	told     Progress
}

// heading is one that stands in the list of contents.
type heading struct {
	words string
	page  int
}

func (k Pack) lay(ctx context.Context, w io.Writer, l layout) (*flow, error) {
	f := newFlow(ctx, w, k, l)
	for _, part := range []func(*flow){
		k.front, k.answers, k.supports, k.prints, k.pairs, k.then, k.glossary, k.cautions, k.proof,
	} {
		part(f)
		if err := errors.Join(f.err, ctx.Err(), f.doc.Err()); err != nil {
			return nil, fmt.Errorf("write a pack: %w", err)
		}
	}
	if err := f.doc.Close(); err != nil {
		return nil, fmt.Errorf("write a pack: %w", err)
	}
	return f, nil
}

// about is what the document says of itself. A job without records has no time.
func (k Pack) about() pdf.About {
	made := k.Account.AsOf
	if made.IsZero() {
		made = time.Unix(0, 0)
	}
	return pdf.About{ID: k.ID, Title: k.Account.Job + ": what was done under the floor", Author: k.Account.Firm, Lang: k.Lang, Producer: "relevel", Made: made}
}
