package underfloor

import "fmt"

// Loads is what a support carries: areas and runs that are its share.
type Loads struct {
	Floor      Spread
	Roof       *Spread
	Walls      []Wall
	Continuity float64 // of bearers over the support, times the tributary sums
	JackLive   float64 // kPa of floor that is there while it is jacked
}

// Spread is a load on an area.
type Spread struct{ AreaM2, DeadKPa, LiveKPa float64 }

// Wall is a length of wall that stands on it.
type Wall struct{ RunM, HeightM, DeadKPa float64 }

// Sums is what the loads come to, kN.
type Sums struct{ Dead, Live, Design, Jack float64 }

// Sum adds up. Dead and live are the tributary sums times continuity: over the
// first inner support of a bearer a plain tributary share is too small by a tenth
// to a quarter (structure.md §1). Design is both, for what is to be built; jack is
// dead and what is on the floor while it is lifted, for what a gauge will show.
func (l Loads) Sum() (Sums, error) {
	if err := l.check(); err != nil {
		return Sums{}, err
	}
	dead, live := float64(l.Floor.AreaM2*l.Floor.DeadKPa), float64(l.Floor.AreaM2*l.Floor.LiveKPa)
	if l.Roof != nil {
		dead += float64(l.Roof.AreaM2 * l.Roof.DeadKPa)
		live += float64(l.Roof.AreaM2 * l.Roof.LiveKPa)
	}
	for _, w := range l.Walls {
		dead += float64(w.RunM * w.HeightM * w.DeadKPa)
	}
	s := Sums{Dead: float64(dead * l.Continuity), Live: float64(live * l.Continuity)}
	s.Design = s.Dead + s.Live
	s.Jack = s.Dead + float64(l.JackLive*l.Floor.AreaM2)
	if !finite(s.Dead, s.Live, s.Design, s.Jack) {
		return Sums{}, errSize
	}
	return s, nil
}

func (l Loads) check() error {
	err := first(l.Floor.check("floor"), need(above(l.Continuity, 0), "continuity", "a factor above 0; 1 where nothing is continuous"),
		need(atLeast(l.JackLive, 0), "jack_live_kpa", "kPa on the floor while it is jacked, 0 or more"))
	if err == nil && l.Roof != nil {
		err = l.Roof.check("roof")
	}
	for i, w := range l.Walls {
		f := fmt.Sprintf("walls[%d].", i)
		err = first(err, need(atLeast(w.RunM, 0), f+"run_m", "the length of wall in m, 0 or more"),
			need(atLeast(w.HeightM, 0), f+"height_m", "its height in m, 0 or more"),
			need(atLeast(w.DeadKPa, 0), f+"dead_kpa", "its weight in kPa of its face, 0 or more"))
	}
	return err
}

func (s Spread) check(field string) error {
	return first(need(atLeast(s.AreaM2, 0), field+".area_m2", "the area it carries in m², 0 or more"),
		need(atLeast(s.DeadKPa, 0), field+".dead_kpa", "its weight in kPa, 0 or more"),
		need(atLeast(s.LiveKPa, 0), field+".live_kpa", "what is on it in kPa, 0 or more"))
}
