package jobs

import (
	"cmp"
	"slices"

	"relevel/events"
)

// TieState is what became of a tie.
type TieState string

// The states of a tie, what is left to do first.
const (
	TieOpen  TieState = "open"            // it still holds the floor down
	TieFreed TieState = "freed"           // and is to be put back
	TieBack  TieState = "back and tested" // again as it was
	TieLeft  TieState = "left off"        // for a reason that was given
)

var tieOrder = []TieState{TieOpen, TieFreed, TieBack, TieLeft}

// TieRecord is one tie from the day it was noted to the day it was put back.
type TieRecord struct {
	Tie   events.Tie
	Trade string // the last that was named
	State TieState
	Noted Entry
	Freed *Entry
	Back  *Entry
}

// Ties follows every tie of a job, what is left to do first. A name that was
// given once more before it was freed is one tie: the fold takes it so.
func Ties(all []Entry) []TieRecord {
	var out []TieRecord
	last := map[string]int{}
	for _, e := range Counting(all) {
		switch b := e.Body.(type) {
		case *events.Tie:
			at, known := last[b.Tie]
			if known && out[at].State == TieOpen {
				out[at].again(*b, e)
				continue
			}
			last[b.Tie] = len(out)
			out = append(out, TieRecord{Tie: *b, Trade: b.Trade, State: TieOpen, Noted: e})
		case *events.TieFreed:
			if at, known := last[b.Tie]; known {
				out[at].free(b, e)
			}
		case *events.TieBack:
			if at, known := last[b.Tie]; known {
				out[at].putBack(b, e)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b TieRecord) int {
		return cmp.Compare(slices.Index(tieOrder, a.State), slices.Index(tieOrder, b.State))
	})
	return out
}

func (t *TieRecord) again(b events.Tie, e Entry) {
	b.Supports = union(t.Tie.Supports, b.Supports)
	t.Tie, t.Trade = b, cmp.Or(b.Trade, t.Trade)
	e.Files = slices.Concat(t.Noted.Files, e.Files)
	t.Noted = e
}

func (t *TieRecord) free(b *events.TieFreed, e Entry) {
	t.State, t.Freed, t.Back, t.Trade = TieFreed, &e, nil, cmp.Or(b.Trade, t.Trade)
}

// putBack takes what was said of a tie afterwards. One that was never freed and is
// said to be back holds the floor down as before.
func (t *TieRecord) putBack(b *events.TieBack, e Entry) {
	t.Back, t.Trade = &e, cmp.Or(b.Trade, t.Trade)
	switch {
	case b.Tested == "":
		t.State = TieLeft
	case t.Freed != nil:
		t.State = TieBack
	}
}
