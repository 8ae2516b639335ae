package seam_test

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/cmd/phonewasm/seam"
	"relevel/events"
	"relevel/jobs"
)

type counts struct {
	Seq, Unsent int
	Refused     []struct {
		Index         int
		Field, Detail string
	}
}

func take(t testing.TB, s *seam.Seam, list ...events.Stored) counts {
	t.Helper()
	all := []request{}
	for _, e := range list {
		all = append(all, asListed(e))
	}
	return call[counts](t, s, "take", request{"job": job, "events": all})
}

func record(t testing.TB, s *seam.Seam, list ...events.Event) counts {
	t.Helper()
	return call[counts](t, s, "record", request{"job": job, "events": list})
}

// pictures are the state as the phone has it, and as a server's refold has it.
func pictures(t testing.TB, s *seam.Seam, log []events.Stored, at time.Time) (phone, server string) {
	t.Helper()
	want, err := json.Marshal(jobs.Refold(job, log).Picture(at))
	if err != nil {
		t.Fatal(err)
	}
	return string(call[json.RawMessage](t, s, "state", request{"job": job, "now": at})), string(want)
}

// Own events count at once. They are numbered only afterwards, in another order
// and between those of another phone: in the end the phone shows what the server
// does.
func TestPhoneAgreesWithServer(t *testing.T) {
	for seed := range uint64(4) {
		f := play(t, seed, 40)
		r := rand.New(rand.NewPCG(seed, 10))
		for i, n := range r.Perm(len(f.log)) { // as they happened to arrive
			f.log[i].Seq = int64(n + 1)
		}
		s := seam.New()
		for _, e := range f.log {
			if e.Device == phone {
				record(t, s, e.Event, e.Event)
			}
		}
		if c := record(t, s); c.Unsent < 10 || c.Seq != 0 {
			t.Fatalf("%+v", c)
		}
		for _, i := range r.Perm(len(f.log)) {
			take(t, s, f.log[i], f.log[i])
			if r.IntN(4) == 0 {
				pictures(t, s, nil, f.end()) // looked at on the way
			}
		}
		got, want := pictures(t, s, f.log, f.end())
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("seed %d: the phone shows another state (-server +phone):\n%s", seed, diff)
		}
	}
}

// While they are on the phone only, own events stand as if the server had
// received them last, one after the other.
func TestOwnStandsLast(t *testing.T) {
	f := play(t, 5, 12)
	n := len(f.log) - 12
	s := seam.New()
	take(t, s, f.log[:n]...)
	known := append([]events.Stored{}, f.log[:n]...)
	var own []events.Stored
	for _, e := range f.log[n:] {
		if e.Device == phone {
			own = append(own, e)
			record(t, s, e.Event)
		} else {
			e.Seq = int64(len(known) + 1)
			known = append(known, e)
			take(t, s, e)
		}
		for i := range own {
			own[i].Seq = int64(len(known) + i + 1)
		}
		got, want := pictures(t, s, append(append([]events.Stored{}, known...), own...), f.end())
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("after event %d (-refolded +phone):\n%s", e.DeviceSeq, diff)
		}
	}
	if len(own) == 0 || len(known) == n {
		t.Fatal("not both phones recorded something")
	}
}

// An own event waits without a word about its clock, whatever that says, as long
// as the offset is known.
func TestOwnClockIsNotAhead(t *testing.T) {
	f := play(t, 3, 0)
	s := seam.New()
	take(t, s, f.log...)
	for i, ms := range []int64{3 * 3600_000, -24 * 3600_000} {
		id := f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: "B0-0", Face: events.BearerFace, Staff: mm(1004)})
		e := f.log[len(f.log)-1].Event
		e.ClockSession, e.OffsetMS, e.At = string(rune('b'+i)), &ms, e.At.Add(-time.Duration(ms)*time.Millisecond)
		record(t, s, e)
		e.ID[1], e.OffsetMS, e.DeviceSeq = 7, nil, e.DeviceSeq+1
		f.counts[phone]++
		record(t, s, e) // by the same clock
		for _, flag := range call[jobs.Picture](t, s, "state", request{"job": job, "now": f.end()}).Flags {
			if strings.Contains(flag.Text, "receipt") {
				t.Errorf("%s, %d ms off: %s", id, ms, flag.Text)
			}
		}
	}
}

// Sealing puts the digests of photos into an event that counted before; what the
// server put into quarantine counts no longer.
func TestSealedAndDropped(t *testing.T) {
	f := play(t, 3, 0)
	s := seam.New()
	take(t, s, f.log...)
	before, _ := pictures(t, s, f.log, f.end())
	id := f.add(phone, events.KindNote, events.Note{Text: "dry here"})
	e := f.log[len(f.log)-1].Event
	record(t, s, e)
	e.Files = []events.File{{Type: events.Photo, SHA256: events.Digest{1}, Bytes: 9, Media: events.MediaJPEG}}
	if c := record(t, s, e); c.Unsent != 1 || len(c.Refused) != 0 {
		t.Errorf("sealed: %+v", c)
	}
	if p := call[jobs.Picture](t, s, "state", request{"job": job, "now": f.end()}); len(p.Lists.Notes) != 1 {
		t.Errorf("notes %+v", p.Lists.Notes)
	}
	if c := call[counts](t, s, "drop", request{"job": job, "ids": []events.ID{id, other}}); c.Unsent != 0 {
		t.Errorf("dropped: %+v", c)
	}
	if after, _ := pictures(t, s, nil, f.end()); after != before {
		t.Error("what was dropped still counts")
	}
}

// Of what was erased the server lists no more than its line.
func TestErased(t *testing.T) {
	f := play(t, 2, 3)
	s := seam.New()
	const gone = 9
	take(t, s, f.log[:gone]...)
	take(t, s, f.log[gone+1:]...)
	e := f.log[gone]
	line := jobs.Line{ID: e.ID, Kind: e.Kind}
	call[counts](t, s, "take", request{"job": job, "events": []any{request{"seq": e.Seq, "recorded_at": e.RecordedAt, "erased": true, "line": line}}})
	f.log[gone].Erased, f.log[gone].Body = true, nil
	got, want := pictures(t, s, f.log, f.end())
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-server +phone):\n%s", diff)
	}
}

// One event that cannot be read keeps out no other.
func TestPoison(t *testing.T) {
	f := play(t, 1, 0)
	s := seam.New()
	bad := f.log[1]
	bad.Job = other
	if c := take(t, s, f.log[0], bad, f.log[2]); c.Seq != 3 || len(c.Refused) != 1 || c.Refused[0].Index != 1 || c.Refused[0].Field != "job" {
		t.Errorf("%+v", c)
	}
	list := call[[]jobs.Line](t, s, "lines", request{"job": job, "limit": 9})
	if len(list) != 2 || list[0].ID != f.log[0].ID || list[1].ID != f.log[2].ID {
		t.Errorf("%+v", list)
	}
	for _, tt := range []struct {
		call, event, field string
	}{
		{"take", `7`, "events"}, {"take", `{"event":{}}`, "seq"}, {"take", `{"seq":1,"event":{}}`, "id"}, {"take", `{"seq":1,"erased":true}`, "line.id"},
		{"record", `{}`, "id"}, {"record", `7`, "event"},
	} {
		c := call[counts](t, s, tt.call, request{"job": job, "events": []json.RawMessage{json.RawMessage(tt.event)}})
		if len(c.Refused) != 1 || c.Refused[0].Field != tt.field || c.Refused[0].Detail == "" {
			t.Errorf("%s %s: %+v, want field %q", tt.call, tt.event, c, tt.field)
		}
	}
}
