package server_test

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
	"relevel/server"
)

// Every address says who may use it. Whoever adds a route has to think of it here.
func TestEveryRouteIsClassified(t *testing.T) {
	missing, idle := newSite(t).app.Unclassified()
	if len(missing) > 0 {
		t.Errorf("put them into the table in permit.go, until then they are the office's alone: %q", missing)
	}
	if len(idle) > 0 {
		t.Errorf("the table speaks of what is no route: %q", idle)
	}
}

// What needs nobody signed in, and what a phone may ask for, is written down twice: a
// line more is to be thought over.
func TestWhatIsOpen(t *testing.T) {
	anyones, phones := server.Open()
	slices.Sort(anyones)
	slices.Sort(phones)
	if diff := cmp.Diff([]string{
		"GET /api",
		"GET /api/v1/openapi.json",
		"GET /calendar/{token}.ics",
		"GET /enter",
		"GET /healthz",
		"GET /invitation",
		"GET /keys",
		"GET /office/",
		"GET /pair",
		"GET /phone",
		"GET /phone/",
		"GET /readyz",
		"GET /reset",
		"GET /root.crt",
		"GET /s/{share}",
		"GET /s/{share}/bundle.zip",
		"GET /s/{share}/changes/{change}",
		"GET /s/{share}/checkpoint",
		"GET /s/{share}/pack",
		"GET /s/{share}/packs/{pack}",
		"GET /s/{share}/photos/{sha256}",
		"GET /static/",
		"GET /trust",
		"GET /verify",
		"GET /verify/",
		"POST /api/v1/pair",
		"POST /enter",
		"POST /enter/passkey",
		"POST /enter/passkey/options",
		"POST /invitation",
		"POST /invitation/accept",
		"POST /leave",
		"POST /pair",
		"POST /reset",
		"POST /s/{share}",
		"POST /s/{share}/changes/{change}",
		"POST /s/{share}/leave",
		"POST /s/{share}/pack",
	}, anyones); diff != "" {
		t.Errorf("open to everybody (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{
		"GET /api/v1/jobs/{job}/checkpoint", "GET /api/v1/jobs/{job}/checkpoints/{size}", "GET /api/v1/jobs/{job}/events", "GET /api/v1/jobs/{job}/proof/consistency", "GET /api/v1/jobs/{job}/proof/inclusion",
		"GET /api/v1/phone", "GET /api/v1/photos/{sha256}", "GET /api/v1/photos/{sha256}/state",
		"POST /api/v1/jobs/{job}/events", "POST /api/v1/phone/report", "PUT /api/v1/photos/{sha256}",
	}, phones); diff != "" {
		t.Errorf("open to phones (-want +got):\n%s", diff)
	}
}

// Whoever is not signed in gets nothing of a firm's, by any route.
func TestNothingWithoutSigningIn(t *testing.T) {
	s := newSite(t)
	anyones, _ := server.Open()
	id := newID(t).String()
	routes, err := s.app.Routes()
	must(t, err)
	for _, route := range routes {
		route = strings.TrimSuffix(route, "*")
		method, template, _ := strings.Cut(route, " ")
		if slices.Contains(anyones, route) {
			continue
		}
		r, err := http.NewRequestWithContext(t.Context(), method, s.URL+regexp.MustCompile(`{\w+}`).ReplaceAllString(template, id), nil)
		must(t, err)
		resp, err := http.DefaultClient.Do(r)
		must(t, err)
		resp.Body.Close()
		if resp.StatusCode != http.StatusUnauthorized {
			t.Errorf("%s answers %d to nobody", route, resp.StatusCode)
		}
	}
}

// A hand records and does not sign, a site lead signs, and what the office keeps is the
// office's. Pages show nobody a link that is refused.
func TestRoles(t *testing.T) {
	s := newSite(t)
	desk := newBrowser(t, s)
	for role, test := range map[jobs.Role]struct{ opens, refused []string }{
		jobs.CrewHand: {
			[]string{"/", "/account", desk.page(""), desk.page("/book"), desk.page("/record/reading")},
			[]string{desk.page("/record/signed"), desk.page("/record/handover"), desk.page("/record/aim"), "/people", "/devices", "/kit", "/profiles", "/tokens", "/trail", "/new-job"},
		},
		jobs.SiteLead: {
			[]string{"/", "/account", desk.page("/record/signed"), desk.page("/record/handover")},
			[]string{desk.page("/record/aim"), "/people", "/devices", "/kit", "/profiles", "/tokens", "/trail", "/new-job"},
		},
		jobs.Office: {
			[]string{"/", "/account", desk.page("/record/signed"), desk.page("/record/aim"), "/people", "/devices", "/kit", "/profiles", "/tokens", "/trail", "/new-job"}, nil,
		},
	} {
		b := desk.joinedBy(t, role)
		for _, path := range test.opens {
			b.get(path)
		}
		for _, path := range test.refused {
			status, body, _ := b.try("GET", path)
			if status != http.StatusForbidden || !strings.Contains(body, "This is for ") {
				t.Errorf("%s at %s: %d", role, path, status)
			}
		}
		b.followAll(test.opens)
	}
	hand := desk.joinedBy(t, jobs.CrewHand)
	for _, path := range []string{desk.page("/record/signed"), "/people", "/kit/jacks", "/devices", "/tokens", "/people/" + desk.person.String() + "/role"} {
		if status, _, _ := hand.post(path, nil); status != http.StatusForbidden {
			t.Errorf("a hand posts to %s: %d", path, status)
		}
	}
	if status := hand.api("GET", "/api/v1/people"); status != http.StatusForbidden {
		t.Errorf("a hand reads the people by the API: %d", status)
	}
	if status := hand.api("GET", "/api/v1/jobs"); status != http.StatusOK {
		t.Errorf("a hand reads the jobs by the API: %d", status)
	}
}

var anchor = regexp.MustCompile(`<a [^>]*href="(/[^"#]*)`)

// followAll follows every link of some pages: none may be refused.
func (b *browser) followAll(pages []string) {
	b.t.Helper()
	for _, page := range pages {
		for _, m := range anchor.FindAllStringSubmatch(b.get(page), -1) {
			address := strings.ReplaceAll(m[1], "&amp;", "&")
			if address == "/phone/" {
				continue // the app, which this program may have been built without
			}
			if status, _, _ := b.try("GET", address); status == http.StatusForbidden {
				b.t.Errorf("%s shows a link to %s, which is refused", page, address)
			}
		}
	}
}

// The lines that an open day sheet asks for lead a hand nowhere that he is refused, and
// the office to what was kept apart.
func TestLinesOfAHand(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.caller.send("POST", "/jobs/"+b.job.String()+"/events", []byte(`{"events":[{"kind":"nonsense"}]}`)).want(t, 200, nil)
	waitListed(t, b.caller, 1)
	lines := "/lines?job=" + b.job.String() + ".1"
	if line := b.lineOf(b.job, lines); !strings.Contains(line, `href="/quarantine"`) {
		t.Errorf("the office is not led to what was kept apart: %s", line)
	}
	hand := b.joinedBy(t, jobs.CrewHand)
	if line := hand.lineOf(b.job, lines); strings.Contains(line, `href="/quarantine"`) || !strings.Contains(line, `href="`+b.page("")+`"`) {
		t.Errorf("a hand is led to %s", line)
	}
	hand.followAll([]string{lines, "/"})
}

// A token opens what its scope says, and no other is a way into the office.
func TestScopes(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	reader := c.tokenOf(jobs.ScopeRead)
	reader.get("/jobs", nil)
	reader.get("/jobs/"+job.String()+"/state", nil)
	reader.send("POST", "/jobs", []byte(`{"name":"x","zone":"UTC"}`)).problem(t, 403, "")
	reader.send("GET", "/hooks", nil).problem(t, 403, "") // an address often opens what is behind it
	reader.send("POST", "/jobs/"+job.String()+"/events", []byte(`{"events":[]}`)).problem(t, 403, "")
	phone := c.tokenOf(jobs.ScopePhone)
	phone.get("/phone", nil)
	phone.send("GET", "/jobs", nil).problem(t, 403, "")
	phone.send("POST", "/people", []byte(`{"name":"x","role":"office"}`)).problem(t, 403, "")
	for name, one := range map[string]*caller{"a reader": reader, "a phone": phone} {
		b := &browser{t: t, site: s, client: newClient(t)}
		if status, _, _ := b.postForm("/enter", map[string][]string{"token": {one.token}}); status != http.StatusUnprocessableEntity {
			t.Errorf("%s enters by its token: %d", name, status)
		}
	}
}
