package server

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// bookLines is how many lines one page of the book holds.
const bookLines = 200

// getBookPage is GET /jobs/{job}/book?support=&before=&after=&at=. Without a place it
// shows the end of the book.
func (p *pages) getBookPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	support := r.URL.Query().Get("support")
	page := web.BookPage{Frame: p.frame(r, v, "Book of "+v.job.Name), Support: support}
	page.Live = v.live()
	for _, s := range v.picture.Supports {
		page.Supports = append(page.Supports, s.ID)
	}
	if support == "" {
		err = p.fillBook(r, v, &page)
	} else {
		err = p.fillOwn(r, v, &page)
	}
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// fillBook reads one page of the whole book.
func (p *pages) fillBook(r *http.Request, v view, page *web.BookPage) error {
	total := v.picture.Seq
	after := max(0, total-bookLines)
	if n, ok := place(r, "after"); ok {
		after = min(n, total)
	} else if n, ok := place(r, "at"); ok {
		after = min(max(0, n-bookLines/2), after)
	}
	stored, err := p.config.Log.Read(r.Context(), v.key.firm, v.key.job, after, bookLines)
	if err != nil {
		return fmt.Errorf("read the book: %w", err)
	}
	if page.Lines, err = p.bookOf(r.Context(), v, stored); err != nil {
		return err
	}
	page.First, page.Last, page.Total = after+1, after+int64(len(stored)), total
	if after > 0 {
		page.Earlier = v.book("after", max(0, after-bookLines), "")
	}
	if page.Last < total {
		page.Later = v.book("after", page.Last, "")
	}
	return nil
}

// fillOwn shows the lines about one support, those before a number of the book.
func (p *pages) fillOwn(r *http.Request, v view, page *web.BookPage) error {
	total := v.picture.Seq
	before, later := total+1, false
	if n, ok := place(r, "before"); ok && n <= total {
		before, later = n, true
	}
	lines, earliest, err := p.ownBefore(r.Context(), v, page.Support, before, bookLines)
	if err != nil {
		return err
	}
	page.Lines = lines
	page.First, page.Last, page.Total = earliest, before-1, total
	if earliest > 1 {
		page.Earlier = v.book("before", earliest, page.Support)
	}
	if later {
		page.Later = v.book("before", total+1, page.Support)
	}
	return nil
}

func place(r *http.Request, name string) (int64, bool) {
	n, err := strconv.ParseInt(r.URL.Query().Get(name), 10, 64)
	return n, err == nil && n >= 0
}

func (v view) book(name string, n int64, support string) string {
	q := url.Values{name: {strconv.FormatInt(n, 10)}}
	if support != "" {
		q.Set("support", support)
	}
	return v.base() + "/book?" + q.Encode()
}

// bookOf writes events as lines of the book.
func (p *pages) bookOf(ctx context.Context, v view, stored []events.Stored) ([]web.BookLine, error) {
	flags := map[events.ID][]string{}
	for _, f := range v.picture.Flags {
		flags[f.ID] = append(flags[f.ID], f.Text)
	}
	lines := make([]web.BookLine, len(stored))
	err := p.states.use(ctx, v.key, func(state *jobs.State) {
		for i, e := range stored {
			lines[i] = v.line(state.Line(e), e)
			lines[i].Flags = flags[e.ID]
		}
	})
	return lines, err
}

func (v view) line(l jobs.Line, e events.Stored) web.BookLine {
	at := e.At.In(v.zone)
	b := web.BookLine{Line: l, Day: at.Format(web.Day + " 2006"), Time: at.Format(web.Clock), By: v.names[e.By], Photos: photosOf(e)}
	if l.Voided == "" && e.Kind != events.KindVoid && !e.Erased {
		b.VoidHref = v.base() + "/record/void?" + url.Values{"event": {e.ID.String()}, "line": {strconv.FormatInt(e.Seq, 10)}}.Encode()
	}
	return b
}

// photosOf are the photos and sounds of an event.
func photosOf(e events.Stored) []web.Photo { return photosIn(e.Files) }

// photosIn are files as pages show them.
func photosIn(files []events.File) (photos []web.Photo) {
	for _, f := range files {
		address := "/api/v1/photos/" + f.SHA256.String()
		photo := web.Photo{Small: address + "?size=320", Full: address + "?size=1600", Alt: "Photo", Sound: f.Type == events.Sound}
		if photo.Sound {
			photo.Full = address
		}
		if f.Subject != "" {
			photo.Alt += " of " + f.Subject
		}
		if f.Stage != "" {
			photo.Alt += ", " + string(f.Stage)
		}
		photos = append(photos, photo)
	}
	return photos
}
