package web

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"rsc.io/qr"
)

// Every black square of the code is drawn, and no other.
func TestSquare(t *testing.T) {
	const text = "ABCDEFGH"
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		t.Fatal(err)
	}
	svg, err := Square(text)
	if err != nil {
		t.Fatal(err)
	}
	drawn := map[[2]int]bool{}
	for _, run := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(string(svg), -1) {
		var x, y, wide, back int
		if _, err := fmt.Sscan(strings.Join(run[1:], " "), &x, &y, &wide, &back); err != nil || wide != back {
			t.Fatalf("%v: %v", run, err)
		}
		for i := range wide {
			drawn[[2]int{x + i, y}] = true
		}
	}
	for y := -quiet; y < code.Size+quiet; y++ {
		for x := -quiet; x < code.Size+quiet; x++ {
			if drawn[[2]int{x, y}] != code.Black(x, y) {
				t.Errorf("at %d, %d: drawn %t", x, y, drawn[[2]int{x, y}])
			}
		}
	}
	if !strings.Contains(string(svg), fmt.Sprintf(`viewBox="-4 -4 %d %d"`, code.Size+8, code.Size+8)) {
		t.Error("without the margin that a reader needs")
	}
	if _, err := Square(strings.Repeat("too long ", 1000)); err == nil {
		t.Error("a text that no code holds is drawn")
	}
}
