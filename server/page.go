package server

import (
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// pages are what people look at. What is recorded on them is recorded by the
// desk, a device of its own.
type pages struct {
	*Server
	desk *desk
}

// pageRoutes adds the pages for people.
func (s *Server) pageRoutes(r *mux.Router) {
	p := &pages{Server: s, desk: newDesk(s.config.Now, s.config.Random)}
	s.problemPage = p.problem
	own := firmRoutes{s, r, ""}
	r.PathPrefix("/static/").Handler(web.Static()).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/enter", s.answer(p.getEnter)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/enter", s.answer(p.postEnter)).Methods(http.MethodPost)
	r.Handle("/trust", s.answer(p.getTrustPage)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/root.crt", s.answer(p.getRoot)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/phone", http.RedirectHandler(phonePath, http.StatusSeeOther)).Methods(http.MethodGet, http.MethodHead)
	r.PathPrefix(phonePath).Handler(s.answer(p.getPhoneApp)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/verify", s.answer(p.getVerifyPage)).Methods(http.MethodGet, http.MethodHead)
	r.PathPrefix(web.VerifyPath).Handler(s.answer(p.getVerifyFile)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/pair", s.answer(p.getPairPage)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/pair", s.answer(p.postPairPage)).Methods(http.MethodPost)
	r.Handle("/api", s.answer(p.getAPIPage)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/leave", s.answer(p.postLeave)).Methods(http.MethodPost)
	r.Handle(calendarPath+"{token}.ics", s.answer(p.getCalendar)).Methods(http.MethodGet, http.MethodHead) // its token opens it
	own.get("/jobs/{job}", p.getJobPage)
	own.get("/jobs/{job}/supports/{support}", p.getSupportPage)
	own.get("/jobs/{job}/book", p.getBookPage)
	own.get("/jobs/{job}/choices", p.getChoicesPage)
	own.get("/jobs/{job}/packers", p.getPackersPage)
	own.get("/jobs/{job}/moves", p.getMovesPage)
	own.get("/jobs/{job}/lines", p.getLinesPage)
	own.get("/jobs/{job}/shading", p.getShadingPage)
	own.get("/jobs/{job}/owner", p.getOwnerPreview)
	p.packRoutes(own)
	own.get("/jobs/{job}/record/{kind}", p.getRecordPage)
	own.get("/jobs/{job}/records", p.getRecordsPage)
	own.post("/jobs/{job}/record/{kind}", p.postRecord)
	p.jobRoutes(own)
	p.startRoutes(own)
	p.officeRoutes(own)
	p.accountRoutes(own)
	p.sheetRoutes(own, firmRoutes{s, r, "/api/v1"})
	p.findingRoutes(own)
	p.stopRoutes(own)
	p.changeRoutes(own)
	p.planRoutes(own)
	p.quarantineRoutes(own)
	own.get("/jobs/{job}/checkpoint", p.getCheckpointPage)
	own.get("/search", p.getSearchPage)
	own.get("/firm", p.getFirmPage)
	own.post("/firm", p.postFirmPage)
	p.hookRoutes(own, firmRoutes{s, r, "/api/v1"})
	p.shareRoutes(own, firmRoutes{s, r, "/api/v1"})
	p.ownerRoutes(r)
}

// show sends a page.
func show(w http.ResponseWriter, status int, p web.Page) error {
	b, err := web.Render(p)
	if err != nil {
		return err
	}
	sendPage(w, status, b)
	return nil
}

// problem shows what went wrong. Who has not entered is led to where one does.
func (p *pages) problem(w http.ResponseWriter, r *http.Request, problem Problem) {
	w.Header().Del("WWW-Authenticate") // browsers would ask for a password
	if problem.Status == http.StatusUnauthorized {
		http.Redirect(w, r, "/enter", http.StatusSeeOther)
		return
	}
	page := web.ProblemPage{Frame: web.Frame{Title: problem.Title}, Status: problem.Status, Detail: problem.Detail}
	if problem.Status >= 500 {
		page.ID = problem.RequestID
	}
	if share, is := mux.Vars(r)["share"]; is && strings.HasPrefix(r.URL.Path, sharePath) {
		page.Owner = sharePath + pathEscape(share)
	}
	if err := show(w, problem.Status, page); err != nil {
		p.config.Logger.ErrorContext(r.Context(), "problem page", "err", err)
	}
}

// view is one job as a page needs it: with its firm, its people, its zone.
type view struct {
	key     jobKey
	firm    jobs.Firm
	job     jobs.Job
	people  []jobs.Person
	names   map[events.ID]string
	zone    *time.Location
	now     time.Time
	picture jobs.Picture
}

// look gathers what pages of a job have in common.
func (p *pages) look(r *http.Request, firm events.ID) (v view, err error) {
	if v.key, err = keyOf(r, firm); err != nil {
		return v, err
	}
	ctx, store := r.Context(), p.config.Store
	if v.job, err = store.FindJob(ctx, firm, v.key.job); err != nil {
		return v, err
	}
	if v.firm, err = store.FindFirm(ctx, firm); err != nil {
		return v, err
	}
	if v.people, err = store.ListPeople(ctx, firm); err != nil {
		return v, err
	}
	v.names = namesOf(v.people)
	v.zone = zoneOf(v.job)
	v.now = p.config.Now().In(v.zone)
	v.picture, err = p.states.pictureIn(ctx, v.key, v.now, v.firm)
	for i := range v.picture.Setups {
		v.picture.Setups[i].At = v.picture.Setups[i].At.In(v.zone)
	}
	return v, err
}

// working are those who work here now, to choose from: who left is named where they
// recorded something, and nowhere else.
func working(people []jobs.Person) []jobs.Person {
	return slices.DeleteFunc(slices.Clone(people), func(one jobs.Person) bool { return !one.LeftAt.IsZero() })
}

func namesOf(people []jobs.Person) map[events.ID]string {
	names := make(map[events.ID]string, len(people))
	for _, one := range people {
		names[one.ID] = one.Name
	}
	return names
}

// zoneOf is where a job's clock is; a zone nobody knows is shown as UTC.
func zoneOf(j jobs.Job) *time.Location {
	zone, err := time.LoadLocation(j.Zone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// frame is what stands around a page of a job. What was just saved is named by
// its event, so that no address can put words on the page.
func (p *pages) frame(r *http.Request, v view, title string) web.Frame {
	f := p.frameOf(r, v.firm, title)
	f.Job, f.Seq, f.Here = &v.job, v.picture.Seq, r.URL.RequestURI()
	if id, err := events.ParseID(r.URL.Query().Get("saved")); err == nil {
		f.Saved, f.Warned = p.said(r, v.key, id)
		f.Here = withoutSaved(r)
	}
	return f
}

func withoutSaved(r *http.Request) string {
	u := *r.URL
	q := u.Query()
	q.Del("saved")
	u.RawQuery = q.Encode()
	return u.RequestURI()
}

// base is the address of the job's page.
func (v view) base() string { return "/jobs/" + v.key.job.String() }

func (v view) live() string { return "/api/v1" + v.base() + "/live" }

func (v view) options(turn int) drawing.Options {
	return drawing.Options{
		Units:    v.firm.Units,
		Turn:     turn,
		Link:     func(id string) string { return v.base() + "/supports/" + pathEscape(id) },
		Initials: func(id events.ID) string { return initials(v.names[id]) },
		Words:    v.firm.Words.Words(),
	}
}

// initials of a name: the first letter of each of its words.
func initials(name string) string {
	out := ""
	for _, word := range strings.Fields(name) {
		for _, letter := range word {
			out += string(letter)
			break
		}
	}
	return out
}

func svg(text string) template.HTML {
	return template.HTML(text) // drawings escape what they write
}
