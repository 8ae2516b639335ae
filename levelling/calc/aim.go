package calc

import "relevel/levelling"

var aim = calculator{
	name:  "aim",
	about: "the target of every point, by one of four aims",
	help: `level: all to height_mm. highest: all to the highest point. plane: all to a slope that is kept on purpose,
set as low as brings nothing down. least: the smallest lift at every point that meets the limits, then the
smallest lowering. A point above its target keeps its height, but under level and least comes down as far
as its max_lower_mm. A fixed point keeps its height. margin_mm comes off every limit; where that leaves a
proportional one nothing, because two points stand so close, they have to be level with each other.
set_by is the point that sets the targets: the highest, the one that touches the plane, or the one that
forces the most lift on others. feasible is false where a fixed point or a max_lift_mm stands in the way,
and under level, highest and plane where two targets break a limit less the margin; why then names what
stands against each other, and the targets are those asked for in spite of it, for least those without
fixed points and caps.
` + limitsHelp,
	example: `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":10},{"id":"B","x_m":1.8,"y_m":0,"height_mm":0}],` +
		`"aim":"least","margin_mm":0.5,"limits":[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat"}]}`,
	run: runAim,
}

type aimAnswer struct {
	Targets      []aimTarget `json:"targets"`
	TotalLift    number      `json:"total_lift_mm"`
	TotalLower   number      `json:"total_lower_mm"`
	GreatestLift number      `json:"greatest_lift_mm"`
	SetBy        string      `json:"set_by,omitempty"`
	Feasible     bool        `json:"feasible"`
	Why          string      `json:"why,omitempty"`
}

type aimTarget struct {
	ID     string `json:"id"`
	Target number `json:"target_mm"`
	Lift   number `json:"lift_mm"`
}

func runAim(in *object) (any, error) {
	var points []levelling.AimPoint
	for _, p := range in.objects("points", "the points of the floor, at least one") {
		points = append(points, readAimPoint(p))
	}
	goal := readGoal(in)
	if !in.ok() {
		return nil, nil
	}
	t, err := goal.Targets(points)
	if err != nil {
		return nil, err
	}
	return answerAim(t), nil
}

func readAimPoint(in *object) levelling.AimPoint {
	return levelling.AimPoint{
		ID:       in.text("id", "the name of the point"),
		X:        in.number("x_m", "its position on the plan in m"),
		Y:        in.number("y_m", "its position on the plan in m"),
		HeightMM: in.number("height_mm", "its height in mm, positive upwards"),
		Fixed:    in.flag("fixed", "whether it keeps its height"),
		MaxLift:  in.numberIf("max_lift_mm", "the most it may come up in mm, 0 or more"),
		MaxLower: in.numberOr("max_lower_mm", 0, "the most it may come down in mm, 0 or more"),
	}
}

// readGoal takes height_mm and plane with every aim, so that a form may send
// what it holds; each counts for its own aim alone.
func readGoal(in *object) levelling.Goal {
	goal := levelling.Goal{
		Aim: levelling.Aim(in.choice("aim", string(levelling.AimLevel), string(levelling.AimHighest),
			string(levelling.AimPlane), string(levelling.AimLeast))),
		MarginMM: in.numberOr("margin_mm", 0, "what comes off every limit in mm, 0 or more"),
		Limits:   limits(in.objectsIf("limits", "how far points may differ")),
	}
	const height = "the height to level to in mm"
	if goal.Aim == levelling.AimLevel {
		goal.HeightMM = in.number("height_mm", height)
	} else {
		in.numberIf("height_mm", height)
	}
	if plane := in.objectIf("plane", "the slope to keep"); plane != nil {
		goal.SlopeX = plane.numberOr("x_mm_per_m", 0, "the rise in mm for each metre of x")
		goal.SlopeY = plane.numberOr("y_mm_per_m", 0, "the rise in mm for each metre of y")
	}
	return goal
}

func answerAim(t levelling.Targets) aimAnswer {
	answer := aimAnswer{
		TotalLift: mm(t.TotalLift), TotalLower: mm(t.TotalLower), GreatestLift: mm(t.GreatestLift),
		SetBy: t.SetBy, Feasible: t.Feasible, Why: t.Why,
	}
	for _, p := range t.Points {
		answer.Targets = append(answer.Targets, aimTarget{p.ID, mm(p.MM), mm(p.LiftMM)})
	}
	return answer
}
