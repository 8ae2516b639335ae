package levelling

import "slices"

// wave is heights spread over a floor, and where each came from.
type wave struct {
	height []float64
	source []int32 // the point whose own height it hangs on
	before []int32 // the point before it on the way from there
}

// spread raises every height to the greatest of all others less the shortest
// path of limits between them: Dijkstra's algorithm, the highest first, started
// from all points at once. It changes and keeps the heights it is given.
func (b *bounds) spread(heights []float64) wave {
	n := len(heights)
	w := wave{height: heights, source: make([]int32, n), before: make([]int32, n)}
	for i := range n {
		w.source[i], w.before[i] = int32(i), int32(i)
	}
	w.raiseAll(b.allRoom)
	h := newHeap(w.height)
	for len(h.order) > 0 {
		i := h.pop()
		for _, window := range b.strips.near(i) {
			b.raise(&w, h, i, window)
		}
	}
	return w
}

// raise lets a settled point force others.
func (b *bounds) raise(w *wave, h *heap, i int32, others []int32) {
	for _, j := range others {
		if w.height[j] >= w.height[i] {
			continue // settled before, or nothing to gain
		}
		room, holds := b.pair(i, j)
		if from := w.height[i] - room; holds && from > w.height[j] {
			w.height[j], w.source[j], w.before[j] = from, w.source[i], i
			h.raised(j)
		}
	}
}

// raiseAll keeps the range: what the highest point forces, it forces at once.
func (w *wave) raiseAll(room float64) {
	top := int32(slices.Index(w.height, slices.Max(w.height)))
	floor := w.height[top] - room
	for i := range w.height {
		if w.height[i] < floor {
			w.height[i], w.source[i], w.before[i] = floor, top, top
		}
	}
}

// heap hands out points by height, the highest first, of equal ones the one
// with the smaller index. It looks the heights up where they are kept.
type heap struct {
	height []float64
	order  []int32 // a binary heap
	place  []int32 // where each point stands in order, -1 once handed out
}

func newHeap(height []float64) *heap {
	n := len(height)
	h := &heap{height: height, order: make([]int32, n), place: make([]int32, n)}
	for i := range n {
		h.order[i], h.place[i] = int32(i), int32(i)
	}
	for at := n/2 - 1; at >= 0; at-- {
		h.sink(at)
	}
	return h
}

func (h *heap) pop() int32 {
	top, last := h.order[0], len(h.order)-1
	h.put(0, h.order[last])
	h.order = h.order[:last]
	h.place[top] = -1
	if last > 0 {
		h.sink(0)
	}
	return top
}

// raised restores the order after the height of a point that is still in the
// heap has grown.
func (h *heap) raised(i int32) {
	at := int(h.place[i])
	for at > 0 && h.above(i, h.order[(at-1)/2]) {
		h.put(at, h.order[(at-1)/2])
		at = (at - 1) / 2
	}
	h.put(at, i)
}

func (h *heap) sink(at int) {
	i := h.order[at]
	for {
		below := 2*at + 1
		if below+1 < len(h.order) && h.above(h.order[below+1], h.order[below]) {
			below++
		}
		if below >= len(h.order) || !h.above(h.order[below], i) {
			break
		}
		h.put(at, h.order[below])
		at = below
	}
	h.put(at, i)
}

func (h *heap) put(at int, i int32) {
	h.order[at] = i
	h.place[i] = int32(at)
}

func (h *heap) above(i, j int32) bool {
	if h.height[i] != h.height[j] {
		return h.height[i] > h.height[j]
	}
	return i < j
}
