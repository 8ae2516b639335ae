package events

import (
	"fmt"

	"relevel/levelling"
)

// UnderFloor is what the space below is like: how it is aired, how high it is
// and how wet its timber. Each may be recorded by itself and again; what is said
// last of each thing stands.
type UnderFloor struct {
	Airing      *Airing    `json:"airing,omitempty"`
	ClearanceMM float64    `json:"clearance_mm,omitempty"` // least, from the ground to the lowest timber
	Ground      string     `json:"ground,omitempty"`       // dry, damp, standing water, rubble, …
	Moisture    []Moisture `json:"moisture,omitempty"`
	Note        string     `json:"note,omitempty"`
}

// Airing is what lets air through below, and by which rule it is judged.
type Airing struct {
	Rule     string    `json:"rule"` // as the calculator of vents names it
	Zone     string    `json:"zone,omitempty"`
	Sealed   bool      `json:"sealed,omitempty"` // the ground is covered
	WallM    float64   `json:"wall_m,omitempty"`
	FloorM2  float64   `json:"floor_m2,omitempty"`
	VentsMM2 []float64 `json:"vents_mm2,omitempty"` // the open area of each vent
}

// Moisture is one reading of the moisture of timber.
type Moisture struct {
	Support string  `json:"support,omitempty"` // at or beside which
	Where   string  `json:"where,omitempty"`
	Pct     float64 `json:"pct"`
}

// Check implements Body.
func (u *UnderFloor) Check() error {
	if u.Airing == nil && u.ClearanceMM == 0 && u.Ground == "" && len(u.Moisture) == 0 && u.Note == "" {
		return levelling.Bad("airing", "missing: say one of airing, clearance_mm, ground, moisture or note")
	}
	for i, m := range u.Moisture {
		f := fmt.Sprintf("moisture[%d]", i)
		if m.Support == "" {
			if err := text(f+".where", m.Where); err != nil {
				return err
			}
		} else if err := place(f+".support", m.Support); err != nil {
			return err
		}
		if err := first(between(f+".pct", m.Pct, 0, 300, "%"), optionalText(f+".where", m.Where)); err != nil {
			return err
		}
	}
	return first(u.Airing.check(), between("clearance_mm", u.ClearanceMM, 0, 20000, "mm"),
		optionalText("ground", u.Ground), optionalText("note", u.Note))
}

func (a *Airing) check() error {
	if a == nil {
		return nil
	}
	for i, v := range a.VentsMM2 {
		if err := between(fmt.Sprintf("airing.vents_mm2[%d]", i), v, 0, 1e8, "mm²"); err != nil {
			return err
		}
	}
	return first(text("airing.rule", a.Rule), optionalText("airing.zone", a.Zone),
		between("airing.wall_m", a.WallM, 0, 1e4, "m"), between("airing.floor_m2", a.FloorM2, 0, 1e6, "m²"))
}

// Points implements Body.
func (u *UnderFloor) Points() []string {
	var names []string
	for _, m := range u.Moisture {
		if m.Support != "" {
			names = append(names, m.Support)
		}
	}
	return names
}
