package calc

import "relevel/levelling"

var network = calculator{
	name:  "network",
	about: "heights by least squares from all observations at once",
	help: `fixed points keep the height given. differences are rises, height of to − height of from; readings are staffs
read from set-ups, negative upside down. Each has its standard deviation. Every point needs a path of
observations to a fixed one.
points lists the fixed ones first and the others as they come up, planes the heights of the set-ups'
planes. sd_mm is by the standard deviations given, sd_fitted_mm times s0, how far they fall short of the
residuals. A residual is adjusted − observed; redundancy runs from 0, checked by nothing, to 1, and the
redundancies sum to the degrees of freedom. w is residual / (sd·√redundancy). s0 and sd_fitted_mm are null
without a degree of freedom, w where the redundancy is 0 (below 1e-9).
At most one observation is suspect: that of the largest |w|, where it is past the two-sided critical value
at alpha (0.001 unless given: 3.2905). None is at one degree of freedom, where every |w| is the same, or
where another comes within 1e-6 of the largest: the figures cannot tell which it was.`,
	example: `{"fixed":[{"point":"A","height_mm":1000}],"differences":[{"from":"A","to":"B","rise_mm":12,"sd_mm":1}],` +
		`"readings":[{"setup":"S1","point":"A","staff_mm":1400,"sd_mm":1},{"setup":"S1","point":"B","staff_mm":1387,"sd_mm":1}]}`,
	run: runNetwork,
}

type networkAnswer struct {
	Points           []networkPoint       `json:"points"`
	Planes           []networkPlane       `json:"planes"`
	Observations     []networkObservation `json:"observations"`
	DegreesOfFreedom int                  `json:"degrees_of_freedom"`
	S0               *number              `json:"s0"`
}

type networkPoint struct {
	Point    string  `json:"point"`
	Height   number  `json:"height_mm"`
	SD       number  `json:"sd_mm"`
	FittedSD *number `json:"sd_fitted_mm"`
}

type networkPlane struct {
	Setup  string `json:"setup"`
	Height number `json:"height_mm"`
	SD     number `json:"sd_mm"`
}

type networkObservation struct {
	Residual   number  `json:"residual_mm"`
	Redundancy number  `json:"redundancy"`
	W          *number `json:"w"`
	Suspect    bool    `json:"suspect"`
}

func runNetwork(in *object) (any, error) {
	var n levelling.Network
	for _, f := range in.objects("fixed", "the points whose heights are given, at least one") {
		n.Fixed = append(n.Fixed, levelling.FixedPoint{
			Point:    f.text("point", "the name of a point"),
			HeightMM: f.number("height_mm", "its height in mm, positive upwards"),
		})
	}
	for _, d := range in.objectsIf("differences", "rises between points") {
		n.Differences = append(n.Differences, readDifference(d))
	}
	for _, r := range in.objectsIf("readings", "staffs read from set-ups") {
		n.Readings = append(n.Readings, readStaff(r))
	}
	n.Alpha = in.numberOr("alpha", 0.001, "the chance of suspecting a good observation, above 0 and below 1")
	if !in.ok() {
		return nil, nil
	}
	a, err := n.Adjust()
	if err != nil {
		return nil, err
	}
	return answerNetwork(a), nil
}

const sdCure = "its standard deviation in mm, above 0"

func readDifference(in *object) levelling.Difference {
	return levelling.Difference{
		From:   in.text("from", "the name of a point"),
		To:     in.text("to", "the name of another point"),
		RiseMM: in.number("rise_mm", "the height of to less that of from, in mm"),
		SD:     in.number("sd_mm", sdCure),
	}
}

func readStaff(in *object) levelling.StaffReading {
	return levelling.StaffReading{
		Setup:   in.text("setup", "the name of a set-up"),
		Point:   in.text("point", "the name of a point"),
		StaffMM: in.number("staff_mm", "the reading of the staff in mm, negative upside down"),
		SD:      in.number("sd_mm", sdCure),
	}
}

func answerNetwork(a levelling.Adjustment) networkAnswer {
	answer := networkAnswer{
		Planes: []networkPlane{}, DegreesOfFreedom: a.DegreesOfFreedom, S0: optional(a.S0, ratio),
	}
	for _, p := range a.Points {
		answer.Points = append(answer.Points, networkPoint{p.Name, mm(p.MM), mm(p.SD), optional(p.FittedSD, mm)})
	}
	for _, p := range a.Planes {
		answer.Planes = append(answer.Planes, networkPlane{p.Name, mm(p.MM), mm(p.SD)})
	}
	for _, o := range a.Observations {
		answer.Observations = append(answer.Observations,
			networkObservation{mm(o.ResidualMM), ratio(o.Redundancy), optional(o.W, ratio), o.Suspect})
	}
	return answer
}
