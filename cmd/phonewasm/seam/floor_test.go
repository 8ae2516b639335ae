package seam_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"relevel/events"
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

// end is after all of it.
func (f *floor) end() time.Time { return f.log[len(f.log)-1].At.Add(time.Minute) }
