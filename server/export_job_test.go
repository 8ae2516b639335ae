package server_test

import (
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
	"relevel/server"
)

// exportedJob is an export as a program reads it.
type exportedJob struct {
	Schema int
	Job    jobs.Job
	Firm   jobs.Firm
	People []jobs.Person
	Seq    int64
	Root   events.Hash
	Events []struct {
		Seq   int64
		ID    events.ID
		Kind  events.Kind
		Leaf  events.Hash
		Event json.RawMessage
	}
	Files []struct {
		SHA256 events.Digest
		State  events.FileState
	}
	State jobs.Picture
}

// A job goes out whole: each event as it was sealed, the people it names, its photos
// and where it stands.
func TestExport(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	d.by = b.person
	setup, raw := d.setup()
	spaced := `{ "text" : "two  spaces" }`
	photo := picture(t)
	sum := sha(photo)
	b.caller.send("PUT", "/photos/"+sum, photo, "Content-Type", "image/jpeg").want(t, 200, nil)
	file := fmt.Sprintf(`,"files":[{"type":"photo","sha256":%q,"bytes":%d,"media_type":"image/jpeg"}]}`, sum, len(photo))
	shown := d.raw("note", `{"text":"a photo"}`)
	again := d.raw("note", `{"text":"the same photo"}`)
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1012), d.raw("note", spaced), shown[:len(shown)-1]+file, again[:len(again)-1]+file)

	var got exportedJob
	a := b.caller.send("GET", "/jobs/"+b.job.String()+"/export.json", nil).want(t, 200, &got)
	if got.Schema != 1 || got.Job.ID != b.job || got.Seq != 6 || len(got.Events) != 6 || got.State.Seq != 6 {
		t.Fatalf("%s", a.body)
	}
	if len(got.People) != 1 || got.People[0].Name != "Mere Kohu" {
		t.Errorf("people %v", got.People)
	}
	if len(got.Files) != 1 || got.Files[0].State != events.FileDurable {
		t.Errorf("files %v, want one that is durable", got.Files)
	}
	if s, _ := got.State.Support("B1-1"); s.Present == nil || s.Present.MM != -12 {
		t.Errorf("B1-1 is %+v", s)
	}
	if want := string(got.Events[3].Event); got.Events[3].Kind != "note" || !json.Valid([]byte(want)) || want != bodyOf(t, b, 4) {
		t.Errorf("%s is not the event as it was sealed", want)
	}
}

// bodyOf is the exact bytes of an event.
func bodyOf(t *testing.T, b *browser, seq int64) string {
	t.Helper()
	var page struct{ Events []struct{ Bytes []byte } }
	b.caller.get(fmt.Sprintf("/jobs/%s/events?after=%d&limit=1&exact=1", b.job, seq-1), &page)
	return string(page.Events[0].Bytes)
}

// An empty job is one, too.
func TestExportOfNothing(t *testing.T) {
	t.Parallel()
	c := newSite(t).firm("Level Best")
	var got exportedJob
	c.get("/jobs/"+c.newJob().String()+"/export.json", &got)
	if got.Schema != 1 || len(got.Events) != 0 || got.Events == nil {
		t.Errorf("%+v", got)
	}
}

// A long job is written page by page: a hundred thousand events take less memory than
// all of them would.
func TestExportOfALongJob(t *testing.T) {
	const count = 100_000
	log := eventstest.NewMemLog()
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Log = log }))
	d := newDevice(t, b.job)
	for n := 0; n < count; n += events.MaxBatchEvents {
		batch := events.Batch{Firm: b.caller.firm, Job: b.job, RecordedAt: d.at}
		for range events.MaxBatchEvents {
			in, err := events.Receive([]byte(d.raw("note", `{"text":"a note of some length, as people write them below the floor"}`)))
			must(t, err)
			batch.Events = append(batch.Events, in)
		}
		_, err := log.Append(t.Context(), batch)
		must(t, err)
	}
	b.caller.state(b.job) // the state is folded once, whoever asks
	r, err := b.caller.request(t.Context(), "GET", "/jobs/"+b.job.String()+"/export.json", nil)
	must(t, err)
	resp, err := b.client.Do(r)
	must(t, err)
	defer resp.Body.Close()
	var before, during runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	size, err := io.Copy(io.Discard, io.LimitReader(resp.Body, 20<<20))
	must(t, err)
	runtime.GC()
	runtime.ReadMemStats(&during)
	if grown := int64(during.HeapAlloc) - int64(before.HeapAlloc); size < 20<<20 || grown > 32<<20 {
		t.Errorf("%d MiB more in memory after %d MiB were sent", grown>>20, size>>20)
	}
}
