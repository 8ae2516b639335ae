package server

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/server/drawing"
	"relevel/server/pack"
	"relevel/server/web"
)

// packOf is what a pack of a job is made from: the record up to a number, and beside
// it who the people are, what the firm calls things, and which photos are here.
type packOf struct {
	key   jobKey
	upTo  int64
	job   jobs.Job
	firm  jobs.Firm
	names map[events.ID]string
	book  []jobs.Opened
	here  []events.Digest // photos that can be shown, in order
	seal  pack.Checkpoint
}

// packOf gathers it. A number beyond the end of the record is its end.
func (s *Server) packOf(ctx context.Context, key jobKey, upTo int64) (of packOf, err error) {
	of.key = key
	if of.job, err = s.config.Store.FindJob(ctx, key.firm, key.job); err != nil {
		return of, err
	}
	if of.firm, err = s.config.Store.FindFirm(ctx, key.firm); err != nil {
		return of, err
	}
	people, err := s.config.Store.ListPeople(ctx, key.firm)
	if err != nil {
		return of, err
	}
	of.names = namesOf(people)
	head, err := s.config.Log.Head(ctx, key.firm, key.job)
	if err != nil {
		return of, err
	}
	of.upTo = min(upTo, head.Seq)
	if of.book, err = s.opened.upTo(ctx, key, of.upTo); err != nil {
		return of, err
	}
	if of.here, err = s.photosOf(ctx, key.firm, of.book); err != nil {
		return of, err
	}
	of.seal, err = s.sealOf(ctx, key, of.upTo)
	return of, err
}

// photosOf are the photos of records that the server has.
func (s *Server) photosOf(ctx context.Context, firm events.ID, book []jobs.Opened) (here []events.Digest, err error) {
	var files []events.Digest
	for _, e := range book {
		for _, f := range e.Files {
			if f.Type == events.Photo {
				files = append(files, f.SHA256)
			}
		}
	}
	kept, err := s.config.Photos.Ledger.FindAll(ctx, firm, files)
	if err != nil {
		return nil, err
	}
	for _, k := range kept {
		if k.State.Safe() {
			here = append(here, k.SHA256)
		}
	}
	slices.SortFunc(here, func(a, b events.Digest) int { return slices.Compare(a[:], b[:]) })
	return slices.Compact(here), nil
}

// basis tells apart what packs are made from beside the record: with another basis
// the same record makes another pack.
func (of packOf) basis() events.Digest {
	b, err := json.Marshal(struct {
		Layout int
		Firm   jobs.Firm
		Job    jobs.Job
		Names  map[events.ID]string
		Here   []events.Digest
		Seal   pack.Checkpoint
	}{pack.Layout, of.firm, of.job, of.names, of.here, of.seal})
	if err != nil {
		panic(fmt.Sprintf("write down what a pack rests on: %v", err)) // plain values
	}
	return sha256.Sum256(b)
}

// pack folds the record and says what is printed.
func (s *Server) pack(ctx context.Context, of packOf, paper pack.Paper) (pack.Pack, error) {
	select {
	case s.refolds <- struct{}{}:
		defer func() { <-s.refolds }()
	case <-ctx.Done():
		return pack.Pack{}, ctx.Err()
	}
	stored, err := readAll(ctx, s.config.Log, of.key, of.upTo)
	if err != nil {
		return pack.Pack{}, err
	}
	now := time.Unix(0, 0)
	if n := len(stored); n > 0 {
		now = stored[n-1].RecordedAt // the clock of the record: the same record makes the same pack
	}
	state := jobs.Refold(of.key.job, stored)
	entries := make([]jobs.Entry, len(stored))
	for i, e := range stored {
		entries[i] = state.Entry(jobs.Open(e))
	}
	a := answers.Of(state, entries, answers.About{Job: of.job, Firm: of.firm, Names: of.names, Zone: zoneOf(of.job), Now: now, Has: of.has})
	return pack.Pack{
		ID: fmt.Sprintf("%s/%d", of.key.job, of.upTo), Account: a, Words: of.firm.Words.Words(), Lang: langOf(of.firm.Words), Paper: paper,
		Prints: printsOf(state.Picture(now), a, drawing.Options{Units: of.firm.Units, Words: of.firm.Words.Words(), Plain: true}),
		Times:  timePrints(a), Checked: of.seal,
	}, nil
}

// printsOf are the drawings of the owner's page: the floor before and after, each pair
// on one scale, or why there is none.
func printsOf(p jobs.Picture, a answers.Account, o drawing.Options) (prints []pack.Print) {
	for _, d := range []web.DrawnPair{linesOfOwner(p, o), mapsOfOwner(p, a.Floor, o)} {
		prints = append(prints, pack.Print{Heading: d.Name, Note: d.Note, Name: "Before the work", SVG: string(d.Before)})
		if d.After != "" {
			prints = append(prints, pack.Print{Name: "Now", SVG: string(d.After)})
		}
	}
	return prints
}

// timePrints are the time lines of what was read again.
func timePrints(a answers.Account) (prints []pack.Print) {
	for _, t := range timesOf(a) {
		prints = append(prints, pack.Print{Name: web.Upper(t.Place), SVG: string(t.SVG)})
	}
	return prints
}

func (of packOf) has(photo events.Digest) bool {
	_, found := slices.BinarySearchFunc(of.here, photo, func(a, b events.Digest) int { return slices.Compare(a[:], b[:]) })
	return found
}

// langOf is the language of a region by RFC 5646.
func langOf(r jobs.Region) string {
	switch r {
	case jobs.NewZealand:
		return "en-NZ"
	case jobs.BritainEire:
		return "en-GB"
	case jobs.NorthAmerica:
		return "en-US"
	}
	return "en-AU"
}
