package jobs

import "time"

// Track is what a place was read at since the job was over there, day by day, and
// what that says of whether it still moves.
type Track struct {
	Moving
	From  time.Time // the hand-over, or what moved the place after it
	Reads []ReadOn  // oldest first; of one face and one covering
}

// ReadOn is the height that was read on one day.
type ReadOn struct {
	On time.Time
	Figure
}

// Tracks are the places that were read again after the job, in the order of After.
func (s *State) Tracks() []Track {
	after := s.after()
	if after == nil {
		return nil
	}
	out := make([]Track, len(after.Places))
	for i, m := range after.Places {
		p := s.place(m.ID)
		_, readings := s.readSince(p)
		t := Track{Moving: m, From: s.onSite(s.watchedFrom(p))}
		for _, r := range readings {
			t.Reads = append(t.Reads, ReadOn{t.From.Add(time.Duration(r.Day * float64(day))), Figure{r.HeightMM, r.SD}})
		}
		out[i] = t
	}
	return out
}
