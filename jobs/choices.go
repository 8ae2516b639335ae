package jobs

import (
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// Choice is one aim that a floor could have, and what it would cost.
type Choice struct {
	Aim     events.AimSort     `json:"aim"`
	Profile string             `json:"profile,omitempty"` // of the least lift
	Words   string             `json:"words"`
	Slope   *events.Slope      `json:"slope,omitempty"`
	Height  *float64           `json:"height_mm,omitempty"` // of level
	Cost    Cost               `json:"cost"`
	SetBy   string             `json:"set_by,omitempty"`
	Without *Cost              `json:"without,omitempty"` // without the support that sets it
	Chain   []levelling.Link   `json:"chain,omitempty"`   // from the support that forces to the one it lifts most
	Why     string             `json:"why,omitempty"`     // why it cannot be met
	Lifts   []levelling.Target `json:"lifts"`
	After   []AfterVerdict     `json:"after"` // what each profile would say of the floor then; without verdicts where it cannot be met
}

// Cost is what an aim asks for.
type Cost struct {
	TotalMM    float64 `json:"total_lift_mm"`
	GreatestMM float64 `json:"greatest_lift_mm"`
	LowerMM    float64 `json:"total_lower_mm"`
	Moved      int     `json:"moved"` // supports that move
}

// AfterVerdict is what a profile would say of a floor that lies on its targets.
type AfterVerdict struct {
	Profile string            `json:"profile"`
	Title   string            `json:"title"`
	Source  string            `json:"source"`
	Verdict levelling.Verdict `json:"verdict,omitempty"` // missing where the limits cannot be met
}

func costOf(t levelling.Targets) Cost {
	return Cost{t.TotalLift, t.GreatestLift, t.TotalLower, t.Touched}
}

// Choices puts the aims that the floor could have beside each other, as it lies
// now: all up to the highest, the agreed level, a slope that fits it best or the
// agreed one, and the least lift by every profile that binds any two points: what
// was agreed, the firm's own and those published. It is empty while fewer than
// two supports were read. A margin, in mm, comes off the limits of the least lift.
func (s *State) Choices(marginMM float64, own ...Profile) []Choice {
	a := &aim{face: s.judgedFace()}
	if s.aim != nil {
		a = &aim{face: s.aim.face, agreed: s.aim.agreed, out: s.aim.out, profile: s.aim.profile}
	}
	points := s.aimPoints(a)
	if len(points) < 2 {
		return nil
	}
	by := yardsticks(a.profile, own)
	var out []Choice
	for _, g := range a.goals(points, by, marginMM) {
		out = append(out, s.choice(g, points, by))
	}
	return out
}

// goals are the aims that are put beside each other.
func (a *aim) goals(points []levelling.AimPoint, by []levelling.Profile, marginMM float64) []levelling.Goal {
	goals := []levelling.Goal{{Aim: levelling.AimHighest}}
	if a.agreed.Height != nil {
		goals = append(goals, levelling.Goal{Aim: levelling.AimLevel, HeightMM: a.agreed.Height.MM()})
	}
	slope := levelling.Goal{Aim: levelling.AimPlane}
	slope.SlopeX, slope.SlopeY = levelling.BestSlope(points)
	if a.agreed.Plane != nil {
		slope.SlopeX, slope.SlopeY = a.agreed.Plane.X, a.agreed.Plane.Y
	}
	goals = append(goals, slope)
	for _, p := range by {
		if slices.ContainsFunc(p.Rules, func(r levelling.Rule) bool { return r.Of == levelling.OfPairs }) {
			goals = append(goals, levelling.Goal{Aim: levelling.AimLeast, Profile: p, MarginMM: marginMM})
		}
	}
	return goals
}

// yardsticks are the agreed profile, where there is one, those of the firm's own
// and the published ones. What was agreed counts before what the firm calls by
// that name by now.
func yardsticks(agreed levelling.Profile, own []Profile) []levelling.Profile {
	var all []levelling.Profile
	published := levelling.Profiles()
	known := func(name string, of []levelling.Profile) bool {
		return slices.ContainsFunc(of, func(p levelling.Profile) bool { return p.Name == name })
	}
	if len(agreed.Rules) > 0 && !known(agreed.Name, published) {
		all = append(all, agreed)
	}
	for _, p := range own {
		if !known(p.Name, all) {
			all = append(all, p.Levelling())
		}
	}
	return append(all, published...)
}

// choice is one aim with its cost. An aim that asks for what cannot be is there
// too, and says why.
func (s *State) choice(g levelling.Goal, points []levelling.AimPoint, by []levelling.Profile) Choice {
	out := Choice{Aim: events.AimSort(g.Aim), Profile: g.Profile.Name, Words: choiceWords(g, s.units), Lifts: []levelling.Target{}}
	switch g.Aim {
	case levelling.AimPlane:
		out.Slope = &events.Slope{X: g.SlopeX, Y: g.SlopeY}
	case levelling.AimLevel:
		out.Height = &g.HeightMM
	}
	var after []levelling.LevelPoint
	if mm := g.Profile.Narrowest(); g.MarginMM > 0 && g.MarginMM >= mm {
		out.Why = fmt.Sprintf("a margin of %s leaves nothing of a limit of %s", s.limitWords(g.MarginMM), s.limitWords(mm))
	} else if traded, err := levelling.Trade(points, g); err != nil {
		out.Why = err.Error()
	} else {
		after = out.take(traded[0], points)
	}
	for _, p := range by {
		v := AfterVerdict{Profile: p.Name, Title: p.Title, Source: p.Cite()}
		if after != nil {
			v.Verdict = gravest(judgeParts(p, after, s.floor.plan.Rooms, s.neighbourPairs()))
		}
		out.After = append(out.After, v)
	}
	return out
}

// take writes down what a choice costs, and is the floor as it would lie then,
// nil where that cannot be met.
func (c *Choice) take(of levelling.Choice, points []levelling.AimPoint) []levelling.LevelPoint {
	t := of.Targets
	c.Cost, c.SetBy, c.Chain, c.Why, c.Lifts = costOf(t), t.SetBy, t.Chain, t.Why, t.Points
	if of.Without != nil && of.Without.Feasible {
		w := costOf(*of.Without)
		c.Without = &w
	}
	if !t.Feasible {
		return nil
	}
	after := make([]levelling.LevelPoint, len(points))
	for i, p := range points {
		after[i] = levelling.LevelPoint{ID: p.ID, X: p.X, Y: p.Y, Height: levelling.Height{MM: t.Points[i].MM}}
	}
	return after
}

func choiceWords(g levelling.Goal, u levelling.Unit) string {
	switch g.Aim {
	case levelling.AimHighest:
		return "Up to the highest"
	case levelling.AimLevel:
		return "Level at " + u.ShowWith(g.HeightMM)
	case levelling.AimPlane:
		return strings.ReplaceAll(fmt.Sprintf("A slope kept: %.1f mm per m along, %.1f across", g.SlopeX, g.SlopeY), "-", "−")
	}
	return "Least lift by " + g.Profile.Title
}
