package levelling

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Profile is what is level enough, as somebody published it or as a firm and an
// owner agreed. A firm fills one with its own rules, or takes [OwnLimits].
type Profile struct {
	Name      string // as it is asked for, for example "nhbc-2020"
	Title     string // for people
	Source    string // the publication with its edition and table
	Standing  Standing
	NewFloors bool // made for new floors: on an old one, a yardstick to agree on

	// Indicator says that the source tells when re-levelling is worth
	// considering, and neither passes nor fails a floor.
	Indicator bool

	Rules []Rule
}

// Standing is how sure we are of what a profile says.
type Standing string

// The standings there are.
const (
	ReadSource Standing = "read"        // from a copy of the source
	SecondHand Standing = "second-hand" // from a text that quotes the source
	OwnRules   Standing = "own"         // the firm's, of no publication
)

// Rule is one limit of a profile and the points it is for.
type Rule struct {
	Text  string // for people; "" describes the limit
	Of    Measure
	Whole bool // of the whole footprint; others are of one room
	Span  Span // of pairs: the distances it is for, within those of the limit
	Limit Limit
}

// Measure is what of a floor a rule looks at.
type Measure int

// The measures there are.
const (
	// OfPairs are the differences of any two points, near enough for the limit.
	OfPairs Measure = iota
	// OfNeighbours are the differences of points next to each other.
	OfNeighbours
	// OfFlatness is how far a third point lies off the straight line through
	// two others. The limit goes by the distance of the two, in whole mm.
	OfFlatness
)

// Span narrows the distances of two points to which a rule applies, in metres;
// a bound of 0 is none.
type Span struct {
	Over  float64 // only points further apart
	From  float64 // only points at least so far apart
	Under float64 // only points less far apart
}

func (s Span) holds(distanceM float64) bool {
	return (s.Over == 0 || !atMost(distanceM, s.Over)) &&
		atMost(s.From, distanceM) &&
		(s.Under == 0 || !atMost(s.Under, distanceM))
}

// at returns what two points may differ by under the rule, and whether it is
// for points so far apart.
func (r Rule) at(distanceM float64) (mm float64, holds bool) {
	if !r.Span.holds(distanceM) {
		return 0, false
	}
	return r.Limit.At(distanceM)
}

// String is the rule in words.
func (r Rule) String() string {
	if r.Text != "" {
		return r.Text
	}
	return r.Limit.String()
}

// String is the limit in words.
func (l Limit) String() string {
	switch {
	case l.Kind == RangeLimit:
		return fmt.Sprintf("highest less lowest at most %g mm", l.MM)
	case l.Rule == Flat:
		return fmt.Sprintf("two points at most %g m apart: at most %g mm", l.OverM, l.MM)
	case l.Rule == Proportional:
		return fmt.Sprintf("two points at most %g m apart: at most %g mm over %g m, in proportion over less", l.OverM, l.MM, l.OverM)
	}
	rows := make([]string, len(l.Table))
	for i, row := range l.Table {
		rows[i] = fmt.Sprintf("%g mm at %g m", row.MM, row.Metres)
		if l.Rule == Bands {
			rows[i] = fmt.Sprintf("%g mm up to %g m", row.MM, row.Metres)
		}
	}
	text := fmt.Sprintf("two points at most %g m apart: at most %s", l.OverM, strings.Join(rows, ", "))
	if l.Rule == Linear {
		text += ", and between these in proportion"
	}
	return text
}

// Cite is the source of a profile as it stands under a verdict: with how sure
// we are of it and what it was made for.
func (p Profile) Cite() string {
	cite := p.Source
	if p.Standing == SecondHand {
		cite += ", as quoted second-hand"
	}
	if p.NewFloors {
		cite += "; made for new floors"
	}
	return cite
}

// OwnLimits is the profile of limits that a firm and an owner agreed.
func OwnLimits(limits []Limit) Profile {
	p := Profile{Title: "the limits agreed", Source: "limits as agreed, of no publication", Standing: OwnRules}
	for _, l := range limits {
		p.Rules = append(p.Rules, Rule{Limit: l})
	}
	return p
}

// Profiles lists the published profiles, those of level before those of
// flatness.
func Profiles() []Profile { return slices.Clone(profiles) }

// FindProfile returns a published profile by its name.
func FindProfile(name string) (Profile, error) {
	names := make([]string, len(profiles))
	for i, p := range profiles {
		if p.Name == name {
			return p, nil
		}
		names[i] = p.Name
	}
	return Profile{}, Bad("profile", "one of "+strings.Join(names, ", "))
}

// Part is the profile with those of its rules alone that are of the whole
// footprint, or of one room.
func (p Profile) Part(whole bool) Profile {
	p.Rules = slices.DeleteFunc(slices.Clone(p.Rules), func(r Rule) bool { return r.Whole != whole })
	return p
}

// Narrowest is the smallest limit that the rules state, mm, above everything
// where there are none. A margin must stay below it.
func (p Profile) Narrowest() float64 {
	least := math.Inf(1)
	for _, r := range p.Rules {
		if len(r.Limit.Table) == 0 {
			least = min(least, r.Limit.MM)
		}
		for _, row := range r.Limit.Table {
			least = min(least, row.MM)
		}
	}
	return least
}

// check refuses rules that cannot be. A firm's are its list of limits.
func (p Profile) check() error {
	if len(p.Rules) == 0 {
		return Bad("limits", "what points may differ by, at least one limit")
	}
	for i, r := range p.Rules {
		if err := r.Limit.Check(fmt.Sprintf("limits[%d]", i), 0); err != nil {
			return err
		}
	}
	return nil
}

// maxPairs and maxThirds bound the work of one judgement, some seconds at most.
// A rule for pairs takes the square of the number of points, flatness its cube.
const (
	maxPairs  = 100e6 // 5 000 points by four rules
	maxThirds = 1e9   // 1 000 points
)

// checkWork refuses more points than can be judged at once.
func (p Profile) checkWork(points int) error {
	n := float64(points)
	for _, r := range p.Rules {
		if r.Of == OfFlatness && float64(n*n)*n > maxThirds {
			return Bad("points", "a part of the floor, to judge how flat it is: at most 1000 points")
		}
	}
	if float64(n*n)*float64(len(p.Rules)) > maxPairs {
		return Bad("points", "a part of the floor: at most 5000 points, and fewer for more than four limits")
	}
	return nil
}
