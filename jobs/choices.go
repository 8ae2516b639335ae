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
	After   []AfterVerdict     `json:"after"` // what each profile would say of the floor then
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
	Verdict levelling.Verdict `json:"verdict"`
}

func costOf(t levelling.Targets) Cost {
	return Cost{t.TotalLift, t.GreatestLift, t.TotalLower, t.Touched}
}

// Choices puts the aims that the floor could have beside each other, as it lies
// now: all up to the highest, the agreed level, a slope that fits it best or the
// agreed one, and the least lift by every profile that binds any two points and
// by what was agreed. It is empty while fewer than two supports were read.
// A margin, in mm, comes off the limits of the least lift.
func (s *State) Choices(marginMM float64) []Choice {
	a := &aim{face: s.judgedFace()}
	if s.aim != nil {
		a = &aim{face: s.aim.face, agreed: s.aim.agreed, out: s.aim.out, profile: s.aim.profile}
	}
	points := s.aimPoints(a)
	if len(points) < 2 {
		return nil
	}
	var out []Choice
	for _, g := range s.goals(a, points, marginMM) {
		choices, err := levelling.Trade(points, g)
		if err != nil { // a margin that a profile's limits leave no room for
			out = append(out, Choice{Aim: events.AimSort(g.Aim), Profile: g.Profile.Name, Words: choiceWords(g), Why: err.Error()})
			continue
		}
		out = append(out, s.choice(choices[0], points))
	}
	return out
}

// goals are the aims that are put beside each other.
func (s *State) goals(a *aim, points []levelling.AimPoint, marginMM float64) []levelling.Goal {
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
	for _, p := range s.yardsticks(a.profile) {
		if slices.ContainsFunc(p.Rules, func(r levelling.Rule) bool { return r.Of == levelling.OfPairs }) {
			goals = append(goals, levelling.Goal{Aim: levelling.AimLeast, Profile: p, MarginMM: marginMM})
		}
	}
	return goals
}

// yardsticks are the agreed profile, where there is one, and the published ones.
func (s *State) yardsticks(agreed levelling.Profile) []levelling.Profile {
	all := levelling.Profiles()
	if len(agreed.Rules) > 0 && !slices.ContainsFunc(all, func(p levelling.Profile) bool { return p.Name == agreed.Name }) {
		all = append([]levelling.Profile{agreed}, all...)
	}
	return all
}

func (s *State) choice(c levelling.Choice, points []levelling.AimPoint) Choice {
	out := Choice{
		Aim: events.AimSort(c.Goal.Aim), Profile: c.Goal.Profile.Name, Words: choiceWords(c.Goal), Cost: costOf(c.Targets),
		SetBy: c.Targets.SetBy, Chain: c.Targets.Chain, Why: c.Targets.Why, Lifts: c.Targets.Points,
	}
	switch c.Goal.Aim {
	case levelling.AimPlane:
		out.Slope = &events.Slope{X: c.Goal.SlopeX, Y: c.Goal.SlopeY}
	case levelling.AimLevel:
		out.Height = &c.Goal.HeightMM
	}
	if c.Without != nil {
		w := costOf(*c.Without)
		out.Without = &w
	}
	after := make([]levelling.LevelPoint, len(points))
	for i, p := range points {
		after[i] = levelling.LevelPoint{ID: p.ID, X: p.X, Y: p.Y, Height: levelling.Height{MM: c.Targets.Points[i].MM}}
	}
	for _, p := range s.yardsticks(c.Goal.Profile) {
		v := gravest(judgeParts(p, after, s.floor.plan.Rooms, s.neighbourPairs()))
		out.After = append(out.After, AfterVerdict{p.Name, p.Title, p.Cite(), v})
	}
	return out
}

func choiceWords(g levelling.Goal) string {
	switch g.Aim {
	case levelling.AimHighest:
		return "Up to the highest"
	case levelling.AimLevel:
		return "Level at " + mmWords(g.HeightMM) + " mm"
	case levelling.AimPlane:
		return strings.ReplaceAll(fmt.Sprintf("A slope kept: %.1f mm per m along, %.1f across", g.SlopeX, g.SlopeY), "-", "−")
	}
	return "Least lift by " + g.Profile.Title
}
