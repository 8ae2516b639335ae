package jobs_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs"
)

// randomJob draws a job recorded by three devices whose clocks disagree, with
// plans, readings at places that no plan knows, moves, voids, signatures and
// bodies that make no sense.
func randomJob(t *rapid.T) []events.Stored {
	names := []string{"B1-1", "B1-2", "B1-3", "B1-4", "X9"}
	name := rapid.SampledFrom(names)
	n := rapid.IntRange(5, 40).Draw(t, "events")
	count := map[byte]int64{}
	step := rapid.SampledFrom([]time.Duration{time.Second, 24 * time.Hour}).Draw(t, "a job of minutes, or of years")
	var log []events.Stored
	earlier := func() events.ID { return id(0xe, rapid.IntRange(1, n).Draw(t, "refers to")) }
	for i := 1; i <= n; i++ {
		kind, body := randomBody(t, name, earlier)
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		dev := byte(rapid.IntRange(1, 3).Draw(t, "device"))
		count[dev]++
		e := events.Stored{Event: events.Event{
			ID: id(0xe, i), Job: id(0xa, 1), Kind: kind, V: 1, Body: raw,
			At:     begin.Add(time.Duration(rapid.IntRange(0, 600).Draw(t, "second")) * step),
			Device: id(dev, 0), DeviceSeq: count[dev], By: id(0xb, int(dev)),
			ClockSession: fmt.Sprint(rapid.IntRange(0, 1).Draw(t, "session")),
		}, Seq: int64(i), RecordedAt: begin.Add(time.Hour)}
		if rapid.Bool().Draw(t, "knows its clock") {
			ms := int64(rapid.IntRange(-300_000, 300_000).Draw(t, "offset"))
			e.OffsetMS = &ms
		}
		log = append(log, e)
	}
	return log
}

func randomBody(t *rapid.T, name *rapid.Generator[string], earlier func() events.ID) (events.Kind, any) {
	staff := func() *events.Length { return mm(float64(rapid.IntRange(900, 1100).Draw(t, "staff"))) }
	datums := func() (all []events.DatumReading) {
		for _, name := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"D1", "D2", "B1-1"}), 1, 3, rapid.ID[string]).Draw(t, "datums") {
			all = append(all, events.DatumReading{Datum: name, Staff: staff()})
		}
		return all
	}
	switch rapid.IntRange(0, 24).Draw(t, "kind") {
	case 0:
		plan := bearerPlan()
		if rapid.Bool().Draw(t, "without heights") {
			plan.Datums[0].Height = nil
		}
		return events.KindPlan, plan
	case 1, 2:
		return events.KindSetup, events.Setup{Instrument: "laser", Datums: datums(), Stand: &events.Position{2, 3}}
	case 3:
		return events.KindFound, events.Found{What: events.FoundSupport, ID: "X9", X: 9, Bearer: "B1", After: "B1-4"}
	case 4:
		return events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner"}
	case 5:
		return events.KindVoid, events.Void{Event: earlier(), Why: "slip"}
	case 6, 7:
		return events.KindJacking, events.Jacking{Moves: []events.Move{{Support: name.Draw(t, "at"), By: mm(3), Gauge: events.Rule}}}
	case 8:
		return events.KindPacking, events.Packing{Support: name.Draw(t, "at"), Sort: events.Final, FullWidth: true, Pieces: []events.Piece{{Thickness: mm(6)}}}
	case 9:
		return events.KindJackDown, events.JackDown{Support: name.Draw(t, "at")}
	case 10:
		return events.KindSigned, events.Signed{Support: name.Draw(t, "at"), Reading: earlier()}
	case 11:
		return events.KindStop, events.Stop{Why: "crack", Ask: "engineer", AskOf: somebody(t)}
	case 12:
		return events.KindGoAhead, events.GoAhead{Stop: earlier(), WhoOf: somebody(t), Who: rapid.SampledFrom([]string{"engineer", "the lead"}).Draw(t, "who"),
			Why: rapid.SampledFrom([]string{"", "plaster only"}).Draw(t, "why")}
	case 13:
		return "levitation", map[string]any{}
	case 14:
		return events.KindSetupClosed, events.SetupClosed{Setup: earlier(), Datums: datums()}
	case 15:
		return events.KindDifference, events.Difference{From: name.Draw(t, "from"), To: "B1-2", Face: events.BearerFace, Rise: mm(float64(rapid.IntRange(-9, 9).Draw(t, "rise")))}
	case 16:
		check := rapid.SampledFrom([]events.InstrumentCheck{twoPeg(0.06), halfTurn(0.05)}).Draw(t, "check")
		day := rapid.SampledFrom([]string{"", "2026-03-01", "2026-03-02", "2026-03-03"})
		check.Instrument, check.On, check.GoodUntil = "laser", day.Draw(t, "on"), day.Draw(t, "good until")
		return events.KindInstrumentCheck, check
	case 17:
		return events.KindHandover, events.Handover{Date: "2026-03-02", Present: "owner"}
	case 18, 19, 20:
		return randomRecord(t, name.Draw(t, "at"), earlier)
	}
	face := rapid.SampledFrom([]events.Face{events.FloorFace, events.BearerFace, "roof"}).Draw(t, "face")
	return events.KindReading, events.Reading{Setup: earlier(), Point: name.Draw(t, "at"), Face: face, Staff: staff(),
		Surface: rapid.SampledFrom([]string{"", "carpet", "boards"}).Draw(t, "surface")}
}

// somebody draws one of the firm, or nobody.
func somebody(t *rapid.T) events.ID {
	return rapid.SampledFrom([]events.ID{{}, id(0xb, 1), id(0xb, 2)}).Draw(t, "somebody")
}

// randomAgreed draws changes and their answers, and what is said of a finding.
func randomAgreed(t *rapid.T, earlier func() events.ID) (events.Kind, any) {
	switch rapid.IntRange(0, 3).Draw(t, "agreed") {
	case 0:
		amount := float64(rapid.IntRange(-3, 3).Draw(t, "amount")) + 0.25
		return events.KindChange, events.Change{Text: "one more stump", Amount: &amount, Currency: "AUD"}
	case 1:
		return events.KindChange, events.Change{Text: "two in its stead", Follows: earlier()}
	case 2:
		answer := events.ChangeAnswered{Change: earlier(), Name: "owner", Accepted: rapid.Bool().Draw(t, "accepted")}
		if !answer.Accepted {
			answer.Withdrawn, answer.Why = rapid.Bool().Draw(t, "withdrawn"), "not needed"
		}
		return events.KindChangeAnswered, answer
	}
	return events.KindFinding, events.Finding{Of: earlier(), Owner: somebody(t), Trade: rapid.SampledFrom([]string{"", "plumber"}).Draw(t, "trade"),
		By: rapid.SampledFrom([]string{"", "2026-03-02", "2026-03-01"}).Draw(t, "by"), Answer: "looked", Again: rapid.Bool().Draw(t, "again")}
}

// randomRecord draws what changes no height and what hangs on it.
func randomRecord(t *rapid.T, at string, earlier func() events.ID) (events.Kind, any) {
	switch rapid.IntRange(0, 13).Draw(t, "record") {
	case 0:
		return events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "Circuits off", Initials: "rm"}}, Off: []string{"gas"}}
	case 1:
		return events.KindDayEnd, events.DayEnd{Out: rapid.Bool().Draw(t, "out"), On: rapid.Bool().Draw(t, "on")}
	case 2, 3:
		width := rapid.SampledFrom([]float64{0.05, 0.8, 2, 7}).Draw(t, "width")
		watch := rapid.SampledFrom([]*events.Length{nil, nil, mm(1)}).Draw(t, "watch")
		return events.KindGapReading, events.GapReading{Gap: "arch", What: "crack", Width: mm(width), Watch: watch, Supports: []string{at}}
	case 4:
		return events.KindNote, events.Note{Text: "looked", Answers: earlier()}
	case 5:
		return events.KindFinding, events.Finding{What: "too few vents", Supports: []string{at}}
	case 6:
		return events.KindFindingClosed, events.FindingClosed{Finding: earlier(), How: "vents cut"}
	case 7:
		vents := []float64{float64(rapid.IntRange(1, 9).Draw(t, "vents")) * 10000}
		return events.KindUnderFloor, events.UnderFloor{Airing: &events.Airing{Rule: "uk-c", WallM: 30, VentsMM2: vents}, Moisture: []events.Moisture{{Support: at, Pct: 24}}}
	case 8:
		return events.KindInspection, events.Inspection{Who: "council", Stage: "holes", Answer: rapid.SampledFrom([]string{"passed", "again"}).Draw(t, "answer")}
	case 9, 10, 11, 12:
		return randomAgreed(t, earlier)
	}
	steps := []events.WorkStep{events.TakenOut, events.Dug, events.SeenInspector, events.Poured, events.CarriesFrom, events.Set, events.Capped, events.Refixed}
	return events.KindSupportWork, events.SupportWork{Support: at, Step: rapid.SampledFrom(steps).Draw(t, "step"), From: "2026-03-02"}
}

// The state is a function of the set of events: whatever the order in which
// they are handed to Refold, and however many of them come one by one.
func TestStateIsOfTheSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		want := jobs.Refold(log[0].Job, log).Picture(begin)
		shuffled := append([]events.Stored{}, log...)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1)).Shuffle(len(shuffled), func(i, j int) {
			shuffled[i], shuffled[j] = shuffled[j], shuffled[i]
		})
		if diff := cmp.Diff(want, jobs.Refold(log[0].Job, shuffled).Picture(begin)); diff != "" {
			t.Fatalf("another order of the same set, another state:\n%s", diff)
		}
	})
}

// A server continues with each event, and refolds when it is told to. After
// every one of them its state is that of the events so far.
func TestFoldContinues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		if rapid.Bool().Draw(t, "mostly in order") {
			slices.SortStableFunc(log, func(a, b events.Stored) int { return a.At.Compare(b.At) })
		}
		s := jobs.New(log[0].Job)
		for i, e := range log {
			again := jobs.Refold(s.Job(), log[:i+1])
			if !jobs.Fold(s, e) {
				s = again
				continue
			}
			if diff := cmp.Diff(again.Picture(begin), s.Picture(begin)) + cmp.Diff(again.Seen(), s.Seen()) + cmp.Diff(restingOf(again, log), restingOf(s, log)); diff != "" {
				t.Fatalf("after event %d (%s), continued and refolded differ (-refolded +continued):\n%s", i, e.Kind, diff)
			}
		}
	})
}

// restingOf says what rests on each event.
func restingOf(s *jobs.State, log []events.Stored) map[events.ID][]string {
	all := map[events.ID][]string{}
	for _, e := range log {
		all[e.ID] = s.Resting(e.ID)
	}
	return all
}

// The order of arrival changes the numbers of receipt, and nothing else.
func TestArrivalChangesOnlySeq(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		want := jobs.Refold(log[0].Job, log).Picture(begin)
		other := append([]events.Stored{}, log...)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "arrival"), 2)).Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		for i := range other {
			other[i].Seq = int64(i + 1)
		}
		got := jobs.Refold(log[0].Job, other).Picture(begin)
		if diff := cmp.Diff(want, got, cmp.FilterPath(numbers, cmp.Ignore()), cmp.Transformer("aside", asideByID)); diff != "" {
			t.Fatalf("another order of arrival, another state:\n%s", diff)
		}
	})
}

func numbers(p cmp.Path) bool {
	return strings.HasSuffix(p.String(), "Seq")
}

func asideByID(list []jobs.SetAside) map[events.ID]string {
	m := map[events.ID]string{}
	for _, a := range list {
		m[a.ID] = a.Reason
	}
	return m
}

func TestLatePlan(t *testing.T) {
	s := newSite(t)
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	s.read(u, "B1-3", 1020)
	if p := s.picture(); len(p.SetAside) != 2 || !strings.Contains(p.SetAside[0].Reason, "D1 is not on any plan yet") {
		t.Fatalf("set aside: %+v", p.SetAside)
	}
	s.record(events.KindPlan, bearerPlan())
	near(t, "counts once a plan knows it", s.support("B1-3").Present, -20)
	if p := s.picture(); len(p.SetAside) != 0 {
		t.Errorf("still set aside: %+v", p.SetAside)
	}
}

// A datum's height counts from the start, whenever a plan that gives it comes.
func TestLateHeightOfDatum(t *testing.T) {
	for _, first := range []bool{false, true} { // is there a plan without the height before?
		s := newSite(t)
		plan := events.Plan{Supports: []events.Support{{ID: "P1"}}, Datums: []events.Datum{{ID: "BM", X: 3}}}
		if first {
			s.record(events.KindPlan, plan)
		}
		u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "BM", Staff: mm(1000)}}})
		s.read(u, "P1", 1100)
		plan.Datums = []events.Datum{{ID: "BM", X: 3, Height: mm(5000)}}
		s.record(events.KindPlan, plan)
		near(t, "P1", s.support("P1").Present, 4900)
		if flags := s.picture().Flags; len(flags) != 0 {
			t.Errorf("flags %+v", flags)
		}
	}
}

func TestVoid(t *testing.T) {
	s, u := agreed(t)
	r := s.read(u, "B1-3", 920)
	v := s.record(events.KindVoid, events.Void{Event: r, Why: "read on the wrong support"})
	near(t, "without the voided reading", s.support("B1-3").Present, -20)
	if l := jobs.Refold(s.job, s.log).Line(s.log[len(s.log)-2]); l.Voided != "read on the wrong support" {
		t.Errorf("the book says %+v", l)
	}
	s.record(events.KindVoid, events.Void{Event: v, Why: "it was right"})
	p := s.picture()
	near(t, "a void cannot be voided", s.support("B1-3").Present, -20)
	if len(p.SetAside) != 1 || !strings.Contains(p.SetAside[0].Reason, "cannot be voided") {
		t.Errorf("set aside: %+v", p.SetAside)
	}
}

func TestNewerKindsAreCounted(t *testing.T) {
	s, _ := agreed(t)
	s.record("levitation", map[string]int{"by": 3})
	if p := s.picture(); p.Newer != 1 {
		t.Errorf("%d newer events, want 1", p.Newer)
	}
}

func TestClockDaysOff(t *testing.T) {
	flagged := func(s *site, words string) {
		t.Helper()
		for _, f := range s.picture().Flags {
			if strings.Contains(f.Text, words) {
				return
			}
		}
		t.Errorf("nothing says %q: %+v", words, s.picture().Flags)
	}
	t.Run("Ahead", func(t *testing.T) {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		s.log[len(s.log)-1].RecordedAt = s.clock.Add(-72 * time.Hour)
		flagged(s, "3 days later than its receipt")
		near(t, "and it counts", s.support("B1-3").Present, -20)
	})
	t.Run("CorrectedByItsOffset", func(t *testing.T) {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		e := &s.log[len(s.log)-1]
		days := int64(2 * 24 * time.Hour / time.Millisecond)
		e.At, e.OffsetMS, e.ClockSession = e.At.Add(-48*time.Hour), &days, "b"
		flagged(s, "off by 2 days; its times are corrected")
		if at := s.support("B1-3").Faces[0].At; !at.Equal(s.clock) {
			t.Errorf("site time %v, want %v", at, s.clock)
		}
	})
	t.Run("UncheckedAndOld", func(t *testing.T) {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		e := &s.log[len(s.log)-1]
		e.OffsetMS, e.ClockSession = nil, "c"
		e.RecordedAt = e.At.Add(5 * 24 * time.Hour)
		flagged(s, "unchecked, and its time is 5 days before its receipt")
	})
}

// What was erased does not count, and says so.
func TestErased(t *testing.T) {
	s, u := agreed(t)
	s.read(u, "B1-3", 1020)
	e := &s.log[len(s.log)-1]
	e.Erased, e.Raw, e.Body = true, nil, nil
	if p := s.picture(); len(p.SetAside) != 1 || p.SetAside[0].Reason != "erased at somebody's request" {
		t.Errorf("set aside %+v", p.SetAside)
	}
}

// A clock gone wild moves nothing out of the years that can be written.
func TestClockBeyondTheCalendar(t *testing.T) {
	for _, ms := range []int64{math.MinInt64, -1 << 60, 1 << 48, 1 << 60, math.MaxInt64} {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		e := &s.log[len(s.log)-1]
		e.At, e.OffsetMS, e.ClockSession = time.Date(9999, 12, 31, 23, 0, 0, 0, time.FixedZone("", -11*3600)), &ms, "b"
		if _, err := json.Marshal(s.picture()); err != nil {
			t.Errorf("offset %d: %v", ms, err)
		}
		near(t, "it counts", s.support("B1-3").Present, -20)
	}
}

// A device's own order holds even when its clock steps back.
func TestDeviceOrderHolds(t *testing.T) {
	s, u := agreed(t)
	s.jack("B1-3", 8)
	s.read(u, "B1-3", 1012)
	e := &s.log[len(s.log)-1]
	e.At = e.At.Add(-time.Hour)
	v := s.support("B1-3")
	if v.Basis != jobs.WasRead {
		t.Errorf("the reading after the jacking was put before it: %s", v.Basis)
	}
	near(t, "remaining", v.Remaining, 12)
}

func TestDatumWithoutHeightLearnsIt(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}, {Datum: "D2", Staff: mm(960)}}})
	near(t, "D2", s.picture().Datums[1].Height, 40)
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1100)}, {Datum: "D2", Staff: mm(1072)}}})
	p := s.picture()
	if !strings.Contains(p.Setups[0].Doubt, "datums disagree by 12 mm") || p.Setups[0].ID != u {
		t.Errorf("latest set-up: %+v", p.Setups[0])
	}
}

func TestClosingReadingDisagrees(t *testing.T) {
	s, u := agreed(t)
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1009)}}})
	if d := s.picture().Setups[0].Doubt; !strings.Contains(d, "4 readings between are in doubt") {
		t.Errorf("doubt %q", d)
	}
	s.read(u, "B1-4", 1005)
	if !slices.ContainsFunc(s.picture().Flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, "closed before") }) {
		t.Error("a reading on a closed set-up is not flagged")
	}
}

// Two devices at one support, neither knowing of the other, within what their
// clocks can tell: nobody knows whether the reading is from before the move.
func TestOrderUncertain(t *testing.T) {
	uncertain := func(s *site) bool {
		return slices.ContainsFunc(s.picture().Flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, "order uncertain") })
	}
	t.Run("ReadAgain", func(t *testing.T) {
		s, u := agreed(t)
		s.jack("B1-3", 8)
		s.at(2, events.KindReading, events.Reading{Setup: u, Point: "B1-3", Face: events.BearerFace, Staff: mm(1012)})
		if v := s.support("B1-3"); !uncertain(s) || !strings.HasPrefix(v.Next, "Read it") {
			t.Errorf("next %q, flags %+v", v.Next, s.picture().Flags)
		}
		s.clock = s.clock.Add(time.Hour)
		s.at(2, events.KindReading, events.Reading{Setup: u, Point: "B1-3", Face: events.BearerFace, Staff: mm(1012)})
		near(t, "remaining once read again", s.support("B1-3").Remaining, 12)
	})
	t.Run("KnewOfIt", func(t *testing.T) {
		s, u := agreed(t)
		s.jack("B1-3", 8)
		s.at(2, events.KindReading, events.Reading{Setup: u, Point: "B1-3", Face: events.BearerFace, Staff: mm(1012)})
		s.log[len(s.log)-1].SeenSeq = int64(len(s.log) - 1)
		if uncertain(s) {
			t.Error("the second device had seen the move")
		}
	})
	t.Run("TwoReadings", func(t *testing.T) {
		s, u := agreed(t)
		s.at(2, events.KindReading, events.Reading{Setup: u, Point: "B1-3", Face: events.BearerFace, Staff: mm(1020)})
		if uncertain(s) {
			t.Error("the order of two readings does not matter")
		}
	})
}
