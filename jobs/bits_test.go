package jobs_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/bitstest"
)

// The same events give the same picture to the last bit of every number and the
// last letter of every sentence, on every kind of machine.
func TestBits(t *testing.T) {
	bitstest.Same(t, "testdata/bits.txt", "jobs", 1000, func(number uint64) any { return playJob(t, number) })
}

// dice draws a job. It takes numbers from one generator in a fixed order, so
// that they are the same everywhere.
type dice struct {
	*rand.Rand
	site   *site
	names  []string
	setups []events.ID
	last   map[string]events.ID // the last reading of each place
}

// playJob draws a job, half of it survey and half of it work, and returns its
// picture.
func playJob(t *testing.T, number uint64) jobs.Picture {
	d := dice{Rand: rand.New(rand.NewPCG(number, 3)), site: newSite(t), last: map[string]events.ID{}}
	d.plan()
	d.setUp()
	for _, name := range d.names {
		d.readAt(name)
	}
	d.agree()
	steps := []func(){d.read, d.read, d.read, d.readBothFaces, d.jack, d.jack, d.pack, d.down, d.sign, d.setUp, d.difference, d.closeSetup, d.agree}
	for range 4 + d.IntN(24) {
		steps[d.IntN(len(steps))]()
	}
	return d.site.picture()
}

// length is one of a staff or rule between two whole mm, read in one of the
// units and with as many digits as come.
func (d *dice) length(low, high int) *events.Length {
	l := events.MM(float64(low) + float64(d.Float64()*float64(high-low)))
	switch d.IntN(4) {
	case 0:
		l.Value = float64(low + d.IntN(high-low+1))
	case 1:
		l = events.Length{Value: l.Value / levelling.Foot.MM(), Unit: levelling.Foot}
	}
	return &l
}

func (d *dice) plan() {
	p := events.Plan{Datums: []events.Datum{
		{ID: "D1", X: -1, Height: d.length(-50, 50), OffBuilding: true},
		{ID: "D2", X: 9, Y: d.Float64() * 5}, {ID: "D3", X: 4, Y: -2, Height: d.length(-50, 50)},
	}, Rooms: []events.Room{{Name: "hall", Outline: []events.Position{{-1, -1}, {9, -1}, {9, 9}, {-1, 9}}}}}
	for row := range 1 + d.IntN(3) {
		b := events.Bearer{ID: fmt.Sprint("B", row)}
		for i := range 2 + d.IntN(4) {
			s := events.Support{ID: fmt.Sprintf("%s-%d", b.ID, i), X: float64(float64(i)*1.7) + d.Float64()/5, Y: float64(float64(row)*1.3) + d.Float64()/5}
			p.Supports, b.Supports = append(p.Supports, s), append(b.Supports, s.ID)
		}
		if d.IntN(3) > 0 { // its section is recorded, so that lifts are carried along
			b.WidthMM, b.DepthMM, b.EMPa = 60+float64(40*d.Float64()), 60+float64(60*d.Float64()), 6000+float64(8000*d.Float64())
		}
		if n := len(b.Supports); n > 3 && d.IntN(3) == 0 {
			b.Joins = append(b.Joins, events.Join{At: b.Supports[1+d.IntN(n-2)], Sort: events.Halved})
		}
		p.Bearers, d.names = append(p.Bearers, b), append(d.names, b.Supports...)
	}
	d.site.record(events.KindPlan, p)
}

func (d *dice) name() string { return d.names[d.IntN(len(d.names))] }

func (d *dice) setup() events.ID { return d.setups[len(d.setups)-1-d.IntN(min(2, len(d.setups)))] }

func (d *dice) datums() []events.DatumReading {
	var all []events.DatumReading
	for _, i := range d.Perm(3)[:1+d.IntN(3)] {
		all = append(all, events.DatumReading{Datum: fmt.Sprint("D", i+1), Staff: d.length(990, 1010)})
	}
	return all
}

func (d *dice) setUp() {
	s := events.Setup{Instrument: fmt.Sprint("laser ", d.IntN(2)), Datums: d.datums()}
	if d.IntN(2) == 0 {
		s.Stand, s.SDMMPerM = &events.Position{d.Float64() * 8, d.Float64() * 4}, d.Float64()/10
	}
	d.setups = append(d.setups, d.site.record(events.KindSetup, s))
}

func (d *dice) closeSetup() {
	d.site.record(events.KindSetupClosed, events.SetupClosed{Setup: d.setup(), Datums: d.datums()})
	d.setUp()
}

func (d *dice) read() { d.readAt(d.name()) }

func (d *dice) readAt(name string) {
	face := []events.Face{events.BearerFace, events.FloorFace, events.FloorFace}[d.IntN(3)]
	surface := ""
	if face == events.FloorFace {
		surface = []string{"", "carpet", "boards"}[d.IntN(3)]
	}
	d.last[name] = d.site.record(events.KindReading, events.Reading{Setup: d.setup(), Point: name, Face: face, Surface: surface, Staff: d.staff(face)})
}

// staff reads within a few cm of level; one in twenty is misread by 100 mm.
func (d *dice) staff(face events.Face) *events.Length {
	low := 1000
	if face == events.FloorFace {
		low = 850
	}
	if d.IntN(20) == 0 {
		low += 100
	}
	return d.length(low, low+12)
}

func (d *dice) readBothFaces() {
	name, setup := d.name(), d.setup()
	for _, face := range []events.Face{events.FloorFace, events.BearerFace} {
		d.last[name] = d.site.record(events.KindReading, events.Reading{Setup: setup, Point: name, Face: face, Staff: d.staff(face)})
	}
}

func (d *dice) jack() {
	var moves []events.Move
	for _, i := range d.Perm(len(d.names))[:1+d.IntN(2)] {
		moves = append(moves, events.Move{Support: d.names[i], By: d.length(-2, 9), Gauge: []events.Gauge{events.Rule, events.Dial, events.Turns}[d.IntN(3)]})
	}
	d.site.record(events.KindJacking, events.Jacking{Moves: moves})
}

func (d *dice) pack() {
	sort := []events.PackingSort{events.Final, events.Final, events.Temporary}[d.IntN(3)]
	d.site.record(events.KindPacking, events.Packing{Support: d.name(), Sort: sort, FullWidth: true, Gap: d.length(10, 20),
		Pieces: []events.Piece{{Thickness: d.length(5, 9)}, {Thickness: d.length(5, 9)}}})
}

func (d *dice) down() { d.site.down(d.name()) }

func (d *dice) sign() {
	name := d.name()
	d.site.fix(name)
	d.site.sign(name, d.last[name])
}

func (d *dice) difference() {
	two := d.Perm(len(d.names))
	d.site.record(events.KindDifference, events.Difference{From: d.names[two[0]], To: d.names[two[1]], Face: events.BearerFace, Rise: d.length(-6, 6)})
}

func (d *dice) agree() {
	a := events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: d.tolerance(), MarginMM: d.Float64() / 2}
	switch d.IntN(4) {
	case 0:
		a.Aim, a.Height = events.AimLevel, d.length(-5, 5)
	case 1:
		a.Aim, a.Plane = events.AimPlane, &events.Slope{X: d.Float64() * 3, Y: d.Float64()}
	case 2:
		a.Aim = events.AimLeast
	}
	if d.IntN(2) == 0 {
		a.Face = events.BearerFace
	}
	if d.IntN(3) > 0 { // rounds are planned
		a.StepMM, a.NeighbourMM, a.Ratio, a.Jacks = 1+float64(4*d.Float64()), 3*d.Float64(), 300+float64(400*d.Float64()), d.IntN(3)
	}
	d.site.record(events.KindAim, a)
}

func (d *dice) tolerance() events.Tolerance {
	profiles := levelling.Profiles()
	if d.IntN(2) == 0 {
		return events.Tolerance{WithinMM: 3, Profile: profiles[d.IntN(len(profiles))].Name}
	}
	return events.Tolerance{WithinMM: 2, Source: "agreed with the owner", Limits: []events.Limit{
		{Kind: levelling.PairLimit, OverM: 2, LimitMM: 4 + d.Float64()*4, Rule: levelling.Proportional}}}
}
