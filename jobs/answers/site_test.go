package answers_test

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/levelling"
)

// site records an invented job, a minute between records.
type site struct {
	t     testing.TB
	log   []events.Stored
	clock time.Time
	laser events.ID
	read  map[string]events.ID // the last reading of each place
}

var (
	zone   = time.FixedZone("AEDT", 11*3600)
	lead   = id(0xb, 1)
	ofFirm = jobs.Firm{Name: "Level & Daughters", Words: jobs.Australia, Units: levelling.Millimetre}
	ofJob  = jobs.Job{Name: "The long house", Place: "an invented hill"}
)

func id(kind byte, n int) events.ID {
	v := events.ID{0: kind, 6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(v[12:], uint32(n))
	return v
}

func newSite(t testing.TB) *site {
	return &site{t: t, clock: time.Date(2026, 3, 2, 8, 0, 0, 0, zone), read: map[string]events.ID{}}
}

func (s *site) record(kind events.Kind, body any, files ...events.File) events.ID {
	s.t.Helper()
	raw, err := json.Marshal(body)
	if err != nil {
		s.t.Fatal(err)
	}
	s.clock = s.clock.Add(time.Minute)
	zero, n := int64(0), len(s.log)+1
	for i := range files {
		files[i].TakenAt = s.clock
	}
	e := events.Stored{Event: events.Event{
		ID: id(0xe, n), Job: id(0xa, 1), Kind: kind, V: 1, At: s.clock, OffsetMS: &zero, ClockSession: "a",
		Device: id(0xd, 1), DeviceSeq: int64(n), By: lead, Body: raw, Files: files,
	}, Seq: int64(n), RecordedAt: s.clock.Add(time.Second)}
	s.log = append(s.log, e)
	return e.ID
}

// days lets some days pass.
func (s *site) days(n int) { s.clock = s.clock.AddDate(0, 0, n) }

func (s *site) account() answers.Account {
	s.t.Helper()
	return accountOf(s.log, ofFirm, s.clock)
}

func accountOf(log []events.Stored, firm jobs.Firm, now time.Time) answers.Account {
	state := jobs.Refold(id(0xa, 1), log)
	return answers.Of(state, entriesOf(state, log), answers.About{
		Job: ofJob, Firm: firm, Zone: zone, Now: now, Names: map[events.ID]string{lead: "Ines Level"},
	})
}

func entriesOf(state *jobs.State, log []events.Stored) []jobs.Entry {
	var out []jobs.Entry
	for _, e := range log {
		out = append(out, state.Entry(jobs.Open(e)))
	}
	return out
}

func mm(v float64) *events.Length {
	l := events.MM(v)
	return &l
}

func photo(of string, stage events.Stage) events.File {
	return events.File{Type: events.Photo, SHA256: sha256.Sum256([]byte(of + string(stage))), Bytes: 9, Media: events.MediaJPEG, Subject: of, Stage: stage}
}

// lies is how the floor lies before anybody lifts it, mm.
var lies = map[string]float64{"B1-1": 0, "B1-2": -12, "B1-3": -20, "B1-4": -5}

var supports = []string{"B1-1", "B1-2", "B1-3", "B1-4"}

func (s *site) plan() {
	s.record(events.KindPlan, events.Plan{
		Supports: []events.Support{{ID: "B1-1", X: 0}, {ID: "B1-2", X: 1.8}, {ID: "B1-3", X: 3.6}, {ID: "B1-4", X: 5.4}},
		Spots:    []events.Spot{{ID: "K1", X: 2.7, Y: .5}},
		Datums:   []events.Datum{{ID: "D1", X: -1, Height: mm(0), OffBuilding: true, StandsOn: "the kerb"}},
		Bearers:  []events.Bearer{{ID: "B1", Supports: supports}},
		Rooms: []events.Room{
			{Name: "hall", Outline: []events.Position{{-1, -1}, {2.5, -1}, {2.5, 1}, {-1, 1}}},
			{Name: "the kitchen", Outline: []events.Position{{2.5, -1}, {6, -1}, {6, 1}, {2.5, 1}}},
		},
	})
}

// setUp stands the laser a metre above the datum.
func (s *site) setUp() {
	s.laser = s.record(events.KindSetup, events.Setup{Instrument: "laser 1", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
}

func (s *site) look(place, surface string, height float64) {
	s.read[place] = s.record(events.KindReading, events.Reading{Setup: s.laser, Point: place, Face: events.FloorFace, Surface: surface, Staff: mm(1000 - height)})
}

func (s *site) survey(surface string) {
	s.plan()
	s.setUp()
	for _, id := range supports {
		s.look(id, surface, lies[id])
	}
	s.look("K1", surface, -15)
}

func (s *site) agree(leftOut ...string) {
	aim := events.Aim{Aim: events.AimHighest, AgreedBy: "R. Finch", AgreedHow: "on site", LeftOut: leftOut,
		Tolerance: events.Tolerance{Profile: "nz-1-200", WithinMM: 3}}
	for _, id := range leftOut {
		aim.LeftOutWhy = append(aim.LeftOutWhy, events.Reason{Support: id, Why: "the hearth stands on it"})
	}
	s.record(events.KindAim, aim)
}

// lift brings a support up to a height, packs, fastens, reads and signs it.
func (s *site) lift(place string, by, to float64) {
	s.record(events.KindJacking, events.Jacking{Moves: []events.Move{{Support: place, By: mm(by), Gauge: events.Rule}}})
	s.record(events.KindPacking, events.Packing{Support: place, Sort: events.Final, Gap: mm(by), FullWidth: true, Pieces: []events.Piece{{Thickness: mm(by), Material: "hardwood"}}})
	s.record(events.KindJackDown, events.JackDown{Support: place})
	s.record(events.KindSupportWork, events.SupportWork{Support: place, Step: events.Refixed, How: "strap"})
	s.look(place, "boards", to)
}

// raise does the whole work.
func (s *site) raise() {
	for _, id := range supports[1:] {
		s.lift(id, -lies[id], 0)
	}
	for _, id := range supports {
		s.look(id, "boards", map[string]float64{"B1-3": -1}[id])
		s.record(events.KindSigned, events.Signed{Support: id, Reading: s.read[id]})
	}
	s.look("K1", "boards", -1)
}

func (s *site) handOver(care string) {
	s.record(events.KindHandover, events.Handover{
		Date: s.clock.Format(time.DateOnly), Present: "R. Finch", Care: care, Papers: "the level book",
		ComeBack:     []string{s.clock.AddDate(0, 6, 0).Format(time.DateOnly), s.clock.AddDate(1, 0, 0).Format(time.DateOnly)},
		OwnersPlaces: []events.Witnessed{{Point: "B1-3", Reading: s.read["B1-3"]}, {Point: "K1", Reading: s.read["K1"]}, {Point: "B1-1", Reading: id(0xe, 9999)}},
	}, photo("the kitchen", events.After), photo("B1-3", events.After))
}
