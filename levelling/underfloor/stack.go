package underfloor

import (
	"cmp"
	"math"
	"slices"

	"relevel/levelling"
)

// stacking is the search for pieces on one another whose sum is near a need.
// Lengths are nanometres.
type stacking struct {
	sizes        []int64 // that can be part of a stack, thickest first, each once
	need, within int64
	most         int64 // pieces
}

// What is tried at most: a table of so many sums, and so many sums for all sizes
// together. They take a tenth of a second and 16 MB; a firm's stock takes a
// thousandth of either.
const (
	mostSums  = 1 << 22
	mostTries = 1 << 26
)

func (s Stock) search(need int64) stacking {
	w := stacking{need: need, within: nanometres(min(s.WithinMM, mostGapMM)), most: int64(s.MaxPieces)}
	for _, size := range s.SizesMM {
		if nm := nanometres(size); nm > 0 && nm <= w.need+w.within {
			w.sizes = append(w.sizes, nm)
		}
	}
	w.sizes = thickestFirst(w.sizes)
	return w
}

// thickestFirst sorts, and keeps each size once.
func thickestFirst(sizes []int64) []int64 {
	slices.SortFunc(sizes, func(a, b int64) int { return cmp.Compare(b, a) })
	return slices.Compact(sizes)
}

// fewest returns the pieces of the best stack, thickest first; none where no
// stack is near enough.
func (w stacking) fewest() ([]int64, error) {
	if piece, near := w.single(); near {
		return []int64{piece}, nil
	}
	if !w.inReach() {
		return nil, nil
	}
	for _, coarse := range []int64{1, 100} {
		if g, small := w.grid(coarse); small {
			return g.stack(w), nil
		}
	}
	if pieces, told := w.tried(); told {
		return pieces, nil
	}
	return nil, levelling.Bad("stock_mm", "fewer thicknesses, or rounder ones: there are too many sums of them to try")
}

// single is the one piece that is nearest, of two the thicker, and whether that
// is near enough.
func (w stacking) single() (int64, bool) {
	best, off := int64(0), int64(math.MaxInt64)
	for _, size := range w.sizes {
		if d := distance(size, w.need); d < off {
			best, off = size, d
		}
	}
	return best, off <= w.within
}

func distance(a, b int64) int64 { return max(a-b, b-a) }

// inReach tells whether the thickest pieces come near at all: where they don't,
// there is no need to try the others.
func (w stacking) inReach() bool {
	return len(w.sizes) > 0 && w.sizes[0] >= ceilDiv(w.need-w.within, w.most)
}

func ceilDiv(a, b int64) int64 { return (a + b - 1) / b }

// grid is the sizes in steps, so that the sums there can be are whole numbers of
// steps.
type grid struct {
	step  int64
	sizes []int64 // steps
}

// shown is half of what an answer is rounded to: an error below it does not show.
const shown = 500

// grid finds the largest step of which all sizes are multiples. Thirds of an inch
// beside millimetres have none worth the name; they are taken to so many
// nanometres to look for the stack, whose sum is then that of the sizes
// themselves. It reports whether the sums are few enough to try them all, and
// what is lost by rounding too little to show.
func (w stacking) grid(coarse int64) (grid, bool) {
	g := grid{sizes: make([]int64, len(w.sizes))}
	for i, size := range w.sizes {
		g.sizes[i] = (size + coarse/2) / coarse * coarse
		g.step = gcd(g.sizes[i], g.step)
	}
	smallest := g.sizes[len(g.sizes)-1]
	if smallest == 0 || min(w.most, (w.need+w.within)/smallest)*(coarse/2) > shown {
		return grid{}, false
	}
	for i := range g.sizes {
		g.sizes[i] /= g.step
	}
	sums := (w.need + w.within) / g.step
	return g, sums < mostSums && sums*int64(len(g.sizes)) <= mostTries
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// stack finds the best stack by the table of all sums.
func (g grid) stack(w stacking) []int64 {
	table := g.table((w.need + w.within) / g.step)
	sum := g.best(table, w)
	var pieces []int64
	for sum > 0 {
		i := g.thickest(table, sum)
		pieces = append(pieces, w.sizes[i])
		sum -= g.sizes[i]
	}
	return pieces
}

// never is the number of pieces of a sum that no stack has. One more is still a
// number.
const never = math.MaxInt32 - 1

// table holds, for every sum from 0, how many pieces it takes at least.
func (g grid) table(last int64) []int32 {
	table := make([]int32, last+1)
	for sum := range table[1:] {
		table[sum+1] = never
	}
	for _, size := range g.sizes {
		for sum := size; sum <= last; sum++ {
			table[sum] = min(table[sum], table[sum-size]+1)
		}
	}
	return table
}

// best is the sum of the fewest pieces, then the closest, then the thicker; 0
// where none is near enough.
func (g grid) best(table []int32, w stacking) int64 {
	best, pieces, off := int64(0), int32(never), int64(0)
	for sum := int64(len(table) - 1); sum >= max(1, ceilDiv(w.need-w.within, g.step)); sum-- {
		n, d := table[sum], distance(sum*g.step, w.need)
		if int64(n) <= w.most && (n < pieces || n == pieces && d < off) {
			best, pieces, off = sum, n, d
		}
	}
	return best
}

// thickest is the first size, of those thickest first, that is part of the
// fewest pieces of a sum.
func (g grid) thickest(table []int32, sum int64) int {
	return slices.IndexFunc(g.sizes, func(size int64) bool {
		return size <= sum && table[sum-size] == table[sum]-1
	})
}
