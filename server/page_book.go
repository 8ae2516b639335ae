package server

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// bookLines is how many lines one page of the book holds.
const bookLines = 200

// getBookPage is GET /jobs/{job}/book?before=&after=&at= with the fields of a
// filter. Without a place it shows the end of the book.
func (p *pages) getBookPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.BookPage{Frame: p.frame(r, v, "Book of "+v.job.Name), Filter: web.ReadBookFilter(r.URL.Query())}
	page.Live = v.live()
	v.fillChoices(&page)
	if page.Filter.Set() {
		err = p.fillSifted(r, v, &page)
	} else {
		err = p.fillBook(r, v, &page)
	}
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// fillChoices lists what the book can be filtered by.
func (v view) fillChoices(page *web.BookPage) {
	for _, s := range v.picture.Supports {
		page.Places = append(page.Places, s.ID)
	}
	for _, s := range v.picture.Spots {
		page.Places = append(page.Places, s.ID)
	}
	for _, d := range v.picture.Datums {
		page.Places = append(page.Places, d.ID)
	}
	for _, k := range events.Kinds() {
		page.Kinds = append(page.Kinds, web.Choice{Value: string(k), Label: v.say(jobs.KindWords(k))})
	}
	slices.SortFunc(page.Kinds, func(a, b web.Choice) int { return cmp.Compare(a.Label, b.Label) })
	for _, one := range v.people {
		page.People = append(page.People, web.Choice{Value: one.ID.String(), Label: one.Name})
	}
	for _, u := range v.picture.Setups {
		page.Setups = append(page.Setups, web.Choice{Value: u.ID.String(), Label: u.Instrument + ", " + u.At.Format("2 Jan 15:04")})
	}
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
		page.Earlier = v.book("after", max(0, after-bookLines), page.Filter)
	}
	if page.Last < total {
		page.Later = v.book("after", page.Last, page.Filter)
	}
	return nil
}

// fillSifted shows the lines that a filter lets through, those before a number of
// the book.
func (p *pages) fillSifted(r *http.Request, v view, page *web.BookPage) error {
	total := v.picture.Seq
	before, later := total+1, false
	if n, ok := place(r, "before"); ok && n <= total {
		before, later = n, true
	}
	lines, earliest, err := p.sift(r.Context(), v, page.Filter, before)
	if err != nil {
		return err
	}
	page.Lines = lines
	page.First, page.Last, page.Total = earliest, before-1, total
	if earliest > 1 {
		page.Earlier = v.book("before", earliest, page.Filter)
	}
	if later {
		page.Later = v.book("before", total+1, page.Filter)
	}
	return nil
}

func place(r *http.Request, name string) (int64, bool) {
	n, err := strconv.ParseInt(r.URL.Query().Get(name), 10, 64)
	return n, err == nil && n >= 0
}

func (v view) book(name string, n int64, filter web.BookFilter) string {
	q := filter.Query()
	q.Set(name, strconv.FormatInt(n, 10))
	return v.base() + "/book?" + q.Encode()
}

// bookOf writes events as lines of the book.
func (p *pages) bookOf(ctx context.Context, v view, stored []events.Stored) ([]web.BookLine, error) {
	flags := v.flagsByEvent()
	kit, err := p.config.Store.KitRecords(ctx, v.key.firm)
	if err != nil {
		return nil, err
	}
	lines := make([]web.BookLine, len(stored))
	err = p.states.useIn(ctx, v.key, v.firm, func(state *jobs.State) {
		for i, e := range stored {
			lines[i] = v.line(state.Line(e), e, flags)
			lines[i].Flags = append(lines[i].Flags, kit.Speaks(e, v.zone)...)
		}
	})
	return lines, err
}

func (v view) flagsByEvent() map[events.ID][]string {
	flags := map[events.ID][]string{}
	for _, f := range v.picture.Flags {
		flags[f.ID] = append(flags[f.ID], f.Text)
	}
	return flags
}

func (v view) line(l jobs.Line, e events.Stored, flags map[events.ID][]string) web.BookLine {
	at := e.At.In(v.zone)
	b := web.BookLine{Line: l, Day: at.Format(web.Day + " 2006"), Time: at.Format(web.Clock), By: v.names[e.By], Photos: photosOf(e), Href: v.bookLine(l.Seq), Flags: flags[e.ID]}
	switch {
	case e.Erased || e.Kind == events.KindVoid:
	case l.Voided == "":
		b.VoidHref = v.base() + "/record/void?" + url.Values{"event": {e.ID.String()}, "line": {strconv.FormatInt(e.Seq, 10)}}.Encode()
	default:
		b.AgainHref = v.again(l)
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
