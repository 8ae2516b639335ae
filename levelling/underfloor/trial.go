package underfloor

// mostTrials is how many pieces are put on a stack in all before giving up,
// which takes some hundredths of a second.
const mostTrials = 1 << 22

// trial builds stacks piece by piece, of equally many pieces each. It is for a
// large gap and sizes without a common measure, whose sums no table holds, while
// few pieces or few sizes leave few stacks.
type trial struct {
	stacking
	left   int     // trials
	pieces []int64 // of the stack that is being built
	best   []int64
	off    int64 // of the best: its need less its sum
}

// tried returns the pieces of the best stack, thickest first, none where no
// stack is near enough, and whether there were few enough to tell.
func (w stacking) tried() (pieces []int64, told bool) {
	t := trial{stacking: w, left: mostTrials}
	smallest := w.sizes[len(w.sizes)-1]
	for n := int64(2); n <= w.most && n*smallest <= w.need+w.within; n++ {
		t.grow(w.need, n, w.sizes)
		if t.left == 0 || t.best != nil {
			break
		}
	}
	return t.best, t.left > 0
}

// grow adds n pieces of some sizes, to come to what is left of the need. It
// passes over what they cannot come to.
func (t *trial) grow(rest, n int64, sizes []int64) {
	if n == 0 {
		t.take(rest)
		return
	}
	smallest := sizes[len(sizes)-1]
	for i, size := range sizes {
		if t.left == 0 || size*n < rest-t.within {
			return
		}
		t.left--
		if size+smallest*(n-1) > rest+t.within {
			continue
		}
		t.pieces = append(t.pieces, size)
		t.grow(rest-size, n-1, sizes[i:])
		t.pieces = t.pieces[:len(t.pieces)-1]
	}
}

// take keeps a stack that is closer than the best so far, or as close and
// thicker. Of the same sum the one with the thickest pieces came first.
func (t *trial) take(off int64) {
	d, best := max(off, -off), max(t.off, -t.off)
	if t.best == nil || d < best || d == best && off < t.off {
		t.best, t.off = append(t.best[:0], t.pieces...), off
	}
}
