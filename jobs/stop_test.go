package jobs_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func TestGoAhead(t *testing.T) {
	lead, other := id(0xb, 7), id(0xb, 8)
	for _, tt := range []struct {
		name  string
		stop  events.Stop
		given events.GoAhead
		ends  bool
		flag  string
	}{
		{"ByTheNamed", events.Stop{Ask: "the engineer"}, events.GoAhead{Who: "the engineer"}, true, ""},
		{"ByTheNamedWithMore", events.Stop{Ask: "the engineer"}, events.GoAhead{Who: "The engineer, by telephone"}, true, ""},
		{"ByTheNamedPerson", events.Stop{Ask: "Mere", AskOf: lead}, events.GoAhead{Who: "M. Kohu", WhoOf: lead}, true, ""},
		{"OfTheSameNameButAnother", events.Stop{Ask: "Mere", AskOf: lead}, events.GoAhead{Who: "Mere", WhoOf: other}, false, "Mere gave a go-ahead, was not named"},
		{"ByAnotherWithAReason", events.Stop{Ask: "the engineer"}, events.GoAhead{Who: "the office", Why: "plaster only"}, true, "go-ahead given by the office, where the engineer was named; reason: plaster only"},
		{"ByAnotherWithout", events.Stop{Ask: "the engineer"}, events.GoAhead{Who: "the office", Why: " "}, false, "the office gave a go-ahead, was not named and gave no reason: the stop stays until the engineer"},
		{"ByOneWhoseNameBeginsAlike", events.Stop{Ask: "Ann"}, events.GoAhead{Who: "Anna"}, false, "Anna gave a go-ahead"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, _ := agreed(t)
			tt.stop.Why = "crack opened"
			tt.given.Stop = s.record(events.KindStop, tt.stop)
			s.record(events.KindGoAhead, tt.given)
			p := s.picture()
			if open := len(p.Stops) > 0; open == tt.ends || p.Halts[0].Open == tt.ends || p.Halts[0].GoAheads[0].Ended != tt.ends {
				t.Errorf("open %t, want it ended: %t; %+v", open, tt.ends, p.Halts[0])
			}
			if len(p.SetAside) != 0 {
				t.Errorf("a fact was set aside: %+v", p.SetAside)
			}
			if tt.flag != "" && !says(p, tt.flag) || tt.flag == "" && len(p.Flags) > 0 {
				t.Errorf("flags %+v, want %q", p.Flags, tt.flag)
			}
		})
	}
}

// A go-ahead that did not count leaves the stop to the one that does.
func TestGoAheadAfterOneThatDidNotCount(t *testing.T) {
	s, _ := agreed(t)
	stop := s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer"})
	s.record(events.KindGoAhead, events.GoAhead{Stop: stop, Who: "a hand"})
	s.record(events.KindGoAhead, events.GoAhead{Stop: stop, Who: "the engineer"})
	h := s.picture().Halts[0]
	if h.Open || len(h.GoAheads) != 2 || h.GoAheads[0].Ended || !h.GoAheads[1].Ended || h.Closed != "go-ahead by the engineer" {
		t.Errorf("%+v", h)
	}
}

func says(p jobs.Picture, words string) bool {
	return slices.ContainsFunc(p.Flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, words) })
}

// What each phone knew when it recorded is said with what it recorded.
func TestRecordedWhileStopped(t *testing.T) {
	jack := func(s *site, device byte, seen int64) {
		s.at(device, events.KindJacking, events.Jacking{Moves: []events.Move{{Support: "B1-3", By: mm(2), Gauge: events.Rule}}})
		s.log[len(s.log)-1].SeenSeq = seen
	}
	t.Run("HadHeard", func(t *testing.T) {
		s, _ := agreed(t)
		s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer"})
		jack(s, 2, int64(len(s.log)))
		if p := s.picture(); !says(p, "B1-3 was moved while stopped") || says(p, "had not heard") {
			t.Errorf("flags %+v", p.Flags)
		}
	})
	t.Run("HadNotHeard", func(t *testing.T) {
		s, _ := agreed(t)
		s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer"})
		jack(s, 2, 1)
		if p := s.picture(); !says(p, "B1-3 was moved while stopped, on a phone that had not heard of the stop") {
			t.Errorf("flags %+v", p.Flags)
		}
	})
	t.Run("ForThatPhoneItStillStood", func(t *testing.T) {
		s, _ := agreed(t)
		stop := s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer"})
		stopped := int64(len(s.log))
		s.record(events.KindGoAhead, events.GoAhead{Stop: stop, Who: "the engineer"})
		jack(s, 2, stopped)
		jack(s, 2, stopped+1)
		p := s.picture()
		if n := strings.Count(joined(p), "after the go-ahead, on a phone that had not heard of it"); n != 1 {
			t.Errorf("said %d times: %+v", n, p.Flags)
		}
	})
	t.Run("AfterEverybodyWasOut", func(t *testing.T) {
		s, _ := agreed(t)
		s.record(events.KindDayEnd, events.DayEnd{Out: true})
		s.jack("B1-3", 2)
		if p := s.picture(); !says(p, "B1-3 was jacked after everybody was said to be out") {
			t.Errorf("flags %+v", p.Flags)
		}
		s.record(events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "the way out is clear", Initials: "MK"}}})
		s.jack("B1-3", 2)
		if n := strings.Count(joined(s.picture()), "said to be out"); n != 1 {
			t.Errorf("said %d times once they went below again", n)
		}
	})
}

func joined(p jobs.Picture) string {
	words := ""
	for _, f := range p.Flags {
		words += f.Text + "\n"
	}
	return words
}

func TestSeen(t *testing.T) {
	s, _ := agreed(t)
	s.at(2, events.KindNote, events.Note{Text: "here"})
	s.log[len(s.log)-1].SeenSeq = 4
	for _, one := range jobs.Refold(s.job, s.log).Seen() {
		if want := int64(4); one.Device == s.log[len(s.log)-1].Device && one.Seq != want {
			t.Errorf("seen up to %d, want %d", one.Seq, want)
		}
	}
}

func TestResting(t *testing.T) {
	s, u := agreed(t) // four readings on it
	if got := strings.Join(jobs.Refold(s.job, s.log).Resting(u), ", "); got != "4 readings" {
		t.Errorf("%q rest on the set-up", got)
	}
	s.record(events.KindVoid, events.Void{Event: s.log[len(s.log)-2].ID, Why: "slip"})
	if got := strings.Join(jobs.Refold(s.job, s.log).Resting(u), ", "); got != "3 readings" {
		t.Errorf("%q rest on it once one is void", got)
	}
}
