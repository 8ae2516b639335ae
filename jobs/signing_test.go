package jobs_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// finished is agreed, with B1-1 packed, fixed, read at its target and signed.
func finished(t *testing.T) (*site, events.ID) {
	s, u := agreed(t)
	s.pack("B1-1", events.Final, 6)
	s.fix("B1-1")
	s.sign("B1-1", s.read(u, "B1-1", 1000))
	if v := s.support("B1-1"); v.State != jobs.IsSigned {
		t.Fatalf("%s, lacking %q", v.State, v.Signature.Lacking)
	}
	return s, u
}

// What happens at a signed support afterwards ends its signature.
func TestSignatureLapses(t *testing.T) {
	for name, do := range map[string]func(*site, events.ID){
		"its packing changed": func(s *site, _ events.ID) { s.pack("B1-1", events.Final, 9) },
		"its packing was taken out": func(s *site, _ events.ID) {
			s.record(events.KindSupportWork, events.SupportWork{Support: "B1-1", Step: events.OldPackingOut})
		},
		"B1-1 moved": func(s *site, _ events.ID) {
			s.record(events.KindSupportWork, events.SupportWork{Support: "B1-1", Step: events.TakenOut})
		},
		"say otherwise": func(s *site, u events.ID) {
			s.read(u, "B1-1", 1012)
			s.read(u, "B1-1", 1012)
		},
		"leaves 3 mm to go": func(s *site, u events.ID) {
			for range 9 {
				s.read(u, "B1-1", 1004)
			}
		},
		"the aim changed": func(s *site, _ events.ID) {
			s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(10), AgreedBy: "owner"})
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, u := finished(t)
			do(s, u)
			v := s.support("B1-1")
			if v.State == jobs.IsSigned || !strings.Contains(v.Signature.Lapsed, name) {
				t.Errorf("%s, lapsed %q", v.State, v.Signature.Lapsed)
			}
			if got := s.picture().Brief.Signed; got != 0 {
				t.Errorf("%d signed", got)
			}
		})
	}
}

// A signature rests on a reading of its own place since the last move.
func TestSignatureRestsOnReading(t *testing.T) {
	s, u := agreed(t)
	old := s.read(u, "B1-1", 1000)
	s.jack("B1-2", 2)
	other := s.read(u, "B1-3", 1020)
	s.pack("B1-1", events.Final, 6)
	s.fix("B1-1")
	s.read(u, "B1-1", 1000)
	for name, r := range map[string]events.ID{"before the move": old, "another place": other, "no reading": id(0xe, 9999)} {
		s.sign("B1-1", r)
		if v := s.support("B1-1"); v.State == jobs.IsSigned || len(v.Signature.Lacking) != 1 {
			t.Errorf("%s: %s, lacking %q", name, v.State, v.Signature.Lacking)
		}
	}
}

// Who had not seen what another device did at a support has signed another one.
func TestSignedUnseen(t *testing.T) {
	for seen, want := range map[int64]bool{0: false, 1000: true} {
		s, u := agreed(t)
		s.at(2, events.KindPacking, events.Packing{Support: "B1-1", Sort: events.Final, FullWidth: true, Pieces: []events.Piece{{Thickness: mm(6)}}})
		s.fix("B1-1")
		s.sign("B1-1", s.read(u, "B1-1", 1000))
		s.log[len(s.log)-1].SeenSeq = seen
		v := s.support("B1-1")
		if got := v.State == jobs.IsSigned; got != want {
			t.Errorf("having seen %d: %s, lapsed %q", seen, v.State, v.Signature.Lapsed)
		}
	}
}

func TestSignedWithoutAim(t *testing.T) {
	s, u := surveyed(t)
	s.pack("B1-1", events.Final, 6)
	s.fix("B1-1")
	s.sign("B1-1", s.read(u, "B1-1", 1000))
	if v := s.support("B1-1"); v.State == jobs.IsSigned || !slices.Equal(v.Signature.Lacking, []string{"an aim that gives a height"}) {
		t.Errorf("%s, lacking %q", v.State, v.Signature.Lacking)
	}
}

// The floor's signature keeps the reason that was given for a blocking.
func TestBlockingStays(t *testing.T) {
	s, u := agreed(t)
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"B1-1"}, What: "crossed timbers", Base: "sleepers"})
	s.pack("B1-1", events.Final, 6)
	s.fix("B1-1")
	r := s.read(u, "B1-1", 1000)
	s.record(events.KindSigned, events.Signed{Support: "B1-1", Reading: r, BlockingStays: "the pad is young"})
	s.record(events.KindSigned, events.Signed{Floor: true})
	if v := s.support("B1-1"); len(v.Signature.Lacking) > 0 || v.Next != "Done" || v.State != jobs.OnBlocking {
		t.Errorf("%s, next %q, lacking %q", v.State, v.Next, v.Signature.Lacking)
	}
}

func TestSignedNothing(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindSigned, events.Signed{Room: "ballroom"})
	s.flagged("no support of the plan that is to be lifted stands there")
}

// Once it is read again a lapsed support is what it is, and waits to be signed.
func TestLapsedAndRead(t *testing.T) {
	s, u := finished(t)
	s.jack("B1-2", 2)
	if v := s.support("B1-1"); v.State != jobs.HasLapsed {
		t.Errorf("%s", v.State)
	}
	s.read(u, "B1-1", 1000)
	if v := s.support("B1-1"); v.State != jobs.IsFixed || v.Next != "Sign" || v.Signature.Lapsed == "" {
		t.Errorf("%s, next %q", v.State, v.Next)
	}
}

// Nothing is missing where nothing is lifted, unless something was left there.
func TestLeftOutLacksNothing(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, LeftOut: []string{"B1-4"}, AgreedBy: "owner"})
	if m := s.support("B1-4").Missing; len(m) > 0 {
		t.Errorf("missing %q", m)
	}
	s.jack("B1-4", 2)
	if m := s.support("B1-4").Missing; !slices.Equal(m, []string{"the jack away"}) {
		t.Errorf("missing %q", m)
	}
}
