package server_test

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/server"
)

// wayIn is a way in as GET devices shows it.
type wayIn struct {
	ID       events.ID         `json:"id"`
	Name     string            `json:"name"`
	DeviceID events.ID         `json:"device_id"`
	Highest  int64             `json:"highest"`
	Missing  [][2]int64        `json:"missing"`
	Lost     int64             `json:"lost"`
	HeardAt  time.Time         `json:"heard_at"`
	Report   *jobs.PhoneReport `json:"report"`
}

// pairAs pairs a phone that gave itself an id.
func (c *caller) pairAs(name string, device events.ID) (phone *caller, access events.ID) {
	c.t.Helper()
	var made struct{ Code string }
	c.send("POST", "/pairings", nil).want(c.t, 201, &made)
	var paired struct {
		Token    string
		Access   events.ID
		DeviceID events.ID `json:"device_id"`
	}
	c.send("POST", "/pair", fmt.Appendf(nil, `{"code":%q,"device":%q,"device_id":"%s"}`, made.Code, name, device)).want(c.t, 201, &paired)
	if paired.DeviceID != device || paired.Access.IsZero() {
		c.t.Errorf("paired as %+v, want the device %s", paired, device)
	}
	return &caller{t: c.t, url: c.url, firm: c.firm, token: paired.Token}, paired.Access
}

// access finds a way in.
func (c *caller) access(id events.ID) wayIn {
	c.t.Helper()
	var got struct{ Devices []wayIn }
	c.get("/devices", &got)
	for _, one := range got.Devices {
		if one.ID == id {
			return one
		}
	}
	c.t.Fatalf("no access %s in %+v", id, got)
	return wayIn{}
}

func wantMissing(t *testing.T, one wayIn, highest int64, missing ...[2]int64) {
	t.Helper()
	if diff := cmp.Diff(missing, one.Missing); diff != "" || one.Highest != highest {
		t.Errorf("highest %d, want %d; missing (-want +got):\n%s", one.Highest, highest, diff)
	}
}

// A number that never came is named, over all jobs, until it comes; what is in
// quarantine came.
func TestDeviceGaps(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	first, second := c.newJob(), c.newJob()
	d := newDevice(t, first)
	phone, access := c.pairAs("Mere's phone", d.id)
	if one := c.access(access); one.Highest != 0 || !one.HeardAt.IsZero() || one.DeviceID != d.id || one.Name != "Mere's phone" {
		t.Errorf("before anything came: %+v", one)
	}
	one := d.raw("note", `{"text":"1"}`)
	lost := []string{d.raw("note", `{"text":"2"}`), d.raw("note", `{"text":"3"}`)}
	phone.post(first, one)
	d.job = second
	phone.post(second, d.raw("note", `{"text":"4"}`), d.raw("note", `{"text":"5"}`))
	d.raw("note", `{"text":"6"}`)
	// The seventh names another job than its address, the eighth no job of this firm.
	phone.send("POST", "/jobs/"+first.String()+"/events", batch(d.raw("note", `{"text":"7"}`))).want(t, 200, nil)
	d.job = newID(t)
	phone.send("POST", "/jobs/"+d.job.String()+"/events", batch(d.raw("note", `{"text":"8"}`))).problem(t, 404, "")
	now := c.access(access)
	wantMissing(t, now, 8, [2]int64{2, 3}, [2]int64{6, 6})
	if now.Lost != 3 || time.Since(now.HeardAt) > time.Minute {
		t.Errorf("%d lost, heard at %s", now.Lost, now.HeardAt)
	}
	phone.post(first, lost...)
	wantMissing(t, c.access(access), 8, [2]int64{6, 6})
	// Paired again it is the same device.
	_, again := c.pairAs("Mere's phone", d.id)
	wantMissing(t, c.access(again), 8, [2]int64{6, 6})
}

// A device that only asks was heard, too; one firm hears nothing of another's.
func TestDeviceHeard(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	device := newID(t)
	phone, access := c.pairAs("Mere's phone", device)
	_, theirs := stranger.pairAs("theirs", device)
	phone.get("/phone?device="+device.String(), nil)
	if one := c.access(access); time.Since(one.HeardAt) > time.Minute || one.Highest != 0 {
		t.Errorf("%+v", one)
	}
	if one := stranger.access(theirs); !one.HeardAt.IsZero() {
		t.Errorf("another firm's phone of the same id: %+v", one)
	}
}

func TestPhoneReport(t *testing.T) {
	c := newSite(t).firm("Level Best")
	device := newID(t)
	phone, access := c.pairAs("Mere's phone", device)
	report := func(rest string) answer {
		return phone.send("POST", "/phone/report", []byte(`{"device":"`+device.String()+`",`+rest+`}`))
	}
	report(`"version":"1.0","unsent":9,"photos":0`).want(t, 204, nil)
	report(`"version":"1.1","unsent":2,"oldest_unsent_at":"2026-03-02T10:15:00Z","photos":5,"persisted":false,"storage_used":10,"storage_quota":20`).want(t, 204, nil)
	kept := false
	want := &jobs.PhoneReport{Version: "1.1", Unsent: 2, OldestUnsentAt: time.Date(2026, 3, 2, 10, 15, 0, 0, time.UTC), Photos: 5, Persisted: &kept, StorageUsed: 10, StorageQuota: 20}
	got := c.access(access)
	if time.Since(got.Report.At) > time.Minute || !got.HeardAt.Equal(got.Report.At) {
		t.Errorf("reported at %s, heard at %s", got.Report.At, got.HeardAt)
	}
	want.At = got.Report.At
	if diff := cmp.Diff(want, got.Report); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	report(`"version":"1.1","unsent":-1,"photos":0`).problem(t, 422, "unsent")
	report(`"version":"1.1","unset":1,"photos":0`).problem(t, 422, "unset")
	phone.send("POST", "/phone/report", []byte(`{"version":"1.1","unsent":0,"photos":0}`)).problem(t, 422, "device")
}

// deafStore forgets what came from devices, as a crash before it is written does.
type deafStore struct{ jobs.Store }

func (deafStore) HearPhone(context.Context, jobs.Heard) error { return nil }

// What a crash lost of the counters is heard again when the job is next looked at.
func TestDeviceHeardAgainFromTheLog(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Store = deafStore{c.Store} })
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	_, access := c.pairAs("Mere's phone", d.id)
	c.post(job, d.raw("note", `{"text":"1"}`), d.raw("note", `{"text":"2"}`))
	wantMissing(t, c.access(access), 0)
	s.app.Close()

	c = c.at(newSite(t))
	wantMissing(t, c.access(access), 0)
	c.state(job)
	wantMissing(t, c.access(access), 2)
}

// While the store is away what was heard waits.
func TestDeviceHeardWhileAway(t *testing.T) {
	store := jobstest.NewMemory()
	var away atomic.Bool
	store.Fail = func(call string) error {
		if call == "HearPhone" && away.Load() {
			return events.ErrUnavailable
		}
		return nil
	}
	s := newSite(t, func(c *server.Config) { c.Store = store })
	c := newFirm(t, store, s.URL, "Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	_, access := c.pairAs("Mere's phone", d.id)
	away.Store(true)
	c.post(job, d.raw("note", `{"text":"1"}`))
	wantMissing(t, c.access(access), 0)
	c.post(job, d.raw("note", `{"text":"2"}`))
	away.Store(false)
	wantMissing(t, c.access(access), 2)
}

// The page says it in words, and shows the code to a camera.
func TestDevicesPageSays(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	d := newDevice(t, b.job)
	b.caller.pairAs("old access", d.id)
	phone, _ := b.caller.pairAs("Mere's phone", d.id)
	d.raw("note", `{"text":"lost"}`)
	phone.post(b.job, d.raw("note", `{"text":"2"}`))
	phone.send("POST", "/phone/report", []byte(`{"device":"`+d.id.String()+`","version":"1","unsent":2,"photos":5}`)).want(t, 204, nil)
	page := b.get("/devices")
	says(t, page, "1 record never arrived: number 1", "2 records, 5 photos still on it", "last heard")
	if strings.Count(page, "never arrived") != 1 {
		t.Error("a device that was paired twice is told of twice")
	}
	_, page, _ = b.post("/devices", url.Values{})
	says(t, page, `<svg class="qr"`)
}
