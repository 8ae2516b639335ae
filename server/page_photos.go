package server

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// mostPrints is how many prints one sheet holds, whole subjects at a time.
const mostPrints = 400

// unsaid asks for what was taken at a stage that nobody said.
const unsaid = "unsaid"

// getPhotosPage is GET /jobs/{job}/photos?of=&stage=&day=&by=&lacking=&from=.
func (p *pages) getPhotosPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	all := jobs.Shots(entries)
	asked := r.URL.Query()
	page := web.PhotosPage{Frame: p.frame(r, v, "Photos of "+v.job.Name), Around: v.around("/photos"), All: len(all), Filter: v.photoFilter(all, asked)}
	page.Live = v.live()
	album := v.album(all, asked)
	shots := inOrder(album)
	page.Shown = len(shots)
	album, more := sheetOf(album, asked.Get("from"))
	if more > 0 {
		asked.Set("from", strconv.Itoa(more))
		page.More = v.base() + "/photos?" + asked.Encode()
	}
	here, err := p.arrived(r.Context(), v, shots)
	if err != nil {
		return err
	}
	asked.Del("from")
	for _, s := range album {
		page.Subjects = append(page.Subjects, v.photoLine(s, here, asked))
	}
	for _, s := range shots {
		if !here[s.SHA256] {
			page.Away++
		}
	}
	return show(w, http.StatusOK, page)
}

// sheetOf takes as many whole subjects as a sheet holds, from the one that the
// address names. more is the first that is left, 0 of none.
func sheetOf(album []jobs.Subject, from string) (sheet []jobs.Subject, more int) {
	first, err := strconv.Atoi(from)
	if err != nil || first < 0 || first > len(album) {
		first = 0
	}
	prints := 0
	for i, s := range album[first:] {
		prints += len(s.Before) + len(s.During) + len(s.After) + len(s.Unsaid)
		if i > 0 && prints > mostPrints {
			return album[first : first+i], first + i
		}
	}
	return album[first:], 0
}

// album is what an address asks for, by what it shows.
func (v view) album(all []jobs.Shot, asked url.Values) []jobs.Subject {
	album := v.picture.Album(v.picked(all, asked))
	if asked.Get("lacking") == "" {
		return album
	}
	return slices.DeleteFunc(album, func(s jobs.Subject) bool { return s.Lacks() == "" })
}

// inOrder are the shots of an album one after another, as they lie on the sheet.
func inOrder(album []jobs.Subject) (out []jobs.Shot) {
	for _, s := range album {
		out = slices.Concat(out, s.Before, s.During, s.After, s.Unsaid)
	}
	return out
}

// picked are the shots that an address asks for.
func (v view) picked(all []jobs.Shot, asked url.Values) []jobs.Shot {
	out := slices.Clone(all)
	return slices.DeleteFunc(out, func(s jobs.Shot) bool {
		stage := asked.Get("stage")
		return asked.Get("of") != "" && s.Of != asked.Get("of") ||
			stage == unsaid && s.Stage != "" ||
			stage != "" && stage != unsaid && string(s.Stage) != stage ||
			asked.Get("day") != "" && v.dayOf(s) != asked.Get("day") ||
			asked.Get("by") != "" && s.Entry.By.String() != asked.Get("by")
	})
}

// dayOf is the date on which a shot was taken, where the job is.
func (v view) dayOf(s jobs.Shot) string { return s.TakenAt.In(v.zone).Format(time.DateOnly) }

// photoFilter is what can be asked for: what there are photos of, the days and
// the people who took them.
func (v view) photoFilter(all []jobs.Shot, asked url.Values) web.PhotoFilter {
	f := web.PhotoFilter{Of: asked.Get("of"), Stage: asked.Get("stage"), Day: asked.Get("day"), By: asked.Get("by"), Lacking: asked.Get("lacking") != ""}
	for _, s := range v.picture.Album(all) {
		if s.Name != "" {
			f.Subjects = append(f.Subjects, web.Choice{Value: s.Name, Label: s.Name})
		}
	}
	days, people := map[string]bool{}, map[events.ID]bool{}
	for _, s := range slices.Backward(all) {
		if day := v.dayOf(s); !days[day] {
			days[day] = true
			f.Days = append(f.Days, web.Choice{Value: day, Label: dayTitle(day)})
		}
		if name := v.names[s.Entry.By]; name != "" && !people[s.Entry.By] {
			people[s.Entry.By] = true
			f.People = append(f.People, web.Choice{Value: s.Entry.By.String(), Label: name})
		}
	}
	return f
}

// arrived are those of some files that the server has.
func (p *pages) arrived(ctx context.Context, v view, shots []jobs.Shot) (map[events.Digest]bool, error) {
	files := make([]events.Digest, len(shots))
	for i, s := range shots {
		files[i] = s.SHA256
	}
	kept, err := p.config.Photos.Ledger.FindAll(ctx, v.key.firm, files)
	if err != nil {
		return nil, err
	}
	here := map[events.Digest]bool{}
	for _, k := range kept {
		here[k.SHA256] = k.State.Safe()
	}
	return here, nil
}

// photoLine is one subject as it lies on the sheet.
func (v view) photoLine(s jobs.Subject, here map[events.Digest]bool, asked url.Values) web.PhotoLine {
	line := web.PhotoLine{Name: s.Name, Sort: v.sortWord(s.Sort), Lacks: string(s.Lacks())}
	for _, c := range []struct {
		stage string
		shots []jobs.Shot
	}{{"before", s.Before}, {"during", s.During}, {"after", s.After}, {"stage not said", s.Unsaid}} {
		column := web.PhotoColumn{Stage: c.stage}
		for _, shot := range c.shots {
			one := v.printOf(shot)
			one.Away = !here[shot.SHA256]
			if len(asked) > 0 && !one.Sound {
				one.Line += "?" + asked.Encode()
			}
			column.Photos = append(column.Photos, one)
		}
		line.Columns = append(line.Columns, column)
	}
	return line
}

// sortWord is what the firm calls a sort of subject.
func (v view) sortWord(sort string) string {
	if sort == "support" {
		return v.firm.Words.Words().Support
	}
	return sort
}

// printOf is one photo or sound with what it shows in words.
func (v view) printOf(s jobs.Shot) web.Photo {
	address := "/api/v1/photos/" + s.SHA256.String()
	when := web.When(s.TakenAt.In(v.zone), v.now)
	out := web.Photo{Small: address + "?size=320", Full: address + "?size=1600", When: when, Apart: s.Entry.Apart, Sound: s.Type == events.Sound}
	what := "Photo"
	if out.Sound {
		what, out.Full = "Sound", address
	}
	if s.Of != "" {
		what += " of " + s.Of
	}
	out.Alt = joined(", ", what, string(s.Stage), when)
	out.Line = v.base() + "/photos/" + strconv.FormatInt(s.Entry.Seq, 10) + "/" + strconv.Itoa(s.No)
	return out
}

// getShotPage is GET /jobs/{job}/photos/{seq}/{no}, with the filter of the sheet
// that led to it.
func (p *pages) getShotPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	asked := r.URL.Query()
	shots := slices.DeleteFunc(inOrder(v.album(jobs.Shots(entries), asked)), func(s jobs.Shot) bool { return s.Type != events.Photo })
	vars := mux.Vars(r)
	at := slices.IndexFunc(shots, func(s jobs.Shot) bool {
		return strconv.FormatInt(s.Entry.Seq, 10) == vars["seq"] && strconv.Itoa(s.No) == vars["no"]
	})
	if at < 0 {
		return refuse(http.StatusNotFound, "There is no photo of that number on this sheet.")
	}
	here, err := p.arrived(r.Context(), v, shots[at:at+1])
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, v.shotPage(p.frame(r, v, "Photo, "+v.job.Name), shots, at, !here[shots[at].SHA256], asked))
}

// shotPage is one photo of those that are gone through.
func (v view) shotPage(f web.Frame, shots []jobs.Shot, at int, away bool, asked url.Values) web.ShotPage {
	s := shots[at]
	page := web.ShotPage{Frame: f, Photo: v.printOf(s), Heading: s.Of, At: at + 1, Of: len(shots), Book: v.bookLine(s.Entry.Seq), Back: v.base() + "/photos"}
	page.Photo.Away = away
	page.Original = "/api/v1/photos/" + s.SHA256.String() + "?size=original"
	query := ""
	if len(asked) > 0 {
		query = "?" + asked.Encode()
	}
	page.Back += query
	if at > 0 {
		page.Prev = v.printOf(shots[at-1]).Line + query
	}
	if at+1 < len(shots) {
		page.Next = v.printOf(shots[at+1]).Line + query
	}
	page.Facts = []web.Fact{{Name: "Stage", Value: string(s.Stage)}, {Name: "Taken", Value: s.TakenAt.In(v.zone).Format(web.Day + " 2006 " + web.Clock)},
		{Name: "By", Value: v.names[s.Entry.By]}, {Name: "With", Value: joined(": ", v.say(jobs.KindWords(s.Entry.Kind)), s.Entry.Text)}, {Name: "Does not count", Value: s.Entry.Apart}}
	page.Facts = slices.DeleteFunc(page.Facts, func(f web.Fact) bool { return f.Value == "" })
	return page
}
