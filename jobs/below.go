package jobs

import (
	"fmt"
	"slices"

	"relevel/events"
	"relevel/levelling/underfloor"
)

// Below is what is known of the space under the floor, and what the rules say of
// it. Nothing of it is a pass.
type Below struct {
	Ground      string   `json:"ground,omitempty"`
	Rule        string   `json:"rule,omitempty"`
	RequiredMM2 float64  `json:"required_mm2,omitempty"`
	ProvidedMM2 float64  `json:"provided_mm2,omitempty"`
	ShortMM2    float64  `json:"short_mm2,omitempty"`
	Source      string   `json:"source,omitempty"`
	ClearanceMM float64  `json:"clearance_mm,omitempty"`
	Moisture    []Wet    `json:"moisture,omitempty"` // the last reading of each place
	Cautions    []string `json:"cautions,omitempty"`
}

// Wet is one reading of the moisture of timber.
type Wet struct {
	Support string  `json:"support,omitempty"`
	Where   string  `json:"where,omitempty"`
	Pct     float64 `json:"pct"`
	Words   string  `json:"words,omitempty"` // where it is high
}

// Moisture of timber, %: what is held to be the ceiling, and from where decay is
// serious (USDA Wood Handbook, read).
const (
	ceilingPct = 20
	decayPct   = 28
)

// lookBelow keeps what was said last of each thing.
func (s *State) lookBelow(e placed, b *events.UnderFloor) {
	s.lists.add(&s.lists.below, itemOf(e, "", underFloorWords(b)))
	u := &s.under
	if b.Ground != "" {
		u.Ground = b.Ground
	}
	if b.ClearanceMM > 0 {
		u.ClearanceMM = b.ClearanceMM
	}
	if b.Airing != nil {
		u.Airing = b.Airing
	}
	wet := slices.Clone(u.Moisture) // a clone of the state shares the list
	for _, m := range b.Moisture {
		wet = slices.DeleteFunc(wet, func(old events.Moisture) bool { return old.Support == m.Support && old.Where == m.Where })
		wet = append(wet, m)
	}
	u.Moisture = wet
}

// belowView says what is known; nil where nothing is.
func (s *State) belowView() *Below {
	u := &s.under
	if u.Ground == "" && u.ClearanceMM == 0 && u.Airing == nil && len(u.Moisture) == 0 {
		return nil
	}
	v := &Below{Ground: u.Ground, ClearanceMM: u.ClearanceMM}
	v.air(u.Airing)
	if mm := u.ClearanceMM; mm > 0 && mm < 400 {
		v.Cautions = append(v.Cautions, clearanceWords(mm))
	}
	for _, m := range u.Moisture {
		v.Moisture = append(v.Moisture, Wet{m.Support, m.Where, m.Pct, wetWords(m.Pct)})
	}
	return v
}

func (v *Below) air(a *events.Airing) {
	if a == nil {
		return
	}
	need, err := underfloor.Airing{Rule: underfloor.VentRule(a.Rule), Zone: a.Zone, Sealed: a.Sealed, WallM: a.WallM, FloorM2: a.FloorM2,
		VentsMM2: append([]float64{}, a.VentsMM2...)}.Vents()
	if err != nil {
		v.Cautions = append(v.Cautions, "the vents cannot be judged: "+err.Error())
		return
	}
	v.Rule, v.RequiredMM2, v.ProvidedMM2, v.ShortMM2, v.Source = a.Rule, need.Required, *need.Provided, *need.Short, need.Source
	if v.ShortMM2 > 0 {
		v.Cautions = append(v.Cautions, fmt.Sprintf("too little air: %.0f mm² of vents are lacking, by %s", v.ShortMM2, need.Source))
	}
}

// clearanceWords compares with what is usual: 150 mm, 400 where termites are
// inspected for (NCC Housing Provisions 6.2.1, read as 2019); a void of 150 mm (UK
// Approved Document C, second-hand).
func clearanceWords(mm float64) string {
	if mm < 150 {
		return fmt.Sprintf("%s mm of room is less than the 150 mm of the NCC and of UK Approved Document C", mmWords(mm))
	}
	return fmt.Sprintf("%s mm of room is less than the 400 mm of the NCC where termites are inspected for", mmWords(mm))
}

func wetWords(pct float64) string {
	switch {
	case pct >= decayPct:
		return "decay grows from about 28 to 30 % (USDA Wood Handbook): find the water"
	case pct >= ceilingPct:
		return "above the usual ceiling of 20 % (USDA Wood Handbook)"
	}
	return ""
}
