package web

import (
	"encoding/json"
	"fmt"

	"relevel/events"
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

func (s Sources) writeJacks(j *events.Jacking) {
	for i, m := range j.Moves {
		for _, jack := range s.Jacks {
			if jack.Name == m.Jack && m.RatedKN == 0 {
				j.Moves[i].RatedKN, j.Moves[i].BoreMM = jack.RatedKN, jack.BoreMM
			}
		}
	}
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
