package jobs_test

import (
	"testing"

	"relevel/events"
)

// What was never moved and is level enough is read and signed, and nothing is
// cut for it.
func TestUntouched(t *testing.T) {
	s, _ := agreed(t)
	if v := s.support("B1-1"); v.NextKind != events.KindSigned {
		t.Errorf("at its height, next is %q", v.Next)
	}
	u := s.laser(1000)
	s.sign("B1-1", s.read(u, "B1-1", 1000))
	if v := s.support("B1-1"); v.Next != "Done" || v.Signature == nil || len(v.Signature.Lacking) > 0 {
		t.Errorf("signed: next is %q, %+v", v.Next, v.Signature)
	}
	t.Run("LiftedOff", func(t *testing.T) {
		s, u := agreed(t)
		s.jack("B1-2", 12)
		s.read(u, "B1-1", 997)
		if v := s.support("B1-1"); v.NextKind != events.KindPacking {
			t.Errorf("3 mm of daylight under the bearer, and next is %q", v.Next)
		}
	})
	t.Run("Packed", func(t *testing.T) {
		s, _ := agreed(t)
		s.pack("B1-1", events.Temporary, 3)
		if v := s.support("B1-1"); v.NextKind != events.KindJacking || v.Stop == nil || v.Stop.ByMM != 1 {
			t.Errorf("on temporary packing, and next is %q, stop %+v", v.Next, v.Stop)
		}
	})
}
