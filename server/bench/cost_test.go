//go:build bench

package bench

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image/jpeg"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
)

// How much of each thing is done to tell what one of them costs.
const (
	costEvents  = 2000
	costBatches = 40
	costBatch   = 50 // what a phone sends that comes back from a day below
	costPhotos  = 20
	costLooks   = 100
)

// pageLimit is how long the server may take for a page in 95 of 100 times.
const pageLimit = 30 * time.Millisecond

// cost is what one of a thing takes of the machine.
type cost struct {
	name              string
	program, postgres time.Duration // of processors
	written           written       // bytes
}

func (c cost) processors() time.Duration { return c.program + c.postgres }

// disk is how many bytes are written in all.
func (c cost) disk() int64 { return c.written.journal + c.written.pages + c.written.files }

func (c cost) print() {
	fmt.Printf("%-34s %8s %8s %10s %10s %10s\n", c.name, ms(c.program), ms(c.postgres), thousands(c.written.journal), thousands(c.written.pages), thousands(c.written.files))
}

func ms(d time.Duration) string {
	return fmt.Sprintf("%.2f", float64(d)/float64(time.Millisecond))
}

// TestCost prints what an event, a photo and a page cost, of processors and of the disk,
// with all that the program does behind its answers, in a firm of 500 open jobs; how
// long its pages take; and what a machine of two processors carries by that. `make cost`
// runs it.
func TestCost(t *testing.T) {
	s := &scaleSet{served: serve(t, ""), firms: 2, most: longJob, stretch: 0.5}
	s.grow(1 << 40)
	large := s.all[1]
	some := large.jobs[:40]
	fmt.Printf("%s records of %d jobs, %d of them of the firm that is asked\n\n", thousands(s.events), s.jobs, len(large.jobs))
	fmt.Printf("%-34s %8s %8s %10s %10s %10s\n", "one of these", "program", "Postgres", "journal", "pages", "files")
	fmt.Printf("%-34s %8s %8s %10s %10s %10s\n", "", "ms", "ms", "bytes", "bytes", "bytes")
	for _, j := range some {
		must(t, j.append())
	}
	one := s.costOf("event, one at a time", costEvents, func() { s.each(t, costEvents, func(n int) error { return some[n%len(some)].append() }) })
	batch := s.costOf("event, in batches of 50", costBatches*costBatch, func() {
		s.each(t, costBatches, func(n int) error { return some[n%len(some)].send(costBatch) })
	})
	photos := photosOf(t)
	photo := s.costOf(fmt.Sprintf("photo of %.1f MB, looked at", float64(len(photos[0]))/1e6), costPhotos, func() {
		s.each(t, costPhotos, func(n int) error { return large.site.putAndLook(photos[n]) })
	})
	pages := s.costOfPages(large, some)
	printCapacity(one, batch, photo, pages)
}

// each does something so many times, one after the other.
func (s *served) each(t *testing.T, times int, do func(n int) error) {
	for n := range times {
		must(t, do(n))
	}
}

// costOf measures what something takes that is done so many times, until all that
// follows from it is done and on the disk.
func (s *scaleSet) costOf(name string, times int64, do func()) cost {
	s.settled()
	from, before := s.written(), s.spent()
	do()
	s.settled()
	to := s.written()
	used, wrote := s.spent().minus(before), to.minus(from)
	wrote.files = max(wrote.files, 0) // what was put aside meanwhile may be gone
	c := cost{name, used.program / time.Duration(times), used.postgres / time.Duration(times),
		written{wrote.journal / times, wrote.pages / times, wrote.files / times}}
	c.print()
	return c
}

// putAndLook sends a photo as a phone does, and has both of its smaller sizes made.
func (s *site) putAndLook(photo []byte) error {
	if err := s.putPhoto(photo); err != nil {
		return err
	}
	for _, size := range []events.Size{events.Small, events.Large} {
		if _, err := s.do("GET", fmt.Sprintf("/api/v1/photos/%x?size=%d", sha256.Sum256(photo), size), "", nil); err != nil {
			return err
		}
	}
	return nil
}

// photosOf makes photos of about a megabyte as phones send them: 2560 px wide.
func photosOf(t *testing.T) (all [][]byte) {
	m := colourless(2560, 1920)
	random := rand.New(rand.NewPCG(3, 4))
	for i := range m.Y {
		m.Y[i] = byte(i/2560/8 + random.IntN(20))
	}
	for n := range costPhotos { // no two the same
		for i := range 64 { // the first block is its own
			m.Y[i/8*m.YStride+i%8] = byte(12 * n)
		}
		var b bytes.Buffer
		must(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 78}))
		all = append(all, b.Bytes())
	}
	return all
}

// costOfPages looks at what is asked for often.
func (s *scaleSet) costOfPages(large *scaleFirm, some []*scaleJob) (all []cost) {
	owner := large.site.ownersOf(s.t, some[:10])
	kept := func(n int) *scaleJob { return some[n%len(some)] }
	asked := []struct {
		name string
		path func(n int) (*site, string)
	}{
		{"day sheet", func(int) (*site, string) { return large.site, "/" }},
		{"day sheet, after a record", func(n int) (*site, string) { must(s.t, kept(n).append()); return large.site, "/" }},
		{"job page with its floor", func(n int) (*site, string) { return large.site, "/jobs/" + kept(n).house.job.String() }},
		{"lines along the bearers", func(n int) (*site, string) {
			return large.site, "/jobs/" + kept(n).house.job.String() + "/lines"
		}},
		{"shading of the floor", func(n int) (*site, string) {
			return large.site, "/jobs/" + kept(n).house.job.String() + "/shading"
		}},
		{"owner's page", func(n int) (*site, string) { o := owner[n%len(owner)]; return o.site, o.path }},
		{"phone asks for all it carries", func(n int) (*site, string) {
			return large.site, "/api/v1/phone?device=" + kept(n).house.device.String()
		}},
		{"phone asks for new records", func(n int) (*site, string) {
			j := kept(n)
			return large.site, fmt.Sprintf("/api/v1/jobs/%s/events?after=%d&limit=500", j.house.job, j.house.given-20)
		}},
	}
	var lines []string
	for _, a := range asked {
		var took []time.Duration
		var sent int
		all = append(all, s.costOf(a.name, costLooks, func() {
			for n := range costLooks {
				of, path := a.path(n)
				took = append(took, timed(s.t, func() error { sent = len(of.page(s.t, path)); return nil }))
			}
		}))
		p95 := quantile(took, 0.95)
		lines = append(lines, fmt.Sprintf("%-34s %6.2f  p50 %v p95 %v of at most %v, %.1f KB sent\n", a.name, float64(pageLimit)/float64(p95),
			short(quantile(took, 0.5)), short(p95), pageLimit, float64(sent)/1024))
	}
	fmt.Printf("\n%s", strings.Join(lines, ""))
	return all
}

// visited is an owner's page, and who may see it.
type visited struct {
	site *site
	path string
}

// ownersOf makes an owner's link of each job and opens it.
func (s *site) ownersOf(t *testing.T, some []*scaleJob) (all []visited) {
	for _, j := range some {
		made := s.makeLink(t, j.house.job)
		at, err := url.Parse(made.Link)
		must(t, err)
		client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		resp, err := client.PostForm(s.address+at.Path, url.Values{"code": {made.Code}})
		must(t, err)
		resp.Body.Close()
		one := *s
		if len(resp.Cookies()) != 1 {
			t.Fatalf("%s: no visit", resp.Status)
		}
		one.visit = resp.Cookies()[0]
		all = append(all, visited{&one, at.Path})
	}
	return all
}

// What a crew does on a day, for what a machine carries: records, half of them one at a
// time and half in batches; photos; and looks at pages by it, the office and phones.
const (
	dayEvents = 400
	dayPhotos = 60
	dayLooks  = 300
	dayHours  = 10
	dayShare  = 0.5 // of two processors; the rest is for the hour in which all come at once
)

// printCapacity reckons how many crews two processors carry, and what they write.
func printCapacity(one, batch, photo cost, pages []cost) {
	look := time.Duration(0)
	for _, p := range pages {
		look += p.processors() / time.Duration(len(pages))
	}
	dearest := slices.MaxFunc(pages, func(a, b cost) int { return int(a.processors() - b.processors()) })
	crew := dayEvents/2*one.processors() + dayEvents/2*batch.processors() + dayPhotos*photo.processors() + dayLooks*look
	bytes := dayEvents/2*(one.disk()+batch.disk()) + dayPhotos*photo.disk()
	there := time.Duration(2 * dayShare * dayHours * float64(time.Hour))
	fmt.Printf(`
A crew's day: %d records, half of them one at a time and half in batches, %d photos, %d
looks at pages. That is %d × %s + %d × %s + %d × %s + %d × %s ms = %.1f s of processors,
and %d MB written. Two processors for %d hours, of which a share of %g is used, are %.0f s:
%.0f crews a day. The dearest page is the %s, at %s ms.
`, dayEvents, dayPhotos, dayLooks, dayEvents/2, ms(one.processors()), dayEvents/2, ms(batch.processors()), dayPhotos, ms(photo.processors()), dayLooks, ms(look),
		crew.Seconds(), bytes>>20, dayHours, dayShare, there.Seconds(), there.Seconds()/crew.Seconds(), dearest.name, ms(dearest.processors()))
}
