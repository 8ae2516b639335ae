package calc

import "relevel/levelling/underfloor"

var loads = calculator{
	name:  "loads",
	about: "what a support carries, to build by and to expect on a gauge",
	help: `Areas in m² and runs of wall in m are the support's share; dead_kpa is the weight of floor, roof or a wall's
face, live_kpa what is designed for. Dead and live are sums times continuity; design_kn is both. jack_kn is
what a jack will lift: dead, and jack_live_kpa on the floor, 0.4 where nobody says.`,
	example: `{"floor":{"area_m2":3.2,"dead_kpa":0.5,"live_kpa":1.5},` +
		`"walls":[{"run_m":1.8,"height_m":2.7,"dead_kpa":0.3}],"continuity":1.25}`,
	run: runLoads,
}

// loadsCaution says what the sums are not.
const loadsCaution = "Indicative: shares of a plan and weights by handbook. An engineer where walls carry roofs or are masonry, " +
	"for wind and slope, and for anything that is to be built by it. Local codes decide."

type loadsAnswer struct {
	Dead    number `json:"dead_kn"`
	Live    number `json:"live_kn"`
	Design  number `json:"design_kn"`
	Jack    number `json:"jack_kn"`
	Caution string `json:"caution"`
}

func runLoads(in *object) (any, error) {
	l := underfloor.Loads{Floor: readSpread(in.object("floor", "the share of floor"))}
	if roof := in.objectIf("roof", "the share of roof"); roof != nil {
		spread := readSpread(roof)
		l.Roof = &spread
	}
	for _, w := range in.objectsIf("walls", "walls that stand on it") {
		l.Walls = append(l.Walls, underfloor.Wall{
			RunM:    w.number("run_m", "the length of wall in m, 0 or more"),
			HeightM: w.number("height_m", "its height in m, 0 or more"),
			DeadKPa: w.number("dead_kpa", "its weight in kPa of its face, 0 or more"),
		})
	}
	l.Continuity = in.numberOr("continuity", 1, "a factor above 0")
	l.JackLive = in.numberOr("jack_live_kpa", 0.4, "kPa on the floor while it is jacked, 0 or more")
	if !in.ok() {
		return nil, nil
	}
	s, err := l.Sum()
	if err != nil {
		return nil, err
	}
	return loadsAnswer{kN(s.Dead), kN(s.Live), kN(s.Design), kN(s.Jack), loadsCaution}, nil
}

func readSpread(in *object) underfloor.Spread {
	return underfloor.Spread{
		AreaM2:  in.number("area_m2", "the area it carries in m², 0 or more"),
		DeadKPa: in.number("dead_kpa", "its weight in kPa, 0 or more"),
		LiveKPa: in.number("live_kpa", "what is designed for in kPa, 0 or more"),
	}
}
