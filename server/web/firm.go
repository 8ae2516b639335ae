package web

import (
	"encoding/json"
	"fmt"

	"relevel/events"
	"relevel/levelling"
)

// Complete writes into what was recorded what the firm knows by a name that was
// chosen, so that the record stands by itself: the limits of a profile of its own,
// what is marked on a jack.
func (s Sources) Complete(bodies []Body) ([]Body, Wrong, error) {
	for i, b := range bodies {
		switch of := b.Opened.(type) {
		case *events.Aim:
			if wrong := s.writeProfile(of); wrong != nil {
				return nil, wrong, nil
			}
		case *events.Jacking:
			s.writeJacks(of)
		default:
			continue
		}
		raw, err := json.Marshal(b.Opened)
		if err != nil {
			return nil, nil, fmt.Errorf("write what the firm knows: %w", err)
		}
		bodies[i].JSON = raw
	}
	return bodies, nil, nil
}

func (s Sources) writeProfile(a *events.Aim) Wrong {
	for _, p := range s.Profiles {
		if p.Name != a.Tolerance.Profile {
			continue
		}
		if len(a.Tolerance.Limits) > 0 {
			return Wrong{"tolerance.profile": "one of the two: a profile of the firm’s own, or limits given here"}
		}
		within := a.Tolerance.WithinMM
		a.Tolerance = p.Tolerance()
		a.Tolerance.WithinMM = within
	}
	return nil
}

func (s Sources) writeJacks(j *events.Jacking) {
	for i, m := range j.Moves {
		for _, jack := range s.Jacks {
			if jack.Name == m.Jack && m.RatedKN == 0 {
				j.Moves[i].RatedKN, j.Moves[i].BoreMM = jack.RatedKN, jack.BoreMM
			}
		}
	}
}

// profiles are the firm's own, then the published ones.
func (s Sources) profiles() []Choice {
	var cs []Choice
	for _, p := range s.Profiles {
		cs = append(cs, Choice{p.Name, p.Title + ", the firm’s own"})
	}
	for _, p := range levelling.Profiles() {
		cs = append(cs, Choice{p.Name, p.Title})
	}
	return cs
}

// jacks are those in use.
func (s Sources) jacks() []Choice {
	var cs []Choice
	for _, j := range s.Jacks {
		if !j.Gone {
			cs = append(cs, Choice{j.Name, fmt.Sprintf("%s, %g kN", j.Name, j.RatedKN)})
		}
	}
	return cs
}
