package calc

import "relevel/levelling"

var tolerance = calculator{
	name:  "tolerance",
	about: "how level a floor is, by a published rule or by limits of one's own",
	help: `Give either the name of a profile or limits; all points are one room and one footprint. Each rule has its
check: the two points that decide it, what they may differ by and what they do. With the standard deviations
of the heights g = 1.645·√(sd_a² + sd_b²) is kept as a guard: within if found + g is at most the limit,
outside if found − g is above it, read-again if one more reading of each would tell, too-close if not even
that; then readings is how many of each in all would, null where only a straightedge would. mbie-canterbury
says indicated and not-indicated in place of the first two. A rule that is for none of the points, because
of how far apart they are, has no check. neighbours are the supports next to each other, for 24cfr-3285-6;
without them it takes each point's nearest. The flatness profiles measure how far a third point lies off the
straight line through two others, between them and within 0.25 m of it on the plan. The profiles are
nhbc-2020, din-18202-t2, nsw-2017-new, mbie-canterbury, nz-1-200, nahb, 24cfr-3285-6, din-18202-t3-3 and
din-18202-t3-4.
` + limitsHelp,
	example: `{"profile":"nhbc-2020","points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0,"sd_mm":0.3},` +
		`{"id":"B","x_m":6,"y_m":0,"height_mm":-17,"sd_mm":0.3}]}`,
	run: runTolerance,
}

type toleranceAnswer struct {
	Verdict levelling.Verdict `json:"verdict"`
	Checks  []toleranceCheck  `json:"checks"`
	Source  string            `json:"source"`
}

type toleranceCheck struct {
	Rule    string            `json:"rule"`
	Limit   number            `json:"limit_mm"`
	Found   number            `json:"found_mm"`
	Between [2]string         `json:"between"`
	Third   string            `json:"third,omitempty"`
	Verdict levelling.Verdict `json:"verdict"`
	*openCheck
}

// openCheck is what is said beside a verdict that is too close.
type openCheck struct {
	Readings *int `json:"readings"`
}

func runTolerance(in *object) (any, error) {
	p, wrong := readProfile(in)
	points := levelPoints(in.objects("points", "the points of the floor, at least two"))
	neighbours := in.textPairsIf("neighbours", "the ids of points next to each other")
	switch {
	case !in.ok():
		return nil, nil
	case wrong != nil:
		return nil, wrong
	}
	j, err := p.Judge(points, neighbours)
	if err != nil {
		return nil, err
	}
	answer := toleranceAnswer{Verdict: j.Verdict, Checks: []toleranceCheck{}, Source: j.Source}
	for _, c := range j.Checks {
		if c.Applies {
			answer.Checks = append(answer.Checks, answerCheck(c))
		}
	}
	return answer, nil
}

// readProfile takes the one of profile and limits that is there.
func readProfile(in *object) (levelling.Profile, error) {
	name := in.textIf("profile", "the name of a profile")
	_, own := in.take("limits")
	list := limits(in.objectsIf("limits", "what points may differ by"))
	switch {
	case own && name != "":
		in.fail("limits", "left out beside a profile: a floor is judged by one of the two")
	case own:
		return levelling.OwnLimits(list), nil
	case name == "":
		in.fail("profile", "the name of a profile, or limits in its place; both are missing")
	}
	return levelling.FindProfile(name)
}

func levelPoints(list []*object) []levelling.LevelPoint {
	var points []levelling.LevelPoint
	for _, in := range list {
		points = append(points, levelling.LevelPoint{
			ID: in.text("id", "the name of the point"),
			X:  in.number("x_m", "its position on the plan in m"),
			Y:  in.number("y_m", "its position on the plan in m"),
			Height: levelling.Height{
				MM: in.number("height_mm", "its height in mm, positive upwards"),
				SD: in.numberOr("sd_mm", 0, "the standard deviation of its height in mm, 0 or more"),
			},
		})
	}
	return points
}

func answerCheck(c levelling.Check) toleranceCheck {
	answer := toleranceCheck{
		Rule: c.Rule, Limit: mm(c.LimitMM), Found: mm(c.FoundMM),
		Between: c.Between, Third: c.Third, Verdict: c.Verdict,
	}
	if c.Verdict == levelling.TooClose {
		answer.openCheck = &openCheck{}
		if c.Readings > 0 {
			answer.Readings = &c.Readings
		}
	}
	return answer
}
