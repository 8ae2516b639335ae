package jobs

import (
	"math"
	"slices"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// bedding is a kind of jack-down: what the load comes down onto. Those of one
// kind on one job lose about the same height.
type bedding struct {
	newPad    bool
	temporary bool   // packing that is to come out again
	material  string // of the packer's first piece, in lower case
}

func (w *work) bedding() bedding {
	k := bedding{newPad: w.poured}
	k.temporary = w.packing != nil && w.packing.Sort == events.Temporary
	if w.packing != nil && len(w.packing.Pieces) > 0 {
		k.material = strings.ToLower(strings.TrimSpace(w.packing.Pieces[0].Material))
	}
	return k
}

// toCome is the kind of jack-down that is still to come at a place, onto its
// packer: where none is there yet, the one that was seen most on like ground.
func (s *State) toCome(p *place) bedding {
	k := p.work.bedding()
	if p.work.packing != nil && p.work.packing.Sort == events.Final {
		return k
	}
	most := bedding{newPad: k.newPad}
	for other, seen := range s.losses {
		n, best := len(seen), len(s.losses[most])
		if other.newPad == k.newPad && !other.temporary && (n > best || (n == best && other.material < most.material)) {
			most = other
		}
	}
	return most
}

// beddingSD is how uncertain a height is, in mm, once its jack is let down,
// before it is read again and while this job has taught nothing: the load
// squeezes packing and timber by a few millimetres (common practice, no source).
const beddingSD = 2.0

// losing is a jack-down that waits for its reading: what the face stood at
// before.
type losing struct {
	kind   bedding
	face   events.Face
	before levelling.Height
	moves  int // the place's count of moves after it
}

// letDown is what a jack-down is expected to lose at a place, and remembers
// what was read before it, to learn from the reading after it.
func (s *State) letDown(p *place) levelling.Height {
	kind := p.work.bedding()
	p.losing = nil
	if f := p.freshest(); f != nil && f.odd == nil && s.setupDoubt(f) == "" {
		p.losing = &losing{kind: kind, face: p.lastly, before: p.present(f), moves: p.moves + 1}
	}
	lost, _ := s.expectedLoss(kind)
	return lost
}

// expectedLoss is the bedding-in to be expected of a kind of jack-down, from
// how many of this job. Two that nobody saw, which lost nothing give or take
// beddingSD, count with them, so that the first ones do not claim too much; the
// median is not led astray by one that slipped.
func (s *State) expectedLoss(k bedding) (levelling.Height, int) {
	seen := s.losses[k]
	n := len(seen)
	if n == 0 {
		return levelling.Height{SD: beddingSD}, 0
	}
	middle := medianOf(seen)
	off := make([]float64, n)
	for i, loss := range seen {
		off[i] = math.Abs(loss - middle)
	}
	spread := madToSD * medianOf(off)
	const unseen = 2.0
	variance := (unseen*beddingSD*beddingSD + float64(float64(n)*float64(spread*spread))) / (unseen + float64(n))
	return levelling.Height{MM: float64(middle*float64(n)) / (unseen + float64(n)), SD: math.Max(math.Sqrt(variance), leastBeddingSD)}, n
}

// madToSD turns the median absolute deviation of a normal distribution into its
// standard deviation: 1/Φ⁻¹(3/4).
const madToSD = 1.4826

// leastBeddingSD keeps a few jack-downs that happened to lose the same from
// claiming that the next one will to the tenth of a millimetre.
const leastBeddingSD = 0.5

func medianOf(xs []float64) float64 {
	sorted := slices.Sorted(slices.Values(xs))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// learnBedding learns what a jack-down lost from the first reading after it of
// the face read before it, if nothing in reach moved in between.
func (s *State) learnBedding(p *place, l look) {
	d := p.losing
	if d == nil {
		return
	}
	p.losing = nil
	if f := p.faces[p.lastly]; p.lastly != d.face || p.moves != d.moves || f.odd != nil || l.on.doubt != "" {
		return
	}
	after := s.filter.Height(l.on.plane).MM - l.staff
	s.losses[d.kind] = append(s.losses[d.kind], d.before.MM-after)
}
