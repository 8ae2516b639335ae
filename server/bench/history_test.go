//go:build bench

package bench

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// history is what a crew records at one house, day after day, for as long as somebody
// asks for more. The same chances give the same bytes.
type history struct {
	t       *testing.T
	source  *rand.ChaCha8 // of ids
	chances *rand.Rand

	job, device, by events.ID
	now             time.Time // on site
	count, given    int64     // records made, and taken
	due             []events.Incoming

	plan     events.Plan
	floor    []float64 // how high it truly lies over each support, mm; 0 is level
	final    []bool    // the support has its last packer
	signed   int
	setup    events.ID
	planeMM  float64
	readings []events.ID // the last of each support
	days     int
}

// How far under the floor the bearers' undersides lie, and how high over the datum the
// laser stands above and below the floor, mm.
const (
	bearerBelow = 194
	planeAbove  = 1210
	planeBelow  = -450
)

// Of how a crew works: how far it lifts at once, and how many supports on one day.
const (
	liftMM  = 6
	liftDay = 10
)

// newHistory begins a house of 20 to 40 supports. It takes its name from its number.
func newHistory(t *testing.T, n int64, by events.ID, begins time.Time) *history {
	key := [32]byte{}
	for i := range 8 {
		key[i] = byte(n >> (8 * i))
	}
	source := rand.NewChaCha8(key)
	h := &history{t: t, source: source, chances: rand.New(rand.NewPCG(uint64(n), 1)), by: by, now: begins}
	h.job, h.device = h.newID(), h.newID()
	supports := 20 + h.chances.IntN(21)
	h.plan = lowPlan(supports)
	h.plan.Rooms = []events.Room{{Name: "front room", Outline: outline(0, 0, 6, 4)}, {Name: "kitchen", Outline: outline(6, 0, 12, 4)}}
	h.floor, h.final, h.readings = make([]float64, supports), make([]bool, supports), make([]events.ID, supports)
	for i := range h.floor {
		h.floor[i] = -30 * h.chances.Float64()
	}
	return h
}

func outline(x0, y0, x1, y1 float64) []events.Position {
	return []events.Position{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
}

func (h *history) newID() events.ID { return mustID(events.NewID(h.now, h.source)) }

// take returns the next records, so many of them, and when the last was made.
func (h *history) take(n int) []events.Incoming {
	h.work(n)
	taken := h.due[:n]
	h.due, h.given = h.due[n:], h.given+int64(n)
	if len(h.due) == 0 {
		h.due = nil // nothing keeps what was taken
	}
	return taken
}

// work goes on until there are so many records, to the end of that day.
func (h *history) work(n int) {
	for len(h.due) < n {
		h.day()
	}
}

// record makes an event of what happened.
func (h *history) record(kind events.Kind, body events.Body) events.ID {
	text, err := json.Marshal(body)
	must(h.t, err)
	h.count++
	h.now = h.now.Add(time.Duration(20+h.chances.IntN(80)) * time.Second)
	offset := int64(0)
	e := events.Event{
		ID: h.newID(), Job: h.job, Kind: kind, V: 1, At: h.now, OffsetMS: &offset, ClockSession: "a",
		Device: h.device, DeviceSeq: h.count, SeenSeq: h.count - 1, By: h.by, Body: text,
	}
	raw, err := json.Marshal(e)
	must(h.t, err)
	h.due = append(h.due, events.Incoming{Event: e, Raw: raw})
	return e.ID
}

// day is one day of work, by how far the house is.
func (h *history) day() {
	h.days++
	switch {
	case h.days == 1:
		h.survey()
	case h.signed < len(h.final):
		h.safetyCheck()
		h.lift()
	default:
		h.safetyCheck()
		h.lookAgain()
	}
	h.record(events.KindDayEnd, &events.DayEnd{Done: "packing checked at every support", Out: true})
	next := h.now.AddDate(0, 0, 1)
	h.now = time.Date(next.Year(), next.Month(), next.Day(), 7, 15, 0, 0, next.Location())
}

// survey reads the floor from above and agrees on what is level enough.
func (h *history) survey() {
	h.record(events.KindPlan, &h.plan)
	h.setUp(planeAbove)
	for i := range h.floor {
		h.read(i, events.FloorFace)
	}
	h.takeAway()
	for _, room := range h.plan.Rooms {
		h.record(events.KindCondition, &events.Condition{Room: room.Name, Walls: "hairline crack over the door", Ceiling: "sound", Present: "the owner"})
	}
	h.record(events.KindFinding, &events.Finding{What: "leaning", HowBad: "45 mm out of plumb", Cause: "soil dried out under the wall", Supports: []string{h.name(2)}})
	h.record(events.KindAim, &events.Aim{Aim: events.AimLevel, Height: length(0), Face: events.FloorFace, StepMM: 12, AgreedBy: "the owner",
		Tolerance: events.Tolerance{WithinMM: 3}})
}

func (h *history) safetyCheck() {
	check := &events.SafetyCheck{AtHatch: "the second hand"}
	for _, sentence := range []string{"Circuits below the floor are off and tagged", "Jacks are rated for the load and in date", "Blocking lies to hand at every jack", "The way out is clear and lit"} {
		check.Sentences = append(check.Sentences, events.Initialled{Sentence: sentence, Initials: "WD"})
	}
	h.record(events.KindSafetyCheck, check)
}

// lift reads all bearers from below and brings the lowest supports up, those that are
// nearly there for good.
func (h *history) lift() {
	h.setUp(planeBelow)
	for i := range h.floor {
		h.read(i, events.BearerFace)
	}
	first := h.chances.IntN(len(h.floor))
	for n := range min(liftDay, len(h.floor)) {
		i := (first + n) % len(h.floor)
		switch {
		case h.final[i]:
		case h.floor[i] < -liftMM:
			h.raise(i, liftMM, events.Temporary)
		default:
			h.raise(i, -h.floor[i]+1, events.Final)
			h.record(events.KindSupportWork, &events.SupportWork{Support: h.name(i), Step: events.Refixed, How: "strap, four nails"})
			h.record(events.KindSigned, &events.Signed{Support: h.name(i), Reading: h.readings[i]})
			h.final[i] = true
			h.signed++
		}
	}
	if h.chances.IntN(3) == 0 {
		h.record(events.KindNote, &events.Note{Text: "The kitchen still runs down to the laundry; the owner saw it.", Supports: []string{h.name(first)}})
	}
	h.takeAway()
}

// raise jacks a support up, packs it, lets the jack down and reads what came of it.
func (h *history) raise(i int, by float64, sort events.PackingSort) {
	by = math.Max(by, 1)
	name, gap := h.name(i), math.Round(20+by)
	h.record(events.KindJacking, &events.Jacking{Moves: []events.Move{{Support: name, By: length(math.Round(2*by) / 2), Gauge: events.Rule, Jack: "bottle jack, 10 t", Beside: "towards the street"}}})
	h.record(events.KindPacking, &events.Packing{Support: name, Sort: sort, Gap: length(gap), FullWidth: sort == events.Final,
		Pieces: []events.Piece{{Thickness: length(gap), Material: "seasoned hardwood"}}})
	h.record(events.KindJackDown, &events.JackDown{Support: name})
	h.floor[i] += by - 0.5 - h.chances.Float64()
	h.read(i, events.BearerFace)
}

// lookAgain comes back to a finished floor and reads it on both faces.
func (h *history) lookAgain() {
	h.setUp(planeAbove)
	for i := range h.floor {
		h.read(i, events.FloorFace)
	}
	h.takeAway()
	h.setUp(planeBelow)
	for i := range h.floor {
		h.read(i, events.BearerFace)
	}
	h.takeAway()
}

func (h *history) setUp(planeMM float64) {
	h.planeMM = planeMM
	h.setup = h.record(events.KindSetup, &events.Setup{Instrument: "laser", Method: events.Receiver, Datums: h.datums()})
}

// takeAway reads the datum again before the laser goes.
func (h *history) takeAway() {
	h.record(events.KindSetupClosed, &events.SetupClosed{Setup: h.setup, Datums: h.datums()})
}

func (h *history) datums() []events.DatumReading {
	return []events.DatumReading{{Datum: h.plan.Datums[0].ID, Staff: length(h.staff(h.plan.Datums[0].Height.MM()))}}
}

// staff is what it shows of a height, to the millimetre.
func (h *history) staff(heightMM float64) float64 {
	return math.Round(h.planeMM - heightMM + 0.4*h.chances.NormFloat64())
}

func (h *history) read(i int, face events.Face) {
	at := h.floor[i]
	if face == events.BearerFace {
		at -= bearerBelow
	}
	id := h.record(events.KindReading, &events.Reading{Setup: h.setup, Point: h.name(i), Face: face, Staff: length(h.staff(at))})
	h.readings[i] = id
}

func (h *history) name(i int) string { return h.plan.Supports[i%len(h.plan.Supports)].ID }

// TestHistory holds what is made up to the way that a phone's records take: each is
// received, and the fold uses it and finds nothing odd.
func TestHistory(t *testing.T) {
	for n := range int64(20) {
		h := newHistory(t, n, newID(), time.Now().AddDate(0, 0, -60))
		began := time.Now()
		made := h.take(1500)
		took := time.Since(began)
		stored := make([]events.Stored, len(made))
		for i, in := range made {
			received, err := events.Receive(in.Raw)
			must(t, err)
			stored[i] = events.Stored{Event: received.Event, Seq: int64(i + 1), RecordedAt: in.Event.At, Raw: in.Raw}
		}
		began = time.Now()
		brief := jobs.Refold(h.job, stored).Brief()
		if brief.Aside > 0 || brief.Newer > 0 || len(brief.Doubts) > 0 || brief.Supports != len(h.floor) {
			t.Errorf("history %d: %d records are set aside, %d are newer, in doubt are %q", n, brief.Aside, brief.Newer, brief.Doubts)
		}
		t.Logf("%d days at %d supports, %d of them signed: made in %v, folded in %v", h.days, len(h.floor), h.signed, took, time.Since(began))
	}
}
