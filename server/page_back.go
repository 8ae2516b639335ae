package server

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"relevel/events"
	"relevel/server/web"
)

const (
	backPage   = 250  // events read at once on the way back
	mostLooked = 2000 // events one page looks back over, so that a long job opens as fast as a short one
)

// lookBack reads a job's events backward from before a number and shows them to
// visit, a few hundred at a time in the order of the log, until that has enough
// or mostLooked were read. It answers with the number of the earliest one shown.
func (p *pages) lookBack(ctx context.Context, key jobKey, before int64, visit func([]events.Stored) (enough bool, err error)) (earliest int64, err error) {
	return p.lookFar(ctx, key, before, stride{backPage, mostLooked}, visit)
}

// stride says how many events are read at once on the way back, and how many in all.
type stride struct{ step, most int64 }

// lookFar is lookBack with a stride of its own.
func (p *pages) lookFar(ctx context.Context, key jobKey, before int64, by stride, visit func([]events.Stored) (enough bool, err error)) (earliest int64, err error) {
	earliest = before
	for stop := max(1, before-by.most); earliest > stop; {
		after := max(stop, earliest-by.step) - 1
		stored, err := p.config.Log.Read(ctx, key.firm, key.job, after, int(earliest-1-after))
		if err != nil {
			return earliest, fmt.Errorf("read the book: %w", err)
		}
		earliest = after + 1
		if enough, err := visit(stored); enough || err != nil {
			return earliest, err
		}
	}
	return earliest, nil
}

// ownBefore are the last lines before a number that name a support, in the
// order of the book, and the number of the earliest event looked at.
func (p *pages) ownBefore(ctx context.Context, v view, support string, before int64, most int) ([]web.BookLine, int64, error) {
	var own []events.Stored
	earliest, err := p.lookBack(ctx, v.key, before, func(stored []events.Stored) (bool, error) {
		for _, e := range slices.Backward(stored) {
			if names(e, support) {
				own = append(own, e)
			}
		}
		return len(own) >= most, nil
	})
	if err != nil {
		return nil, 0, err
	}
	if len(own) > most {
		own = own[:most]
		earliest = own[most-1].Seq
	}
	slices.Reverse(own)
	lines, err := p.bookOf(ctx, v, own)
	return lines, earliest, err
}

// names reports whether an event is about a support. Most are not, which shows
// without reading them.
func names(e events.Stored, support string) bool {
	quoted, err := json.Marshal(support)
	if err != nil || e.Erased || !bytes.Contains(e.Body, quoted) {
		return false
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	return err == nil && slices.Contains(body.Points(), support)
}
