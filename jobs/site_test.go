package jobs_test

import (
	"encoding/binary"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// site records a job for tests: one device unless said otherwise, a minute
// between events.
type site struct {
	t     testing.TB
	job   events.ID
	log   []events.Stored
	clock time.Time
	count map[byte]int64
}

var begin = time.Date(2026, 3, 2, 8, 0, 0, 0, time.FixedZone("AEDT", 11*3600))

func newSite(t testing.TB) *site {
	return &site{t: t, job: id(0xa, 1), clock: begin, count: map[byte]int64{}}
}

func id(kind byte, n int) events.ID {
	v := events.ID{0: kind, 6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(v[12:], uint32(n))
	return v
}

// at records a body by device number dev, and returns the event's id.
func (s *site) at(dev byte, kind events.Kind, body any) events.ID {
	s.t.Helper()
	raw, err := json.Marshal(body)
	if err != nil {
		s.t.Fatal(err)
	}
	s.count[dev]++
	s.clock = s.clock.Add(time.Minute)
	zero := int64(0)
	n := len(s.log) + 1
	e := events.Stored{Event: events.Event{
		ID: id(0xe, n), Job: s.job, Kind: kind, V: 1, At: s.clock, OffsetMS: &zero, ClockSession: "a",
		Device: id(dev, 0), DeviceSeq: s.count[dev], By: id(0xb, 1), Body: raw,
	}, Seq: int64(n), RecordedAt: s.clock.Add(time.Second)}
	s.log = append(s.log, e)
	return e.ID
}

func (s *site) record(kind events.Kind, body any) events.ID {
	s.t.Helper()
	return s.at(1, kind, body)
}

func (s *site) picture() jobs.Picture {
	return jobs.Refold(s.job, s.log).Picture(s.clock)
}

func (s *site) support(name string) jobs.Support {
	s.t.Helper()
	v, known := s.picture().Support(name)
	if !known {
		s.t.Fatalf("no support %s", name)
	}
	return v
}

// flagged checks that some flag says these words.
func (s *site) flagged(words string) {
	s.t.Helper()
	flags := s.picture().Flags
	if !slices.ContainsFunc(flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, words) }) {
		s.t.Errorf("nothing says %q: %+v", words, flags)
	}
}

func mm(v float64) *events.Length {
	l := events.MM(v)
	return &l
}

// bearerPlan is one bearer of four supports 1.8 m apart, two datums, one room.
func bearerPlan() events.Plan {
	return events.Plan{
		Supports: []events.Support{{ID: "B1-1", X: 0}, {ID: "B1-2", X: 1.8}, {ID: "B1-3", X: 3.6}, {ID: "B1-4", X: 5.4}},
		Datums:   []events.Datum{{ID: "D1", X: -1, Height: mm(0), OffBuilding: true}, {ID: "D2", X: 7}},
		Bearers:  []events.Bearer{{ID: "B1", Supports: []string{"B1-1", "B1-2", "B1-3", "B1-4"}}},
		Rooms:    []events.Room{{Name: "hall", Outline: []events.Position{{-1, -1}, {6, -1}, {6, 1}, {-1, 1}}}},
	}
}

// laser opens a set-up whose plane is plane mm above D1.
func (s *site) laser(plane float64) events.ID {
	s.t.Helper()
	return s.record(events.KindSetup, events.Setup{Instrument: "laser 1", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(plane)}}})
}

func (s *site) read(setup events.ID, point string, staff float64) events.ID {
	s.t.Helper()
	return s.record(events.KindReading, events.Reading{Setup: setup, Point: point, Face: events.BearerFace, Staff: mm(staff)})
}

func (s *site) readOn(face events.Face, surface string, setup events.ID, point string, staff float64) events.ID {
	s.t.Helper()
	return s.record(events.KindReading, events.Reading{Setup: setup, Point: point, Face: face, Surface: surface, Staff: mm(staff)})
}

func (s *site) jack(support string, by float64) events.ID {
	s.t.Helper()
	return s.record(events.KindJacking, events.Jacking{Moves: []events.Move{{Support: support, By: mm(by), Gauge: events.Rule}}})
}

func (s *site) pack(support string, sort events.PackingSort, pieces ...float64) events.ID {
	s.t.Helper()
	p := events.Packing{Support: support, Sort: sort, FullWidth: sort == events.Final}
	for _, v := range pieces {
		p.Pieces = append(p.Pieces, events.Piece{Thickness: mm(v), Material: "hardwood"})
	}
	return s.record(events.KindPacking, p)
}

func (s *site) down(support string) events.ID {
	s.t.Helper()
	return s.record(events.KindJackDown, events.JackDown{Support: support})
}

func (s *site) fix(support string) events.ID {
	s.t.Helper()
	return s.record(events.KindSupportWork, events.SupportWork{Support: support, Step: events.Refixed, How: "strap"})
}

func (s *site) sign(support string, reading events.ID) events.ID {
	s.t.Helper()
	return s.record(events.KindSigned, events.Signed{Support: support, Reading: reading})
}

// surveyed is a site with a plan, a live set-up 1 000 above D1 and the four
// bearer undersides read at 0, −12, −20 and −5 mm.
func surveyed(t *testing.T) (*site, events.ID) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.read(u, "B1-1", 1000)
	s.read(u, "B1-2", 1012)
	s.read(u, "B1-3", 1020)
	s.read(u, "B1-4", 1005)
	return s, u
}

// agreed is surveyed with an aim: up to the highest, within 3 mm.
func agreed(t *testing.T) (*site, events.ID) {
	s, u := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{WithinMM: 3}})
	return s, u
}
