package jobs

import (
	"strings"
	"time"

	"relevel/events"
)

// KitRecords are all records of a firm's kit, by name, the newest of each first.
type KitRecords struct {
	Jacks  []Jack
	Lasers []Laser
}

// record is what any record of the kit says.
type record struct {
	name string
	Upkeep
	created time.Time
}

func (k KitRecords) jacks() []record {
	out := make([]record, len(k.Jacks))
	for i, j := range k.Jacks {
		out[i] = record{j.Name, j.Upkeep, j.CreatedAt}
	}
	return out
}

func (k KitRecords) lasers() []record {
	out := make([]record, len(k.Lasers))
	for i, l := range k.Lasers {
		out[i] = record{l.Name, l.Upkeep, l.CreatedAt}
	}
	return out
}

// Speaks says what speaks against the jacks and lasers that an event names, as the
// kit stood then: unknown to it, out of use, or not inspected in time. The event
// counts all the same. A firm that keeps no jacks, or no lasers, is told nothing
// of them.
func (k KitRecords) Speaks(e events.Stored, zone *time.Location) (words []string) {
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil || e.Erased {
		return nil
	}
	at := e.At.In(zone)
	switch b := body.(type) {
	case *events.Jacking:
		told := map[string]bool{}
		for _, m := range b.Moves {
			if says := against(k.jacks(), m.Jack, at); says != "" && !told[m.Jack] {
				told[m.Jack] = true
				words = append(words, "the jack "+m.Jack+": "+says)
			}
		}
	case *events.Setup:
		if says := against(k.lasers(), b.Instrument, at); says != "" {
			words = append(words, b.Instrument+": "+says)
		}
	}
	return words
}

// against says what speaks against a thing by the record of it that stood at a
// time, or by the first one where it was recorded later.
func against(all []record, name string, at time.Time) string {
	if name = strings.TrimSpace(name); name == "" || len(all) == 0 {
		return ""
	}
	var stood *record
	for i, r := range all {
		if !strings.EqualFold(r.name, name) {
			continue
		}
		if stood = &all[i]; !r.created.After(at) {
			break
		}
	}
	if stood == nil {
		return "not in the kit"
	}
	return stood.Due(at)
}
