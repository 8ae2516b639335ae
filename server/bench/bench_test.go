//go:build bench

package bench

import (
	"fmt"
	"testing"
)

// TestCompare prints the table. It fails only when something does not work:
// how fast a machine is, is no test.
func TestCompare(t *testing.T) {
	s := start(t)
	fmt.Printf("Ours beside the same work by hand, or beside what it may take, measured in turn %d times: the median, the least\n"+
		"and the greatest ratio. Above 1 ours is ahead.\n", thorough.pairs)
	for _, f := range measured(t, s, thorough) {
		f.print()
	}
	for _, f := range compareLengths(t, s) {
		f.print()
	}
	measureReplans(t)
}

// TestBrief prints the same in few seconds for programs: a name and a ratio a line.
func TestBrief(t *testing.T) {
	for _, f := range measured(t, start(t), brisk) {
		f.printShort()
	}
}

// measured is what both tables have.
func measured(t *testing.T, s *site, at tempo) (all []figure) {
	for _, clients := range []int{1, 8, 32} {
		all = append(all, compareAppends(t, s, appends{clients: clients, firms: 1}, at))
	}
	all = append(all, compareAppends(t, s, appends{clients: 32, firms: 32}, at), measureBatches(t, s, at))
	for _, supports := range []int{40, 200} {
		all = append(all, measureStates(t, supports, at)...)
	}
	return append(all, comparePhotos(t, s, at), comparePhotosAtOnce(t, s, 8, at))
}
