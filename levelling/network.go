package levelling

// Network is a set of observations between points, adjusted all at once by
// least squares: differences of height, and staffs read from set-ups, whose
// planes are unknown as the points are. Points and set-ups are named apart: a
// set-up may be called what a point is called.
type Network struct {
	Fixed       []FixedPoint
	Differences []Difference
	Readings    []StaffReading
	Alpha       float64 // the chance of suspecting a good observation, above 0 and below 1
}

// FixedPoint is a point whose height is given and held.
type FixedPoint struct {
	Point    string
	HeightMM float64
}

// Difference is a rise observed between two points: height of To − height of From.
type Difference struct {
	From, To string
	RiseMM   float64
	SD       float64 // mm, above 0
}

// StaffReading is a staff on a point, read from a set-up. Upside down it is negative.
type StaffReading struct {
	Setup, Point string
	StaffMM      float64
	SD           float64 // mm, above 0
}

// Adjustment is the outcome of a network. Observations are in the order given,
// differences first.
type Adjustment struct {
	Points           []AdjustedHeight // the fixed ones first, then as they come up
	Planes           []AdjustedHeight // of the set-ups, as they come up
	Observations     []AdjustedObservation
	DegreesOfFreedom int
	S0               *float64 // by which factor the standard deviations given fall short; nil without a degree of freedom
}

// AdjustedHeight is the height of a point or plane.
type AdjustedHeight struct {
	Name     string
	Height            // its SD is by the standard deviations given
	FittedSD *float64 // times S0; nil without a degree of freedom
}

// AdjustedObservation is what the adjustment says of one observation.
type AdjustedObservation struct {
	ResidualMM float64 // adjusted − observed
	Redundancy float64 // 0 where nothing checks it, to 1 where everything does
	// W is residual / (sd·√redundancy), which varies as a standard normal value
	// when all is well; nil where nothing checks the observation.
	W       *float64
	Suspect bool // most likely to be a misreading, and beyond chance
}

// Adjust returns the most likely heights. At most one observation is suspected,
// for a misreading spoils the figures of its neighbours: it is to be looked at,
// left out or read again, and the rest adjusted again. Nobody is suspected at
// one degree of freedom, or where two stand out alike: there the figures cannot
// tell who it was.
//
// Points hang together by sights that have a weight each, as joints by springs
// or knots by resistors. They are taken out one by one, those with the fewest
// neighbours first, and the neighbours of each are tied to each other instead
// ([mesh]). Weights only ever add up and heights count from where a first path
// places them, so neither great heights nor weights far apart cost digits.
//
// Errors are InputErrors on "fixed[i].point", "differences[i].sd_mm" and the
// like, counted from 0; a point without a path to a fixed one is named.
func (n Network) Adjust() (Adjustment, error) {
	s, m, err := n.eliminated()
	if err != nil {
		return Adjustment{}, err
	}
	a := s.adjustment(m.lifts(), m.spreads())
	if !a.finite() {
		return Adjustment{}, errBeyond
	}
	a.suspect(n.Alpha)
	return a, nil
}

// Heights returns the heights alone of all points, by name, for those who ask
// for nothing else. They are those of Adjust, as are its errors.
func (n Network) Heights() (map[string]float64, error) {
	s, m, err := n.eliminated()
	if err != nil {
		return nil, err
	}
	lifts, heights := m.lifts(), make(map[string]float64, len(s.marks))
	for _, k := range s.marks {
		if k.plane {
			continue
		}
		h := s.height(k, lifts)
		if !finite(h) {
			return nil, errBeyond
		}
		heights[k.name] = h
	}
	return heights, nil
}

var errBeyond = Bad("input", "smaller heights, rises and readings for standard deviations like these: a result goes beyond what a number holds")

// eliminated checks a network and takes out its nodes.
func (n Network) eliminated() (*survey, *mesh, error) {
	if err := n.check(); err != nil {
		return nil, nil, err
	}
	s := newSurvey(n)
	if err := s.approach(); err != nil {
		return nil, nil, err
	}
	m := s.mesh()
	m.eliminate()
	return s, m, nil
}

func (n Network) check() error {
	if !(n.Alpha > 0 && n.Alpha < 1) {
		return Bad("alpha", "the chance of suspecting a good observation, above 0 and below 1, such as 0.001")
	}
	if err := n.checkFixed(); err != nil {
		return err
	}
	if len(n.Differences)+len(n.Readings) == 0 {
		return Bad("differences", "differences or readings, at least one")
	}
	if err := n.checkObservations(); err != nil {
		return err
	}
	return n.checkSDs()
}

func (n Network) checkFixed() error {
	if len(n.Fixed) == 0 {
		return Bad("fixed", "the points whose heights are given, at least one")
	}
	seen := map[string]bool{}
	for i, f := range n.Fixed {
		switch {
		case f.Point == "":
			return Bad(indexed("fixed", i, "point"), "the name of a point")
		case seen[f.Point]:
			return Bad(indexed("fixed", i, "point"), "each point once: this one is fixed already")
		case !finite(f.HeightMM):
			return Bad(indexed("fixed", i, "height_mm"), "a height in mm")
		}
		seen[f.Point] = true
	}
	return nil
}

func (n Network) checkObservations() error {
	for i, d := range n.Differences {
		switch {
		case d.From == "":
			return Bad(indexed("differences", i, "from"), "the name of a point")
		case d.To == "" || d.To == d.From:
			return Bad(indexed("differences", i, "to"), "the name of another point than from")
		case !finite(d.RiseMM):
			return Bad(indexed("differences", i, "rise_mm"), "the height of to less that of from, in mm")
		}
	}
	for i, r := range n.Readings {
		switch {
		case r.Setup == "":
			return Bad(indexed("readings", i, "setup"), "the name of a set-up")
		case r.Point == "":
			return Bad(indexed("readings", i, "point"), "the name of a point")
		case !finite(r.StaffMM):
			return Bad(indexed("readings", i, "staff_mm"), "a reading in mm, negative upside down")
		}
	}
	return nil
}

func (n Network) checkSDs() error {
	sds := make([]float64, 0, len(n.Differences)+len(n.Readings))
	for _, d := range n.Differences {
		sds = append(sds, d.SD)
	}
	for _, r := range n.Readings {
		sds = append(sds, r.SD)
	}
	return checkSDs(sds, func(i int) string { return n.field(i, "sd_mm", "sd_mm") })
}

// field names a field of an observation, counted through both lists: one name
// for a difference, one for a reading.
func (n Network) field(i int, ofDifference, ofReading string) string {
	if i < len(n.Differences) {
		return indexed("differences", i, ofDifference)
	}
	return indexed("readings", i-len(n.Differences), ofReading)
}
