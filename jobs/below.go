package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// Below is what is known of the space under the floor, and what the rules say of
// it. Nothing of it is a pass.
type Below struct {
	Ground      string      `json:"ground,omitempty"`
	Rule        string      `json:"rule,omitempty"`
	RequiredMM2 float64     `json:"required_mm2,omitempty"`
	ProvidedMM2 float64     `json:"provided_mm2,omitempty"`
	Uncounted   bool        `json:"vents_not_counted,omitempty"` // nobody said what vents there are
	ShortMM2    float64     `json:"short_mm2,omitempty"`
	Source      string      `json:"source,omitempty"`
	ClearanceMM float64     `json:"clearance_mm,omitempty"`
	Moisture    []Wet       `json:"moisture,omitempty"` // the last reading of each place
	Cautions    []string    `json:"cautions,omitempty"`
	Suspects    []Suspicion `json:"suspects,omitempty"`
}

// Wet is one reading of the moisture of timber.
type Wet struct {
	Support string  `json:"support,omitempty"`
	Where   string  `json:"where,omitempty"`
	Pct     float64 `json:"pct"`
	Words   string  `json:"words,omitempty"` // where it is high
}

// Suspicion is something about the space below that may explain a drop, and that
// nobody has recorded as a finding since it was seen.
type Suspicion struct {
	What     string   `json:"what"`
	Cause    string   `json:"cause,omitempty"`
	Where    string   `json:"where,omitempty"`
	Supports []string `json:"supports,omitempty"`
}

// space is what was said last of each thing below, and when.
type space struct {
	ground      string
	groundAt    time.Time
	clearanceMM float64
	airing      *events.Airing
	airingAt    time.Time
	wet         []wetPlace
}

// wetPlace is the last reading of one place.
type wetPlace struct {
	events.Moisture
	at time.Time
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
		u.ground, u.groundAt = b.Ground, e.key.at
	}
	if b.ClearanceMM > 0 {
		u.clearanceMM = b.ClearanceMM
	}
	if b.Airing != nil {
		u.airing, u.airingAt = b.Airing, e.key.at
	}
	wet := slices.Clone(u.wet) // a clone of the state shares the list
	for _, m := range b.Moisture {
		wet = slices.DeleteFunc(wet, func(old wetPlace) bool { return old.Support == m.Support && old.Where == m.Where })
		wet = append(wet, wetPlace{m, e.key.at})
	}
	u.wet = wet
	s.touch(e, b.Points()...)
}

// belowView says what is known; nil where nothing is.
func (s *State) belowView() *Below {
	u := &s.under
	if u.ground == "" && u.clearanceMM == 0 && u.airing == nil && len(u.wet) == 0 {
		return nil
	}
	v := &Below{Ground: u.ground, ClearanceMM: u.clearanceMM}
	v.air(u.airing)
	if words := clearanceWords(u.clearanceMM, v.Rule, s.units); words != "" {
		v.Cautions = append(v.Cautions, words)
	}
	for _, m := range u.wet {
		v.Moisture = append(v.Moisture, Wet{m.Support, m.Where, m.Pct, wetWords(m.Pct)})
	}
	v.Suspects = s.suspects(v)
	return v
}

func (v *Below) air(a *events.Airing) {
	if a == nil {
		return
	}
	need, err := underfloor.Airing{Rule: underfloor.VentRule(a.Rule), Zone: a.Zone, Sealed: a.Sealed, WallM: a.WallM, FloorM2: a.FloorM2,
		VentsMM2: a.VentsMM2}.Vents()
	if err != nil {
		v.Cautions = append(v.Cautions, "the vents cannot be judged: "+err.Error())
		return
	}
	v.Rule, v.RequiredMM2, v.Source = a.Rule, need.Required, need.Source
	if need.Provided == nil {
		v.Uncounted = true
		return
	}
	v.ProvidedMM2, v.ShortMM2 = *need.Provided, *need.Short
	if v.ShortMM2 > 0 {
		v.Cautions = append(v.Cautions, fmt.Sprintf("too little air: %.0f mm² of vents are lacking, by %s", v.ShortMM2, need.Source))
	}
}

// Clearances that are usual, mm, and the one for where termites are inspected for.
const (
	usualRoomMM   = 150
	termiteRoomMM = 400

	nccRoom = "NCC Housing Provisions 6.2.1 (read as NCC 2019 3.4.1)"
	ukRoom  = "UK Approved Document C (second-hand)"
)

// clearanceWords compares the room below with what is usual by the rule that the
// vents are judged by, or by either where that has none; "" where there is no less.
func clearanceWords(mm float64, rule string, u levelling.Unit) string {
	source := nccRoom + " and " + ukRoom
	switch underfloor.VentRule(rule) {
	case underfloor.NCC2022:
		source = nccRoom
	case underfloor.UKC:
		source = ukRoom
	}
	switch {
	case mm <= 0:
		return ""
	case mm < usualRoomMM:
		return fmt.Sprintf("%s of room is under the usual %s by %s", u.ShowWith(mm), u.ShowWith(usualRoomMM), source)
	case mm < termiteRoomMM && underfloor.VentRule(rule) != underfloor.UKC:
		return fmt.Sprintf("%s of room is under the usual %s where termites are inspected for, by %s", u.ShowWith(mm), u.ShowWith(termiteRoomMM), nccRoom)
	}
	return ""
}

func wetWords(pct float64) string {
	switch {
	case pct >= decayPct:
		return "decay can grow from about 28 to 30 % (USDA Wood Handbook): find the water"
	case pct >= ceilingPct:
		return "above the usual ceiling of 20 % (USDA Wood Handbook)"
	}
	return ""
}

// wetGround is how a ground is called that may be why a floor sank.
var wetGround = []string{"standing water", "water", "wet", "flooded"}

// suspects lists what is to be recorded as a finding.
func (s *State) suspects(v *Below) (out []Suspicion) {
	add := func(at time.Time, one Suspicion) {
		if !s.lists.foundSince(at, one) {
			out = append(out, one)
		}
	}
	if v.ShortMM2 > 0 {
		add(s.under.airingAt, Suspicion{What: "too few vents", Cause: "missing or covered vents"})
	}
	if slices.ContainsFunc(wetGround, func(word string) bool { return strings.HasPrefix(strings.ToLower(v.Ground), word) }) {
		add(s.under.groundAt, Suspicion{What: v.Ground})
	}
	for _, m := range s.under.wet {
		if m.Pct < ceilingPct {
			continue
		}
		one := Suspicion{What: "wet", Where: m.Where}
		if m.Support != "" {
			one.Supports = []string{m.Support}
		}
		add(m.at, one)
	}
	return out
}

// foundSince tells whether a suspicion is an open finding, or became one since.
func (l *lists) foundSince(at time.Time, one Suspicion) bool {
	return slices.ContainsFunc(l.findings, func(it *Item) bool {
		if !strings.HasPrefix(strings.ToLower(it.Text), strings.ToLower(one.What)) || !it.Open && it.At.Before(at) {
			return false
		}
		if len(one.Supports) == 0 {
			return strings.Contains(it.Text, one.Where)
		}
		return slices.Contains(it.Supports, one.Supports[0])
	})
}
