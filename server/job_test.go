package server_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

func TestJobOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	var crew jobs.Crew
	c.send("POST", "/crews", []byte(`{"name":"North"}`)).want(t, 201, &crew)
	id := newID(t)
	body := []byte(fmt.Sprintf(`{"id":"%s","name":"14 Wattle Street","place":"Bega","crew":"%s","zone":"Australia/Sydney"}`, id, crew.ID))
	var made, again jobs.Job
	a := c.send("POST", "/jobs", body).want(t, 201, &made)
	wantHeader(t, a, "Location", "/api/v1/jobs/"+id.String())
	c.send("POST", "/jobs", body).want(t, 201, &again)
	if diff := cmp.Diff(made, again); diff != "" {
		t.Errorf("a repeat is answered otherwise:\n%s", diff)
	}
	var got struct {
		jobs.Job
		Seq  int64
		Root events.Hash
	}
	c.get("/jobs/"+id.String(), &got)
	if got.Job != made || got.Seq != 0 || got.Root == (events.Hash{}) {
		t.Errorf("GET = %+v, want what was made and an empty log", got)
	}
	c.send("POST", "/jobs", []byte(fmt.Sprintf(`{"id":"%s","name":"Another","zone":"UTC"}`, id))).problem(t, 409, "")
}

func TestJobBad(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	var theirs jobs.Crew
	stranger.send("POST", "/crews", []byte(`{"name":"North"}`)).want(t, 201, &theirs)
	for body, field := range map[string]string{
		`{"zone":"UTC"}`:                                                "name",
		`{"name":"  ","zone":"UTC"}`:                                    "name",
		`{"name":"a\u0000b","zone":"UTC"}`:                              "name",
		`{"name":"14 Wattle Street"}`:                                   "zone",
		`{"name":"14 Wattle Street","zone":"Local"}`:                    "zone",
		`{"name":"14 Wattle Street","zone":"Atlantis/Lower"}`:           "zone",
		`{"name":"14 Wattle Street","zone":"../etc/passwd"}`:            "zone",
		`{"name":5,"zone":"UTC"}`:                                       "name",
		`{"name":"x","zone":"UTC","colour":"red"}`:                      "colour",
		`{"name":"x","zone":"UTC","id":"nonsense"}`:                     "body",
		`{"name":"x","zone":"UTC","crew":"` + theirs.ID.String() + `"}`: "crew",
	} {
		c.send("POST", "/jobs", []byte(body)).problem(t, 422, field)
	}
	for _, body := range []string{``, `{`, `{}{}`, `nonsense`} {
		c.send("POST", "/jobs", []byte(body)).problem(t, 400, "")
	}
	c.send("POST", "/jobs", append([]byte(`{"name":"`), make([]byte, 100<<10)...)).problem(t, 400, "")
}

func TestPeopleOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	c.send("POST", "/people", []byte(`{"name":"Zoe","role":"office"}`)).want(t, 201, nil)
	c.send("POST", "/people", []byte(`{"name":"Ari","role":"crew-hand"}`)).want(t, 201, nil)
	c.send("POST", "/people", []byte(`{"name":"Ari","role":"wizard"}`)).problem(t, 422, "role")
	var got struct{ People []jobs.Person }
	c.get("/people", &got)
	if len(got.People) != 2 || got.People[0].Name != "Ari" || got.People[0].ID.IsZero() || got.People[0].CreatedAt.IsZero() {
		t.Errorf("people = %+v, want Ari and Zoe", got.People)
	}
}

// The list of jobs carries the figures that were saved behind the appends.
func TestJobList(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan))
	setup, opened := d.setup()
	c.post(job, opened, d.reading(setup, "B1-1", 1010))
	want := c.state(job).Brief
	got := waitListed(t, c, 3)
	if got.Last != "Read B1-1" || got.LastBy != d.by {
		t.Errorf("the last thing is %q by %s, want the reading at B1-1", got.Last, got.LastBy)
	}
	got.Last, got.LastBy, got.LastKind = "", events.ID{}, "" // a state has the events
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the list differs from the state (-state +list):\n%s", diff)
	}
}

// waitListed waits for the only job's row to have caught up with a number.
func waitListed(t *testing.T, c *caller, seq int64) jobs.Brief {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		var list struct {
			Jobs []struct {
				Seq   int64
				Brief *jobs.Brief
			}
		}
		c.get("/jobs", &list)
		if len(list.Jobs) == 1 && list.Jobs[0].Brief != nil && list.Jobs[0].Seq == seq {
			return *list.Jobs[0].Brief
		}
		if time.Now().After(deadline) {
			t.Fatalf("the row does not reach %d: %+v", seq, list)
		}
	}
}

// Rows that are missing, or of another version of the fold, are made anew.
func TestJobListRebuilt(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	c.post(job, newDevice(t, job).raw("plan", smallPlan))
	waitListed(t, c, 1)
	old := jobs.Summary{Firm: c.firm, Job: job, Seq: 1, Version: jobs.SummaryVersion - 1}
	must(t, pgjobs.New(s.db.App).SaveSummary(t.Context(), old))
	if got := waitListed(t, c, 1); got.Supports != 2 {
		t.Errorf("the new row has %d supports, want 2", got.Supports)
	}
}

// Closing writes the rows that are due.
func TestCloseSavesRows(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	for range 5 {
		c.post(job, d.raw("note", `{"text":"below"}`))
	}
	s.app.Close()
	rows, err := pgjobs.New(s.db.App).ListSummaries(t.Context(), c.firm)
	must(t, err)
	if len(rows) != 1 || rows[0].Seq != 5 {
		t.Errorf("rows = %+v, want one at 5", rows)
	}
}

func TestCalc(t *testing.T) {
	c := newSite(t).firm("Level Best")
	var list struct {
		Calculators []struct{ Name, About, Help string }
	}
	c.get("/calc", &list)
	if len(list.Calculators) < 3 {
		t.Errorf("%d calculators, want book, crack and cut at least", len(list.Calculators))
	}
	for _, calc := range list.Calculators {
		if calc.Name == "" || calc.About == "" || calc.Help == "" {
			t.Errorf("calculator %+v, want its name and help", calc)
		}
	}
	var book struct{ Points []struct{ Height float64 } }
	c.send("POST", "/calc/book", []byte(`{"unit":"m","start":{"point":"A","height":50},"rows":[{"setup":"1","point":"A","bs":1.4},{"setup":"1","point":"B","fs":1.235}]}`)).want(t, 200, &book)
	if len(book.Points) != 2 || book.Points[1].Height != 50.165 {
		t.Errorf("points = %+v, want B at 50.165", book.Points)
	}
	c.send("POST", "/calc/book", []byte(`{"unit":"m"}`)).problem(t, 422, "start")
	c.send("POST", "/calc/crack", []byte(`{"width_mm":"NaN"}`)).want(t, 422, nil)
	c.send("POST", "/calc/nonsense", []byte(`{}`)).problem(t, 404, "")
}
