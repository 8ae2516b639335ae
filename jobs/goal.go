package jobs

import (
	"cmp"

	"relevel/events"
	"relevel/levelling"
)

// takeProfile finds what is level enough: the limits that the aim itself says,
// or the published profile it names.
func (s *State) takeProfile(e placed, a *aim) {
	t := a.agreed.Tolerance
	if len(t.Limits) > 0 {
		limits := make([]levelling.Limit, len(t.Limits))
		for i, l := range t.Limits {
			limits[i] = l.Levelling()
		}
		a.profile = levelling.OwnLimits(limits)
		if _, err := levelling.FindProfile(t.Profile); err == nil {
			s.flag(e, "limits of its own stand under the name of "+t.Profile+": they count, and are called the firm's")
		} else if t.Profile != "" {
			a.profile.Name, a.profile.Title = t.Profile, cmp.Or(t.Title, t.Profile)
		}
		if t.Source != "" {
			a.profile.Source = t.Source
		}
		return
	}
	if t.Profile == "" {
		return
	}
	p, err := levelling.FindProfile(t.Profile)
	if err != nil {
		s.flag(e, "nobody knows what "+t.Profile+" asks of a floor: agree again with its limits, or with a published profile")
		return
	}
	a.profile = p
}

// setTargets works out the heights an aim comes to, of the places whose height
// was known when it was agreed: one that is read later does not move what an
// owner agreed to.
func (s *State) setTargets(e placed, a *aim) {
	if a.agreed.Aim == events.AimLevel {
		h := a.agreed.Height.MM()
		a.height = &h
	}
	points := s.aimPoints(a)
	if len(points) == 0 {
		return
	}
	goal, missing := a.goal()
	if missing != "" {
		a.why = missing
		s.flag(e, missing)
		return
	}
	t, err := goal.Targets(points)
	if err != nil {
		a.why = err.Error()
		s.flagReckoned(e, "no targets: "+a.why)
		return
	}
	a.asks, a.setBy, a.why = &t, t.SetBy, t.Why
	if !t.Feasible {
		s.flagReckoned(e, "what was agreed cannot all be met: "+t.Why)
	}
	switch a.agreed.Aim {
	case events.AimHighest:
		a.height = highestOf(points, t.SetBy)
	case events.AimPlane, events.AimLeast:
		a.targets = make(map[string]float64, len(t.Points))
		for _, p := range t.Points {
			a.targets[p.ID] = p.MM
		}
	}
}

func highestOf(points []levelling.AimPoint, id string) *float64 {
	for _, p := range points {
		if p.ID == id {
			return &p.HeightMM
		}
	}
	return nil
}

// goal is the aim as the arithmetic takes it, or what it lacks.
func (a *aim) goal() (g levelling.Goal, missing string) {
	g = levelling.Goal{Aim: levelling.Aim(a.agreed.Aim)}
	switch a.agreed.Aim {
	case events.AimLevel:
		g.HeightMM = *a.height
	case events.AimPlane:
		g.SlopeX, g.SlopeY = a.agreed.Plane.X, a.agreed.Plane.Y
	case events.AimLeast:
		if len(a.profile.Rules) == 0 {
			return g, "the least lift needs limits: agree again with a profile, or with limits of your own"
		}
		g.Profile, g.MarginMM = a.profile, a.agreed.MarginMM
	}
	return g, ""
}

// aimPoints are the supports that an aim speaks of and whose height on its face
// is known, with what was agreed about each.
func (s *State) aimPoints(a *aim) []levelling.AimPoint {
	fixed := map[string]bool{}
	for _, id := range a.agreed.Fixed {
		fixed[id] = true
	}
	caps, lower := byPlace(a.agreed.Caps), byPlace(a.agreed.Lower)
	var points []levelling.AimPoint
	for _, at := range s.floor.plan.Supports {
		p := s.place(at.ID)
		h, known := p.presentOn(a.face)
		if a.out[at.ID] || p.noneHere || !known {
			continue
		}
		point := levelling.AimPoint{ID: at.ID, X: at.X, Y: at.Y, Room: s.roomOf(at.X, at.Y), HeightMM: h.MM, Fixed: fixed[at.ID], MaxLower: a.agreed.LowerMM}
		if most, capped := caps[at.ID]; capped {
			point.MaxLift = &most
		}
		if most, agreed := lower[at.ID]; agreed {
			point.MaxLower = most
		}
		points = append(points, point)
	}
	return points
}

// roomOf names the room a position lies in, "" where none does.
func (s *State) roomOf(x, y float64) string {
	for _, r := range s.floor.plan.Rooms {
		if inside(r.Outline, x, y) {
			return r.Name
		}
	}
	return ""
}

func byPlace(caps []events.Cap) map[string]float64 {
	out := make(map[string]float64, len(caps))
	for _, c := range caps {
		out[c.Support] = c.MM
	}
	return out
}

// mayLower is how far a place may come down, as agreed.
func (a *aim) mayLower(id string) float64 {
	if most, agreed := byPlace(a.agreed.Lower)[id]; agreed {
		return most
	}
	return a.agreed.LowerMM
}
