package seam_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"relevel/cmd/phonewasm/seam"
	"relevel/events"
	"relevel/jobs"
)

func call[T any](t testing.TB, s *seam.Seam, name string, request any) (out T) {
	t.Helper()
	raw, err := json.Marshal(request)
	if err != nil {
		t.Fatal(err)
	}
	answer := s.Call(name, raw)
	if bytes.HasPrefix(answer, []byte(`{"error"`)) {
		t.Fatalf("%s: %s", name, answer)
	}
	if err := json.Unmarshal(answer, &out); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

type request map[string]any

func asListed(e events.Stored) request {
	return request{"seq": e.Seq, "recorded_at": e.RecordedAt, "event": e.Event}
}

func TestCalls(t *testing.T) {
	f := play(t, 3, 0)
	s := seam.New()
	take(t, s, f.log...)
	f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: "B0-0", Face: events.BearerFace, Staff: mm(1004)})
	record(t, s, f.log[len(f.log)-1].Event)
	v := call[[]jobs.Support](t, s, "figures", request{"job": job, "now": f.end(), "names": []string{"B0-0", "B9"}})
	if len(v) != 1 || len(v[0].Faces) != 1 || v[0].Faces[0].Looks != 2 {
		t.Errorf("figures %+v", v)
	}
	c := call[struct {
		Carrying *jobs.Carrying
		Load     *jobs.Load
	}](t, s, "carrying", request{"job": job, "now": f.end(), "support": "B0-1", "move_mm": 3})
	if c.Carrying == nil || c.Carrying.ForceKN == nil || c.Carrying.MoveMM != 3 {
		t.Errorf("carrying %+v", c)
	}
	if all := call[[]jobs.Choice](t, s, "choices", request{"job": job, "margin_mm": 1}); len(all) < 3 {
		t.Errorf("choices %+v", all)
	}
	if p := call[[]jobs.Cutting](t, s, "packers", request{"job": job, "now": f.end(), "practice": request{"stock_mm": []float64{12, 6}}}); p == nil {
		t.Error("no list of packers")
	}
	if l := call[[]jobs.Line](t, s, "lines", request{"job": job, "limit": 2}); len(l) != 2 || l[1].Seq != int64(len(f.log)) || l[1].Kind != events.KindReading {
		t.Errorf("lines %+v", l)
	}
	call[struct{}](t, s, "forget", request{"job": job})
	if c := record(t, s); c.Unsent != 0 || c.Seq != 0 {
		t.Errorf("forgotten, and %+v", c)
	}
}

func TestCalc(t *testing.T) {
	got := call[map[string]any](t, seam.New(), "calc", request{"name": "crack", "input": request{"width_mm": 2.5}})
	if got["class"] != 2.0 {
		t.Errorf("%v", got)
	}
}

// What is wrong is said by its field.
func TestBadRequests(t *testing.T) {
	in := func(rest string) string { return `{"job":"` + job.String() + `",` + rest + `}` }
	for _, tt := range []struct{ name, request, field string }{
		{"fly", `{}`, "name"}, {"state", `[]`, "request"}, {"state", `{}`, "job"}, {"state", `{"job":"B1"}`, "request"}, {"take", ``, "request"},
		{"carrying", in(`"support":"B9"`), "support"}, {"carrying", in(`"thickness_mm":-1`), "thickness_mm"}, {"carrying", in(`"bag_litres":1e9`), "bag_litres"},
		{"choices", in(`"margin_mm":101`), "margin_mm"}, {"choices", in(`"profiles":[{}]`), "name"},
		{"packers", in(`"practice":{"step_mm":-1}`), "step_mm"}, {"lines", in(`"limit":0`), "limit"},
		{"floor", in(`"now":"2026-03-02T08:00:00Z"`), "region"}, {"floor", in(`"region":"FR"`), "region"}, {"state", in(`"units":"cm"`), "units"}, {"floor", in(`"region":"AU","initials":{"B1":"AB"}`), "request"},
		{"section", in(`"region":"AU","support":"B9"`), "support"}, {"section", in(`"support":"B9"`), "region"},
		{"line", in(`"region":"AU","bearer":"B9"`), "bearer"}, {"line", in(`"bearer":"B9"`), "region"},
		{"calc", `{"name":"crack","input":{}}`, "width_mm"}, {"calc", `{"name":"fly","input":{}}`, ""},
	} {
		var got struct {
			Error *struct{ Field, Detail string }
		}
		if err := json.Unmarshal(seam.New().Call(tt.name, []byte(tt.request)), &got); err != nil || got.Error == nil {
			t.Errorf("%s %s: %v %+v", tt.name, tt.request, err, got)
			continue
		}
		if got.Error.Field != tt.field || got.Error.Detail == "" {
			t.Errorf("%s %s: %+v, want field %q", tt.name, tt.request, *got.Error, tt.field)
		}
	}
}

// No request on a job under way breaks the reckoning, and every answer is JSON.
func FuzzCall(f *testing.F) {
	under := play(f, 4, 6)
	raw, err := json.Marshal(under.log[len(under.log)-1].Event)
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range seam.Names() {
		f.Add(name, `{"job":"`+job.String()+`","now":"2026-03-02T08:00:00Z","support":"B0-1","names":["B0-1"],"region":"AU","bearer":"B0","turn":1,"round":true,"move_mm":3,"limit":3,"events":[{"seq":1,"event":{}}]}`)
		f.Add(name, `{"job":"`+job.String()+`","name":"jack","input":{},"margin_mm":2,"events":[`+string(raw)+`]}`)
	}
	f.Fuzz(func(t *testing.T, name, request string) {
		s := seam.New()
		take(t, s, under.log...)
		for _, ask := range []string{name, "state"} {
			if answer := s.Call(ask, []byte(request)); !json.Valid(answer) || bytes.Contains(answer, []byte("could not be reckoned")) {
				t.Errorf("%s %q: %s", ask, request, answer)
			}
		}
	})
}
