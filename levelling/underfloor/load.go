package underfloor

import "fmt"

// Loads is what a support carries: areas and runs that are its share.
type Loads struct {
	Floor      Spread
	Roof       *Spread // nil: none
	Walls      []Wall
	Continuity float64 // of the bearer over the support, times the tributary sums; 1 where it ends or is joined there
	JackLive   float64 // kPa of floor that is there while it is jacked
}

// Spread is a load on an area.
type Spread struct{ AreaM2, DeadKPa, LiveKPa float64 }

// Wall is a length of wall that stands on it, weighed by its face.
type Wall struct{ RunM, HeightM, DeadKPa float64 }

// Sums is what the loads come to, kN.
type Sums struct{ Dead, Live, Design, Jack float64 }

// Sum adds up. Dead and live are the tributary sums times continuity: over the
// first inner support of a bearer that runs on, a plain share is too small by a
// tenth to a quarter. Design is both, for what is to be built; jack is dead and
// what is on the floor while it is lifted, for what a gauge will show.
func (l Loads) Sum() (Sums, error) {
	if err := l.check(); err != nil {
		return Sums{}, err
	}
	dead, live := l.Floor.sums()
	if l.Roof != nil {
		d, v := l.Roof.sums()
		dead, live = dead+d, live+v
	}
	for _, w := range l.Walls {
		dead += float64(w.RunM * w.HeightM * w.DeadKPa)
	}
	s := Sums{Dead: float64(dead * l.Continuity), Live: float64(live * l.Continuity)}
	s.Design = s.Dead + s.Live
	s.Jack = s.Dead + float64(l.JackLive*l.Floor.AreaM2)
	if !finite(s.Design, s.Jack) {
		return Sums{}, errSize
	}
	return s, nil
}

func (s Spread) sums() (dead, live float64) {
	return float64(s.AreaM2 * s.DeadKPa), float64(s.AreaM2 * s.LiveKPa)
}

func (l Loads) check() error {
	err := l.Floor.check("floor")
	if l.Roof != nil {
		err = first(err, l.Roof.check("roof"))
	}
	for i, w := range l.Walls {
		if err == nil {
			err = w.check(fmt.Sprintf("walls[%d]", i))
		}
	}
	return first(err,
		need(above(l.Continuity, 0), "continuity", "a factor above 0; 1 where nothing is continuous"),
		need(atLeast(l.JackLive, 0), "jack_live_kpa", "kPa on the floor while it is jacked, 0 or more"))
}

func (s Spread) check(field string) error {
	return first(
		need(atLeast(s.AreaM2, 0), field+".area_m2", "the area it carries in m², 0 or more"),
		need(atLeast(s.DeadKPa, 0), field+".dead_kpa", "its weight in kPa, 0 or more"),
		need(atLeast(s.LiveKPa, 0), field+".live_kpa", "what is on it in kPa, 0 or more"))
}

func (w Wall) check(field string) error {
	return first(
		need(atLeast(w.RunM, 0), field+".run_m", "the length of wall in m, 0 or more"),
		need(atLeast(w.HeightM, 0), field+".height_m", "its height in m, 0 or more"),
		need(atLeast(w.DeadKPa, 0), field+".dead_kpa", "its weight in kPa of its face, 0 or more"))
}
