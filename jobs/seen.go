package jobs

import (
	"bytes"
	"slices"
	"time"

	"relevel/events"
)

// Seen is how far a device had the log before it when it recorded something
// here, and when it recorded last.
type Seen struct {
	Device events.ID `json:"device"`
	Seq    int64     `json:"seq"`
	At     time.Time `json:"at"`
}

// see notes what an event tells of its device.
func (s *State) see(e placed) {
	if e.Erased {
		return
	}
	was := s.seen[e.Device]
	s.seen[e.Device] = Seen{Device: e.Device, Seq: max(was.Seq, e.SeenSeq), At: e.key.at}
}

// Seen lists the devices that recorded on the job, by their ids.
func (s *State) Seen() []Seen {
	out := make([]Seen, 0, len(s.seen))
	for _, one := range s.seen {
		out = append(out, one)
	}
	slices.SortFunc(out, func(a, b Seen) int { return bytes.Compare(a.Device[:], b.Device[:]) })
	return out
}
