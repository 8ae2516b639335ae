package jobs_test

import (
	"math"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// pairs of 2 m may differ by 6 mm.
var sixInTwo = events.Tolerance{Limits: []events.Limit{{Kind: levelling.PairLimit, OverM: 2, LimitMM: 6, Rule: levelling.Flat}}, Source: "agreed with the owner"}

// wants compares the targets of the four supports, which lie at 0, −12, −20 and
// −5 mm; NaN wants none.
func wants(t *testing.T, s *site, targets ...float64) jobs.Picture {
	t.Helper()
	p := s.picture()
	for i, name := range []string{"B1-1", "B1-2", "B1-3", "B1-4"} {
		v, _ := p.Support(name)
		switch want := targets[i]; {
		case v.Target == nil && math.IsNaN(want):
		case v.Target == nil || math.Abs(*v.Target-want) > 1e-6:
			t.Errorf("%s: target %v, want %v", name, v.Target, want)
		}
	}
	return p
}

func TestAimPlane(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimPlane, Plane: &events.Slope{X: -2}, AgreedBy: "owner"})
	p := wants(t, s, 5.8, 2.2, -1.4, -5) // through B1-4, 2 mm per m up towards B1-1
	if p.Aim.SetBy != "B1-4" || p.Aim.Moved != 3 {
		t.Errorf("%+v", p.Aim)
	}
}

// An aim that lacks what it needs is set aside, and the one before still holds.
func TestAimLacksSomething(t *testing.T) {
	for _, a := range []events.Aim{{Aim: events.AimPlane, AgreedBy: "owner"}, {Aim: events.AimLeast, AgreedBy: "owner"}} {
		s, _ := agreed(t)
		s.record(events.KindAim, a)
		p := wants(t, s, 0, 0, 0, 0)
		if len(p.SetAside) != 1 || !strings.Contains(p.SetAside[0].Reason, "missing") {
			t.Errorf("%s: set aside %+v", a.Aim, p.SetAside)
		}
	}
}

// Limits of a firm's own cannot pass for a published profile.
func TestOwnLimitsUnderAPublishedName(t *testing.T) {
	s, _ := surveyed(t)
	own := sixInTwo
	own.Profile = "nhbc-2020"
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, Tolerance: own, AgreedBy: "owner"})
	s.flagged("under the name of nhbc-2020")
	if v := s.picture().Verdict; v.Title != "the limits agreed" || v.Profile != "" {
		t.Errorf("called %q, %q", v.Profile, v.Title)
	}
	own.Profile, own.Title = "our-house-rule", "Our house rule"
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, Tolerance: own, AgreedBy: "owner"})
	if v := s.picture().Verdict; v.Title != "Our house rule" || v.Source != own.Source {
		t.Errorf("%+v", v)
	}
}

func TestAimLeast(t *testing.T) {
	tests := []struct {
		name    string
		change  func(*events.Aim)
		targets [4]float64
		why     string
	}{
		// Neighbours stand 1.8 m apart, the next but one 3.6: only the former are bound.
		{"OK", func(*events.Aim) {}, [4]float64{0, -6, -11, -5}, ""},
		{"margin", func(a *events.Aim) { a.MarginMM = 1 }, [4]float64{0, -5, -10, -5}, ""},
		{"lowering agreed", func(a *events.Aim) { a.Lower = []events.Cap{{Support: "B1-1", MM: 2}} }, [4]float64{-2, -8, -11, -5}, ""},
		{"capped", func(a *events.Aim) { a.Caps = []events.Cap{{Support: "B1-3", MM: 5}} }, [4]float64{0, -6, -11, -5}, "B1-3"},
		{"fixed", func(a *events.Aim) { a.Fixed = []string{"B1-2"} }, [4]float64{0, -6, -11, -5}, "B1-2"},
		{"left out", func(a *events.Aim) { a.LeftOut = []string{"B1-1"} }, [4]float64{math.NaN(), -12, -11, -5}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, _ := surveyed(t)
			a := events.Aim{Aim: events.AimLeast, Tolerance: sixInTwo, AgreedBy: "owner"}
			tt.change(&a)
			s.record(events.KindAim, a)
			p := wants(t, s, tt.targets[:]...)
			if (tt.why == "") != (p.Aim.Why == "") || !strings.Contains(p.Aim.Why, tt.why) {
				t.Errorf("why %q, want one that names %q", p.Aim.Why, tt.why)
			}
			if tt.why != "" {
				s.flagged("what was agreed cannot all be met")
			}
		})
	}
}

func TestAimLeastByProfile(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, Tolerance: events.Tolerance{Profile: "nsw-2017-new"}, AgreedBy: "owner"})
	wants(t, s, 0, -4, -8, -5) // 4 mm in any 2 m, and 10 in the room
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, Tolerance: events.Tolerance{Profile: "home-made"}, AgreedBy: "owner"})
	s.flagged("nobody knows what home-made asks of a floor")
}
