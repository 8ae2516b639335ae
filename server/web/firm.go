package web

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
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

// writeJacks writes what is marked on the jacks of the kit, where nobody typed it.
func (s Sources) writeJacks(j *events.Jacking) {
	for i := range j.Moves {
		m := &j.Moves[i]
		if jack, known := s.jack(m.Jack); known {
			m.Jack, m.RatedKN, m.BoreMM = jack.Name, cmp.Or(m.RatedKN, jack.RatedKN), cmp.Or(m.BoreMM, jack.BoreMM)
		}
	}
}

// jack finds a jack of the kit by its name, as a phone may have spelt it: they
// begin words with capitals of their own accord.
func (s Sources) jack(name string) (found jobs.Jack, known bool) {
	for _, j := range s.Jacks {
		switch {
		case j.Name == name:
			return j, true
		case !known && strings.EqualFold(j.Name, name):
			found, known = j, true
		}
	}
	return found, known
}

// jacks are those in use, with what speaks against one that is to be inspected.
func (s Sources) jacks() []Choice {
	var cs []Choice
	for _, j := range s.Jacks {
		if j.Gone {
			continue
		}
		label := fmt.Sprintf("%s, %g kN", j.Name, j.RatedKN)
		if due := j.Due(s.Now); due != "" {
			label += ", " + due
		}
		cs = append(cs, Choice{j.Name, label})
	}
	return cs
}

// Overdue are the jacks in use that are to be inspected first.
func (s Sources) Overdue() []KitJack {
	var list []KitJack
	for _, j := range s.Jacks {
		if due := j.Due(s.Now); due != "" && !j.Gone {
			list = append(list, KitJack{Jack: j, Due: due})
		}
	}
	return list
}
