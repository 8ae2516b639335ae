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
// what is marked on a jack, what a laser is known for.
func (s Sources) Complete(bodies []Body) ([]Body, Wrong, error) {
	for i, b := range bodies {
		switch of := b.Opened.(type) {
		case *events.Aim:
			if wrong := s.writeProfile(of); wrong != nil {
				return nil, wrong, nil
			}
		case *events.Jacking:
			s.writeJacks(of)
		case *events.Setup:
			s.writeLaser(of)
		case *events.InstrumentCheck:
			of.Instrument = s.asInKit(of.Instrument)
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

// writeLaser writes what is known of a laser of the kit, where nobody typed it.
func (s Sources) writeLaser(u *events.Setup) {
	u.Instrument = s.asInKit(u.Instrument)
	for _, l := range s.Lasers {
		if l.Name == u.Instrument {
			u.SDMMPerM = cmp.Or(u.SDMMPerM, l.SDMMPerM)
		}
	}
}

// asInKit is the name of an instrument as the kit has it, whatever its capitals.
func (s Sources) asInKit(name string) string {
	as := name
	for _, l := range s.Lasers {
		switch {
		case l.Name == name:
			return name
		case strings.EqualFold(l.Name, name):
			as = l.Name
		}
	}
	return as
}

// instruments are those of the job, and those of the kit that are in use, with
// what speaks against one that is to be inspected.
func (s Sources) instruments() []Choice {
	var cs []Choice
	kit := map[string]bool{}
	for _, l := range s.Lasers {
		kit[l.Name] = true
	}
	for _, i := range s.Picture.Instruments {
		if !kit[s.asInKit(i.Name)] {
			cs = append(cs, Choice{i.Name, i.Name})
		}
	}
	for _, l := range s.Lasers {
		if l.Gone {
			continue
		}
		label := l.Name
		if due := l.Due(s.Now); due != "" {
			label += ", " + due
		}
		cs = append(cs, Choice{l.Name, label})
	}
	return cs
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

// OutOfUse names the jacks and lasers that are not to be used any more.
func (s Sources) OutOfUse() (names []string) {
	for _, j := range s.Jacks {
		if j.Gone {
			names = append(names, j.Name)
		}
	}
	for _, l := range s.Lasers {
		if l.Gone {
			names = append(names, l.Name)
		}
	}
	return names
}

// Overdue says which jacks and lasers in use are to be inspected first.
func (s Sources) Overdue() (words []string) {
	add := func(name string, u jobs.Upkeep) {
		if due := u.Due(s.Now); due != "" && !u.Gone {
			words = append(words, name+", "+due)
		}
	}
	for _, j := range s.Jacks {
		add(j.Name, j.Upkeep)
	}
	for _, l := range s.Lasers {
		add(l.Name, l.Upkeep)
	}
	return words
}
