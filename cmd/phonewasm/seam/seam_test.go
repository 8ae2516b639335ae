package seam_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/cmd/phonewasm/seam"
	"relevel/events"
	"relevel/jobs"
)

var (
	now   = time.Date(2026, 3, 2, 8, 0, 0, 0, time.FixedZone("AEDT", 11*3600))
	job   = events.ID{0: 0xa, 6: 0x70, 8: 0x80, 15: 1}
	phone = events.ID{0: 1, 6: 0x70, 8: 0x80}
	other = events.ID{0: 2, 6: 0x70, 8: 0x80}
)

// floor records a job on two phones, as the server numbers it.
type floor struct {
	t      testing.TB
	log    []events.Stored
	counts map[events.ID]int64
	setup  events.ID
}

func (f *floor) add(device events.ID, kind events.Kind, body any) events.ID {
	f.t.Helper()
	raw, err := json.Marshal(body)
	if err != nil {
		f.t.Fatal(err)
	}
	f.counts[device]++
	n, zero := len(f.log)+1, int64(0)
	at := now.Add(time.Duration(n) * time.Minute)
	e := events.Event{ID: events.ID{0: 0xe, 6: 0x70, 8: 0x80, 14: byte(n >> 8), 15: byte(n)}, Job: job, Kind: kind, V: 1, At: at, OffsetMS: &zero, ClockSession: "a",
		Device: device, DeviceSeq: f.counts[device], SeenSeq: int64(n - 1), By: phone, Body: raw}
	f.log = append(f.log, events.Stored{Event: e, Seq: int64(n), RecordedAt: at.Add(time.Second).UTC()})
	return e.ID
}

func mm(v float64) *events.Length {
	l := events.MM(v)
	return &l
}

// play records a floor that is surveyed, agreed and lifted, by both phones.
func play(t testing.TB, seed uint64, steps int) *floor {
	f := &floor{t: t, counts: map[events.ID]int64{}}
	r := rand.New(rand.NewPCG(seed, 9))
	p := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}}}
	for b := range 3 {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b), WidthMM: 100, DepthMM: 90, EMPa: 9000}
		for i := range 4 {
			id := fmt.Sprintf("B%d-%d", b, i)
			p.Supports = append(p.Supports, events.Support{ID: id, X: float64(i) * 1.8, Y: float64(b) * 1.6})
			bearer.Supports = append(bearer.Supports, id)
		}
		p.Bearers = append(p.Bearers, bearer)
	}
	f.add(phone, events.KindPlan, p)
	f.setup = f.add(phone, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	read := func(device events.ID, id string) {
		f.add(device, events.KindReading, events.Reading{Setup: f.setup, Point: id, Face: events.BearerFace, Staff: mm(1000 + float64(r.IntN(20)))})
	}
	for _, s := range p.Supports {
		read(phone, s.ID)
	}
	f.add(phone, events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), StepMM: 3, NeighbourMM: 4, AgreedBy: "owner"})
	for range steps {
		device, id := []events.ID{phone, other}[r.IntN(2)], p.Supports[r.IntN(len(p.Supports))].ID
		switch r.IntN(4) {
		case 0:
			f.add(device, events.KindJacking, events.Jacking{Moves: []events.Move{{Support: id, By: mm(float64(1 + r.IntN(4))), Gauge: events.Rule}}})
		case 1:
			f.add(device, events.KindPacking, events.Packing{Support: id, Sort: events.Temporary, Gap: mm(float64(10 + r.IntN(9)))})
		default:
			read(device, id)
		}
	}
	return f
}

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

// picture is the state as text, without the numbers that only a server gives.
func picture(t testing.TB, s *seam.Seam, at time.Time) string {
	t.Helper()
	return string(call[json.RawMessage](t, s, "state", request{"job": job, "now": at}))
}

// Whatever comes from the server in whatever order, and whatever of this phone's
// is numbered only afterwards: in the end the phone shows what the server does.
func TestPhoneAgreesWithServer(t *testing.T) {
	for seed := range uint64(20) {
		f := play(t, seed, 40)
		end := f.log[len(f.log)-1].At.Add(time.Minute)
		want, err := json.Marshal(jobs.Refold(job, f.log).Picture(end))
		if err != nil {
			t.Fatal(err)
		}
		s, r := seam.New(), rand.New(rand.NewPCG(seed, 10))
		for _, e := range f.log {
			if e.Device == phone {
				call[json.RawMessage](t, s, "record", request{"job": job, "events": []any{e.Event}})
			}
		}
		if c := call[struct{ Seq, Unsent int }](t, s, "record", request{"job": job}); c.Unsent == 0 {
			t.Fatal("nothing is unsent")
		}
		for _, i := range r.Perm(len(f.log)) {
			call[json.RawMessage](t, s, "take", request{"job": job, "events": []any{asListed(f.log[i]), asListed(f.log[i])}})
			if r.IntN(10) == 0 {
				picture(t, s, end) // looked at on the way
			}
		}
		if diff := cmp.Diff(string(want), picture(t, s, end)); diff != "" {
			t.Fatalf("seed %d: the phone shows another state (-server +phone):\n%s", seed, diff)
		}
	}
}

// What was recorded counts at once, before anybody else heard of it.
func TestUnsentCounts(t *testing.T) {
	f := play(t, 3, 0)
	s := seam.New()
	end := now.Add(time.Hour)
	for _, e := range f.log[:len(f.log)-1] {
		call[json.RawMessage](t, s, "take", request{"job": job, "events": []any{asListed(e)}})
	}
	f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: "B0-0", Face: events.BearerFace, Staff: mm(1004)})
	last := f.log[len(f.log)-1]
	call[json.RawMessage](t, s, "record", request{"job": job, "events": []any{last.Event, last.Event}})
	v := call[[]jobs.Support](t, s, "figures", request{"job": job, "now": end, "names": []string{"B0-0"}})
	if len(v) != 1 || len(v[0].Faces) != 1 || v[0].Faces[0].Looks != 2 {
		t.Errorf("%+v", v)
	}
	if c := call[struct{ Seq, Unsent int }](t, s, "record", request{"job": job}); c.Unsent != 1 || c.Seq != len(f.log)-2 {
		t.Errorf("%+v", c)
	}
	if c := call[jobs.Carrying](t, s, "carrying", request{"job": job, "support": "B0-1", "move_mm": 3}); c.ForceKN == nil || c.MoveMM != 3 {
		t.Errorf("%+v", c)
	}
	if p := call[[]jobs.Cutting](t, s, "packers", request{"job": job, "now": end, "practice": request{"stock_mm": []float64{12, 6}}}); p == nil {
		t.Error("no list of packers")
	}
	call[json.RawMessage](t, s, "forget", request{"job": job})
	if c := call[struct{ Seq, Unsent int }](t, s, "record", request{"job": job}); c.Unsent != 0 || c.Seq != 0 {
		t.Errorf("forgotten, and %+v", c)
	}
}

func TestCalc(t *testing.T) {
	got := call[map[string]any](t, seam.New(), "calc", request{"name": "crack", "input": request{"width_mm": 2.5}})
	if got["class"] != 2.0 {
		t.Errorf("%v", got)
	}
}

// What is wrong is said by its field, and leaves the book as it was.
func TestBadRequests(t *testing.T) {
	f := play(t, 1, 0)
	s := seam.New()
	event, err := json.Marshal(f.log[0].Event)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, request, field string }{
		{"fly", `{}`, "name"}, {"state", `[]`, "request"}, {"state", `{}`, "job"}, {"state", `{"job":"B1"}`, "request"},
		{"take", `{"job":"` + job.String() + `","events":[7]}`, "events"}, {"take", `{"job":"` + job.String() + `","events":[{"event":` + string(event) + `}]}`, "events.seq"},
		{"record", `{"job":"` + job.String() + `","events":[{}]}`, "id"}, {"record", `{"job":"` + other.String() + `","events":[` + string(event) + `]}`, "job"},
		{"carrying", `{"job":"` + job.String() + `","support":"B9"}`, "support"}, {"packers", `{"job":"` + job.String() + `","practice":{"step_mm":-1}}`, "step_mm"},
		{"calc", `{"name":"crack","input":{}}`, "width_mm"}, {"calc", `{"name":"fly","input":{}}`, ""},
	} {
		var got struct {
			Error *struct{ Field, Detail string }
		}
		if err := json.Unmarshal(s.Call(tt.name, []byte(tt.request)), &got); err != nil || got.Error == nil {
			t.Errorf("%s %s: %v %+v", tt.name, tt.request, err, got)
			continue
		}
		if got.Error.Field != tt.field || got.Error.Detail == "" {
			t.Errorf("%s %s: %+v, want field %q", tt.name, tt.request, *got.Error, tt.field)
		}
	}
}

// No request makes it panic, and every answer is JSON.
func FuzzCall(f *testing.F) {
	for _, name := range seam.Names() {
		f.Add(name, `{"job":"0a000000-0000-7000-8000-000000000001","now":"2026-03-02T08:00:00Z","events":[{"seq":1,"event":{}}]}`)
	}
	f.Fuzz(func(t *testing.T, name, request string) {
		if answer := seam.New().Call(name, []byte(request)); !json.Valid(answer) {
			t.Errorf("%s %q: %s", name, request, answer)
		}
	})
}
