package jobs

import (
	"cmp"
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// Verdict is what a profile says of the floor as it lies. It always names its
// rule. Heights are those of the floor; where a place was read only below, it
// is named.
type Verdict struct {
	Profile string            `json:"profile,omitempty"`
	Title   string            `json:"title"`
	Source  string            `json:"source"`
	Verdict levelling.Verdict `json:"verdict"`
	Parts   []PartVerdict     `json:"parts"`
	Below   []string          `json:"read_below,omitempty"` // judged by what was read under the floor
	Unread  []string          `json:"not_read,omitempty"`   // not read at all, or not since something moved
}

// PartVerdict is the verdict on one room, or by the rules of the whole footprint.
type PartVerdict struct {
	Room    string            `json:"room,omitempty"` // "" is the whole floor
	Verdict levelling.Verdict `json:"verdict"`
	Checks  []RuleCheck       `json:"checks"`
}

// RuleCheck is one rule and the two places that decide it.
type RuleCheck struct {
	Rule     string            `json:"rule"`
	LimitMM  float64           `json:"limit_mm"`
	FoundMM  float64           `json:"found_mm"`
	Between  [2]string         `json:"between"`
	Third    string            `json:"third,omitempty"`
	Verdict  levelling.Verdict `json:"verdict"`
	Readings int               `json:"readings,omitempty"` // where too close: how many of each in all would tell; 0: a straightedge
}

// spotHeight is a place with the height that is judged.
type spotHeight struct {
	levelling.LevelPoint
	state levelling.Unknown
	below bool // carried from what was read under the floor
}

// judgedHeights are all places of the plan whose height on the judged face is
// known, as if all had the covering on which the aim was agreed.
func (s *State) judgedHeights() (known []spotHeight, unread []string) {
	face := s.judgedFace()
	for _, id := range s.floor.order {
		p := s.place(id)
		if p.noneHere {
			continue
		}
		h, any := p.presentOn(face)
		if !any {
			unread = append(unread, id)
			continue
		}
		if s.aim != nil {
			h.MM -= s.risen(p)
		}
		basis, stale, _ := s.basisOn(p, face)
		if basis != WasRead || stale || s.outdated(p) {
			unread = append(unread, id)
		}
		if s.outdated(p) {
			continue // it may lie anywhere by now
		}
		f := p.faces[face]
		known = append(known, spotHeight{
			LevelPoint: levelling.LevelPoint{ID: id, X: p.x, Y: p.y, Height: h},
			below:      face != events.FloorFace || f.basis != WasRead,
			state:      p.actedOn(f),
		})
	}
	return known, unread
}

// amongThemselves are heights as they are known among themselves: what is not known of the
// datum and the plane all of them hang on makes no floor less flat, and no
// further reading of its points would tell it.
func (s *State) amongThemselves(known []spotHeight) []levelling.LevelPoint {
	points, states := make([]levelling.LevelPoint, len(known)), make([]levelling.Unknown, len(known))
	for i, k := range known {
		points[i], states[i] = k.LevelPoint, k.state
	}
	shared := s.filter.Shared(states)
	for i := range points {
		h := &points[i].Height
		h.SD = math.Sqrt(math.Max(0, float64(h.SD*h.SD)-shared))
	}
	return points
}

// judge says what a profile says of the floor, room by room and as a whole.
func (s *State) judge(profile levelling.Profile) *Verdict {
	known, unread := s.judgedHeights()
	if len(profile.Rules) == 0 || len(known) < 2 {
		return nil
	}
	v := &Verdict{Profile: profile.Name, Title: profile.Title, Source: profile.Cite(), Unread: unread}
	for _, k := range known {
		if k.below {
			v.Below = append(v.Below, k.ID)
		}
	}
	v.Parts = judgeParts(profile, s.amongThemselves(known), s.floor.plan.Rooms, s.neighbourPairs())
	v.Verdict = gravest(v.Parts)
	return v
}

// neighbourPairs are the supports next to each other along their bearers.
func (s *State) neighbourPairs() (pairs [][2]string) {
	for _, id := range s.floor.order {
		for _, other := range s.floor.neighbours[id] {
			if id < other && !s.place(id).noneHere {
				pairs = append(pairs, [2]string{id, other})
			}
		}
	}
	return pairs
}

// judgeParts judges every room by the rules of a room and the whole floor by
// those of the footprint. A floor without rooms on its plan is one room.
func judgeParts(profile levelling.Profile, points []levelling.LevelPoint, rooms []events.Room, neighbours [][2]string) (parts []PartVerdict) {
	room := profile.Part(false)
	for _, r := range rooms {
		in := slices.DeleteFunc(slices.Clone(points), func(p levelling.LevelPoint) bool { return !inside(r.Outline, p.X, p.Y) })
		parts = append(parts, judgePart(r.Name, room, in, neighbours)...)
	}
	if len(rooms) == 0 {
		return append(parts, judgePart("", profile, points, neighbours)...)
	}
	return append(parts, judgePart("", profile.Part(true), points, neighbours)...)
}

// judgePart judges points that belong together, nothing where there are no
// rules or no two points.
func judgePart(name string, profile levelling.Profile, points []levelling.LevelPoint, neighbours [][2]string) []PartVerdict {
	if len(profile.Rules) == 0 || len(points) < 2 {
		return nil
	}
	j, err := profile.Judge(points, among(points, neighbours))
	if err != nil {
		return nil // a floor too large to judge how flat it is
	}
	part := PartVerdict{Room: name, Verdict: j.Verdict}
	for _, c := range j.Checks {
		if c.Applies {
			part.Checks = append(part.Checks, RuleCheck{c.Rule, c.LimitMM, c.FoundMM, c.Between, c.Third, c.Verdict, c.Readings})
		}
	}
	return []PartVerdict{part}
}

// among keeps the pairs both of which are among the points.
func among(points []levelling.LevelPoint, pairs [][2]string) (out [][2]string) {
	there := make(map[string]bool, len(points))
	for _, p := range points {
		there[p.ID] = true
	}
	for _, pair := range pairs {
		if there[pair[0]] && there[pair[1]] {
			out = append(out, pair)
		}
	}
	return out
}

// gravity orders verdicts: what is outside stays so whatever else is found.
var gravity = map[levelling.Verdict]int{
	levelling.Outside: 3, levelling.Indicated: 3, levelling.TooClose: 2, levelling.ReadAgain: 1,
}

func gravest(parts []PartVerdict) levelling.Verdict {
	if len(parts) == 0 {
		return ""
	}
	return slices.MaxFunc(parts, func(a, b PartVerdict) int { return cmp.Compare(gravity[a.Verdict], gravity[b.Verdict]) }).Verdict
}

// VerdictWords says a verdict as people read it.
func VerdictWords(v levelling.Verdict) string {
	switch v {
	case levelling.Within:
		return "within"
	case levelling.Outside:
		return "outside"
	case levelling.ReadAgain:
		return "read again"
	case levelling.TooClose:
		return "too close to tell by these readings"
	case levelling.Indicated:
		return "re-levelling is indicated"
	case levelling.NotIndicated:
		return "re-levelling is not indicated"
	}
	return "not judged"
}
