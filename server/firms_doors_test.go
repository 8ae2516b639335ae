package server_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"relevel/server/web"
)

// door is one way to ask at a route of the server.
//
// Whoever adds a route adds a line to doors, or TestEveryRouteIsADoor names what is
// missing. The route is written as the router has it. Names in braces are filled in
// from a firm that has one of everything (newWorld): whatever names a thing of a
// firm, in the address, the query or the body, is to be such a name, so that the
// tests can put another firm's in its place. The id of a thing that the request makes
// is "{new}", and the time of an event "{now}".
type door struct {
	route string // "GET /jobs/{job}"
	at    string // what to ask for, where the route's own address does not say it, or a query: "?limit=5"
	body  string // JSON below /api, a form elsewhere
	media string // of the body, if it is something else

	takes   bool // makes a thing of the name that is given: under another firm it is another thing
	own     bool // asked by somebody who has an account, from the browser in which they signed in
	open    bool // for everybody: it needs no access, and says nothing of any firm
	answers int  // what its owner is answered, where that is a problem: 404 where a server under test lacks the thing
}

// noCode is a pairing code that nobody made.
const noCode = "AAAA-AAAA"

// drawnPlan is the plan of every world, as the page on which it is drawn sends it.
const drawnPlan = `{"supports":[{"id":"{support}","x":1,"y":1},{"id":"{other_support}","x":3,"y":1}],"spots":[{"id":"spot {word}","x":2,"y":2}],
	"datums":[{"id":"datum {word}","x":0,"y":0,"height":0,"off_building":true,"stands_on":"step {word}"}],"bearers":[{"id":"bearer {word}","supports":["{support}","{other_support}"]}]}`

const formMedia = "application/x-www-form-urlencoded"

var doors = append(officeDoors, []door{
	{route: "GET /healthz", open: true},
	{route: "GET /readyz", open: true},
	{route: "GET /static/*", at: staticFile("pages.css"), open: true},
	{route: "GET /enter", open: true},
	{route: "POST /enter", body: "token=nothing", open: true},
	{route: "GET /trust", open: true},
	{route: "GET /verify", open: true},
	{route: "GET /verify/*", at: "/verify/worker.js", open: true},
	{route: "GET /root.crt", open: true, answers: http.StatusNotFound},
	{route: "GET /phone", open: true},
	{route: "GET /phone/*", at: "/phone/", open: true},
	{route: "GET /office/*", at: "/office/nothing.js", open: true, answers: http.StatusNotFound},
	{route: "GET /pair", open: true},
	{route: "POST /pair", body: "code=" + noCode + "&device=a+phone", open: true},
	{route: "POST /leave", open: true},
	{route: "GET /api", open: true},
	{route: "POST /api/v1/pair", body: `{"code":"` + noCode + `","device":"a phone"}`, open: true},

	{route: "GET /keys", open: true},
	{route: "GET /api/v1/jobs/{job}/checkpoint"},
	{route: "GET /api/v1/jobs/{job}/checkpoints/{size}", at: "/api/v1/jobs/{job}/checkpoints/" + strconv.Itoa(signedSize)},
	{route: "GET /api/v1/jobs/{job}/proof/inclusion", at: "?seq=2"},
	{route: "GET /api/v1/jobs/{job}/proof/consistency", at: "?from=2"},
	{route: "GET /api/v1/checkpoint"},
	{route: "GET /api/v1/checkpoints"},
	{route: "GET /jobs/{job}/checkpoint"},

	{route: "GET /api/v1/openapi.json", open: true},

	{route: "GET /api/v1/jobs"},
	{route: "POST /api/v1/jobs", body: `{"id":"{new}","name":"a house","zone":"UTC","crew":"{crew}"}`},
	{route: "POST /api/v1/jobs", body: `{"id":"{job}","name":"job {word}","place":"place {word}","zone":"Australia/Sydney","crew":"{crew}"}`, takes: true},
	{route: "GET /api/v1/jobs/{job}"},
	{route: "GET /api/v1/jobs/{job}/events"},
	{route: "GET /api/v1/jobs/{job}/events", at: "?after=1&limit=2&exact=1"},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + envelope("reading", `{"setup":"{setup}","point":"{support}","face":"floor","staff":1013}`) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + envelope("void", `{"event":"{note}","why":"another word"}`) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + envelope("go-ahead", `{"stop":"{stop}","who":"engineer"}`) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + envelope("finding-closed", `{"finding":"{finding}","how":"mended"}`) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + envelope("change-answered", `{"change":"{change}","accepted":true,"name":"owner"}`) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[` + strings.Replace(envelope("note", `{"text":"again"}`), "{new}", "{note}", 1) + `]}`},
	{route: "POST /api/v1/jobs/{job}/events", body: `{"events":[{"files":[{"type":"photo","sha256":"{photo}","bytes":1,"media_type":"image/jpeg"}],` + envelope("note", `{"text":"a photo"}`)[1:] + `]}`},
	{route: "GET /api/v1/jobs/{job}/state"},
	{route: "GET /api/v1/jobs/{job}/state", at: "?as_of=3"},
	{route: "GET /api/v1/jobs/{job}/choices", at: "?margin_mm=1"},
	{route: "GET /api/v1/jobs/{job}/packers"},
	{route: "GET /api/v1/jobs/{job}/rounds"},
	{route: "GET /api/v1/jobs/{job}/supports/{support}/carrying"},
	{route: "GET /api/v1/jobs/{job}/live"},
	{route: "GET /api/v1/live"},
	{route: "PUT /api/v1/photos/{sha256}", at: "/api/v1/photos/" + sha(smallSound()), body: string(smallSound()), media: "audio/mp4"},
	{route: "GET /api/v1/photos/{sha256}", at: "/api/v1/photos/{photo}"},
	{route: "GET /api/v1/photos/{sha256}", at: "/api/v1/photos/{photo}?size=320"},
	{route: "GET /api/v1/photos/{sha256}", at: "/api/v1/photos/{photo}?size=1600"},
	{route: "GET /api/v1/photos/{sha256}", at: "/api/v1/photos/{sound}"},
	{route: "GET /api/v1/photos/{sha256}/state", at: "/api/v1/photos/{photo}/state"},
	{route: "GET /api/v1/people"},
	{route: "POST /api/v1/people", body: `{"id":"{new}","name":"somebody","role":"crew-hand"}`},
	{route: "POST /api/v1/people", body: `{"id":"{person}","name":"person {word}","role":"site-lead"}`, takes: true},
	{route: "GET /api/v1/crews"},
	{route: "POST /api/v1/crews", body: `{"id":"{crew}","name":"crew {word}"}`, takes: true},
	{route: "GET /api/v1/profiles"},
	{route: "POST /api/v1/profiles", body: `{"id":"{profile_id}","name":"{word}","title":"title {word}","source":"source {word}","limits":[{"kind":"range","limit_mm":20}]}`, takes: true},
	{route: "GET /api/v1/jacks"},
	{route: "POST /api/v1/jacks", body: `{"id":"{jack_id}","name":"jack {word}","rated_kn":50,"note":"note {word}"}`, takes: true},
	{route: "GET /api/v1/lasers"},
	{route: "POST /api/v1/lasers", body: `{"id":"{laser_id}","name":"laser {word}","note":"note {word}"}`, takes: true},
	{route: "GET /api/v1/practice"},
	{route: "POST /api/v1/practice", body: `{"step_mm":4}`},
	{route: "GET /api/v1/quarantine"},
	{route: "GET /api/v1/phone", at: "?device={phone}"},
	{route: "POST /api/v1/phone/report", body: `{"device":"{phone}","version":"2","unsent":0,"photos":0}`},
	{route: "POST /api/v1/pairings"},
	{route: "GET /api/v1/devices"},
	{route: "POST /api/v1/devices/{device}/revoke"},
	{route: "GET /api/v1/calc"},
	{route: "POST /api/v1/calc/{name}", at: "/api/v1/calc/crack", body: `{"width_mm":2}`},

	{route: "GET /"},
	{route: "GET /jobs/{job}"},
	{route: "GET /jobs/{job}/supports/{support}"},
	{route: "GET /jobs/{job}/book"},
	{route: "GET /jobs/{job}/choices"},
	{route: "GET /jobs/{job}/packers"},
	{route: "GET /jobs/{job}/moves"},
	{route: "GET /jobs/{job}/lines"},
	{route: "GET /jobs/{job}/plan"},
	{route: "GET /jobs/{job}/plan/now"},
	{route: "GET /jobs/{job}/plan/earlier/{seq}", at: "/jobs/{job}/plan/earlier/1"},
	{route: "GET /jobs/{job}/plan/of/{other}", at: "/jobs/{job}/plan/of/{job}"},
	{route: "POST /jobs/{job}/plan/check", body: drawnPlan, media: "application/json"},
	{route: "POST /jobs/{job}/plan", body: `{"form":"{new}","recorder":"{person}","seen":1000000000,"gone":[],"plan":` + drawnPlan + `}`, media: "application/json"},
	{route: "GET /jobs/{job}/shading"},
	{route: "GET /jobs/{job}/shading", at: "?as_of=3"},
	{route: "GET /jobs/{job}/ties"},
	{route: "GET /jobs/{job}/inspections"},
	{route: "GET /jobs/{job}/safety"},
	{route: "GET /jobs/{job}/incidents"},
	{route: "GET /jobs/{job}/below"},
	{route: "GET /jobs/{job}/photos", at: "?of={support}&by={person}"},
	{route: "GET /jobs/{job}/photos/{seq}/{no}", at: "/jobs/{job}/photos/1/0", answers: http.StatusNotFound},
	{route: "GET /jobs/{job}/handover"},
	{route: "GET /jobs/{job}/offer"},
	{route: "GET /jobs/{job}/crew-sheet"},
	{route: "GET /jobs/{job}/condition"},
	{route: "GET /jobs/{job}/schedule", at: "?decided=yes&replace={support}"},
	{route: "GET /jobs/{job}/schedule.csv"},
	{route: "GET /jobs/{job}/records"},
	{route: "GET /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/reading?support={support}"},
	{route: "GET /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/note?answers={stop}&supports={support}"},
	{route: "GET /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/void?event={setup}&line=3&back=/jobs/{job}/book"},
	{route: "GET /jobs/{job}", at: "?saved={form}"},
	{route: "POST /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/note", body: "form={new}&recorder={person}&text=seen&supports={support}&back=/jobs/{job}"},
	{route: "POST /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/note", body: "form={form}&recorder={person}&text=seen+again"},
	{route: "POST /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/reading", body: "form={new}&recorder={person}&about={support}&setup={setup}&face=floor&rows[0]={support}&rows[0].staff=1013"},
	{route: "POST /jobs/{job}/record/{kind}", at: "/jobs/{job}/record/void", body: "form={new}&recorder={person}&event={reading}&why=misread"},
	{route: "GET /new-job"},
	{route: "POST /new-job", body: "id={new}&name=a+house&zone=UTC&crew={crew}"},
	{route: "GET /people"},
	{route: "POST /people", body: "id={person}&name=person+{word}&role=site-lead", takes: true},
	{route: "GET /profiles"},
	{route: "POST /profiles", body: "id={profile_id}&name={word}&title=title+{word}&source=source+{word}&room.limit_mm=20", takes: true},
	{route: "GET /devices"},
	{route: "POST /devices"},
	{route: "POST /devices/revoke", body: "device={device}"},
	{route: "GET /jobs/{job}/sheets"},
	{route: "GET /sheets/{form}", at: "/sheets/book.csv"},
	{route: "GET /api/v1/jobs/{job}/book.csv"},
	{route: "GET /api/v1/jobs/{job}/plan.csv"},
	{route: "GET /api/v1/jobs/{job}/export.json"},
	{route: "GET /jobs/{job}/book.csv"},
	{route: "GET /jobs/{job}/plan.csv"},
	{route: "GET /jobs/{job}/export.json"},
	{route: "GET /jobs/{job}/book/import"},
	{route: "GET /jobs/{job}/plan/import"},
	{route: "POST /api/v1/jobs/{job}/book/import", at: "?by={person}", body: bookOfWorld, media: "text/csv"},
	{route: "POST /api/v1/jobs/{job}/plan/import", at: "?by={person}&try=1", body: planOfWorld, media: "text/csv"},
	{route: "POST /jobs/{job}/book/import", body: sheetForm(bookOfWorld), media: "multipart/form-data; boundary=b"},
	{route: "POST /jobs/{job}/plan/import", body: sheetForm(planOfWorld), media: "multipart/form-data; boundary=b"},
	{route: "GET /hooks"},
	{route: "GET /hooks/{hook}"},
	{route: "POST /hooks", body: "id={new}&name=hook+{word}&url=https://office.example/&happenings=event"},
	{route: "POST /hooks/{hook}/{act}", at: "/hooks/{hook}/pause"},
	{route: "GET /api/v1/hooks"},
	{route: "GET /api/v1/hooks/{hook}"},
	{route: "POST /api/v1/hooks", body: `{"id":"{new}","name":"hook","url":"https://office.example/","happenings":["event"]}`},
	{route: "POST /api/v1/hooks/{hook}/{act}", at: "/api/v1/hooks/{hook}/pause"},
	{route: "GET /jobs/{job}/shares"},
	{route: "POST /jobs/{job}/shares", body: "id={new}&name=owner&until=2027-03-02&up_to="},
	{route: "POST /jobs/{job}/shares/{share}/revoke"},
	{route: "GET /api/v1/jobs/{job}/shares"},
	{route: "POST /api/v1/jobs/{job}/shares", body: `{"name":"owner","up_to":1}`},
	{route: "POST /api/v1/jobs/{job}/shares/{share}/revoke"},
	// Whoever has a link sees its job by a cookie of its own: see TestOwnersApart.
	{route: "GET /s/{share}", at: "/s/nothing", open: true},
	{route: "POST /s/{share}", at: "/s/nothing", body: "code=nothing", open: true},
	{route: "POST /s/{share}/leave", at: "/s/nothing/leave", open: true},
	{route: "GET /s/{share}/photos/{sha256}", at: "/s/nothing/photos/nothing?size=320", open: true, answers: http.StatusNotFound},
	{route: "GET /s/{share}/changes/{change}", at: "/s/nothing/changes/nothing", open: true},
	{route: "GET /s/{share}/pack", at: "/s/nothing/pack", open: true},
	{route: "POST /s/{share}/pack", at: "/s/nothing/pack", body: "paper=A4", open: true},
	{route: "GET /s/{share}/packs/{pack}", at: "/s/nothing/packs/nothing", open: true},
	{route: "GET /s/{share}/bundle.zip", at: "/s/nothing/bundle.zip", open: true},
	{route: "GET /s/{share}/checkpoint", at: "/s/nothing/checkpoint", open: true},
	{route: "POST /s/{share}/changes/{change}", at: "/s/nothing/changes/nothing", body: "form={new}&said=yes&name=owner", open: true},
	{route: "GET /kit"},
	{route: "POST /kit/jacks", body: "id={new}&name=jack+{word}&rated_kn=50"},
	{route: "POST /kit/lasers", body: "id={new}&name=laser+{word}"},
	{route: "POST /kit/practice", body: "id={new}&step_mm=4"},
}...)

func (d door) String() string {
	q := d.request()
	return fmt.Sprintf("%s %.60s %.60q", q.method, q.path, q.body)
}

// staticFile is where a file of the pages lies.
func staticFile(name string) string {
	address, err := web.Address(name)
	if err != nil {
		panic(err)
	}
	return address
}

// envelope is an event of a phone of the firm.
func envelope(kind, body string) string {
	return `{"id":"{new}","job":"{job}","kind":"` + kind + `","v":1,"at":"{now}","device":"{phone}","device_seq":{count},"seen_seq":0,"by":"{person}","body":` + body + `}`
}

// request is what a door is asked with, before names are filled in.
type request struct {
	method, path, body, media string

	byCookie bool // as a browser does
	own      bool // by somebody who signed in
}

func (d door) request() request {
	method, path, _ := strings.Cut(d.route, " ")
	switch {
	case strings.HasPrefix(d.at, "?"):
		path += d.at
	case d.at != "":
		path = d.at
	}
	media := d.media
	if media == "" && strings.HasPrefix(path, "/api/") {
		media = "application/json"
	} else if media == "" {
		media = formMedia
	}
	return request{method: method, path: path, body: d.body, media: media, own: d.own}
}

// keys are the names that a request is filled with, each once.
func (q request) keys(like *world) (keys []string) {
	for key := range like.names {
		if strings.Contains(q.path+q.body, "{"+key+"}") {
			keys = append(keys, key)
		}
	}
	return keys
}

var stranger = &http.Client{
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
}

// cookies are what a browser has that entered for this firm.
func (w *world) cookies(t *testing.T) []*http.Cookie {
	t.Helper()
	resp, err := stranger.PostForm(w.url+"/enter", url.Values{"token": {w.token}})
	must(t, err)
	resp.Body.Close()
	if len(resp.Cookies()) == 0 {
		t.Fatalf("status %d, and no cookie", resp.StatusCode)
	}
	return resp.Cookies()
}

// ask sends a request filled with names. Of a stream it reads what comes at once.
func (w *world) ask(t *testing.T, q request, names map[string]string) answer {
	t.Helper()
	text := func(s string) string {
		now := w.clock.now()
		return fill(strings.NewReplacer("{new}", newID(t).String(), "{now}", now.Format(time.RFC3339Nano), "{count}", strconv.FormatInt(now.UnixMilli(), 10)).Replace(s), names)
	}
	q.body = w.asOfNow(t, q.body)
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, q.method, w.url+text(q.path), strings.NewReader(text(q.body)))
	must(t, err)
	r.Host = strings.Replace(r.Host, "127.0.0.1", "localhost", 1) // passkeys need a name
	if q.body != "" {
		r.Header.Set("Content-Type", q.media)
	}
	if !strings.HasPrefix(q.path, "/api/") {
		r.Header.Set("Accept", "text/html")
	}
	switch {
	case w.token == "":
	case q.own:
		for _, cookie := range w.own {
			r.AddCookie(cookie)
		}
	case q.byCookie:
		for _, cookie := range w.cookies(t) {
			r.AddCookie(cookie)
		}
	default:
		r.Header.Set("Authorization", "Bearer "+w.token)
	}
	resp, err := stranger.Do(r)
	must(t, err)
	defer resp.Body.Close()
	if resp.Header.Get("Content-Type") == "text/event-stream" {
		time.AfterFunc(50*time.Millisecond, cancel)
	}
	var body bytes.Buffer
	if _, err := io.Copy(&body, resp.Body); err != nil && !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	a := answer{resp.StatusCode, resp.Header, body.Bytes()}
	if resp.StatusCode == http.StatusOK && resp.Header.Get("Content-Type") == "application/pdf" {
		a.body = pdfText(t, a.body) // what is packed small shows nothing of whom it is about
	}
	if path, ok := strings.CutPrefix(r.URL.RequestURI(), "/api/v1"); ok {
		asDescribed(t, q.method, path, []byte(text(q.body)), a)
	}
	return a
}

// A book and a plan that name what a world has.
const (
	bookOfWorld = "setup,date,time,sight,point,face,staff mm,instrument\n1,2026-03-02,21:10,bs,datum {word},,1000,laser\n1,,21:11,is,{support},floor,1013,\n"
	planOfWorld = "what,name,x m,y m\nsupport,{support},1,1\n"
)

// sheetForm is a form of a page with a sheet.
func sheetForm(file string) string {
	return "--b\r\nContent-Disposition: form-data; name=\"recorder\"\r\n\r\n{person}\r\n--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"x.csv\"\r\n\r\n" + file + "\r\n--b--\r\n"
}
