package server

import (
	"fmt"
	"io"
	"mime"
	"net/http"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/pack"
	"relevel/server/web"
)

// packRoutes lists the pages of packs.
func (p *pages) packRoutes(own firmRoutes) {
	own.get("/jobs/{job}/pack", p.getPackPage)
	own.post("/jobs/{job}/pack", p.postPackPage)
	own.get("/jobs/{job}/packs/{pack}", p.getPack)
}

// getPackPage is GET /jobs/{job}/pack: the packs of a job, made and being made, and
// what to ask for another by.
func (p *pages) getPackPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.packPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) packPage(r *http.Request, firm events.ID) (page web.PackPage, err error) {
	v, err := p.look(r, firm)
	if err != nil {
		return page, err
	}
	page = web.PackPage{Frame: p.frame(r, v, "Pack for the owner, "+v.job.Name), Around: v.around("/pack")}
	for _, one := range pack.Papers(v.firm.Words) {
		page.Papers = append(page.Papers, string(one))
	}
	all, err := p.config.Store.ListPacks(r.Context(), firm, v.key.job)
	for _, one := range all {
		page.Packs = append(page.Packs, v.packLine(one))
		page.Waits = page.Waits || one.Waits()
	}
	return page, err
}

// packLine is one pack as a page tells of it.
func (v view) packLine(p jobs.Pack) web.PackLine {
	line := web.PackLine{
		Paper: p.Paper, UpTo: p.UpTo, Asked: web.When(p.Asked.In(v.zone), v.now), Failed: p.Failed,
		Behind: v.picture.Seq - p.UpTo, Page: p.Page, Pages: p.Pages, Waits: p.Waits(),
	}
	if p.Ready() {
		line.Href, line.Size = v.base()+"/packs/"+p.ID.String(), sizeWords(p.Bytes)
	}
	return line
}

// sizeWords says how large a file is: "3.4 MB".
func sizeWords(bytes int64) string {
	mb := float64(bytes) / 1e6
	if mb >= 10 {
		return strconv.FormatFloat(mb, 'f', 0, 64) + " MB"
	}
	return strconv.FormatFloat(max(mb, 0.1), 'f', 1, 64) + " MB"
}

// postPackPage is POST /jobs/{job}/pack: asks for a pack of the record as it is now.
func (p *pages) postPackPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	paper := pack.Paper(r.PostFormValue("paper"))
	if !paper.Known() {
		page, err := p.packPage(r, firm)
		if err != nil {
			return err
		}
		page.Wrong = web.Wrong{"paper": "A4 or Letter"}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if _, err := p.packs.ask(r.Context(), key, paper, wholeRecord); err != nil {
		return err
	}
	http.Redirect(w, r, "/jobs/"+key.job.String()+"/pack", http.StatusSeeOther)
	return nil
}

// wholeRecord is beyond the end of every record.
const wholeRecord = 1 << 53

// getPack is GET /jobs/{job}/packs/{pack}: the file of one that was made.
func (p *pages) getPack(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	id, err := events.ParseID(mux.Vars(r)["pack"])
	if err != nil {
		return events.ErrNotFound
	}
	return p.sendPack(w, r, key, id)
}

// sendPack sends the file of a pack of a job.
func (s *Server) sendPack(w http.ResponseWriter, r *http.Request, key jobKey, id events.ID) error {
	found, err := s.config.Store.FindPack(r.Context(), key.firm, id)
	if err != nil {
		return err
	}
	if found.Job != key.job || !found.Ready() {
		return events.ErrNotFound
	}
	job, err := s.config.Store.FindJob(r.Context(), key.firm, key.job)
	if err != nil {
		return err
	}
	body, size, err := s.config.Photos.OpenMade(r.Context(), key.firm, found.File)
	if err != nil {
		return err
	}
	defer body.Close()
	h := w.Header()
	h.Set("Content-Type", mediaPDF)
	h.Set("Content-Length", strconv.FormatInt(size, 10))
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": packName(job, found)}))
	w.WriteHeader(http.StatusOK)
	if r.Method == http.MethodHead {
		return nil
	}
	io.Copy(w, body) // a reader that went away is no error of ours, and one that stays sees that it is cut
	return nil
}

// packName is what a pack is called where it is put down.
func packName(j jobs.Job, p jobs.Pack) string {
	name := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '-'
		}
		return r
	}, j.Name)
	return fmt.Sprintf("%s, record %d, %s.pdf", strings.TrimSpace(name), p.UpTo, p.Paper)
}
