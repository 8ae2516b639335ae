package drawing

import (
	"strings"
	"testing"

	"relevel/jobs"
)

// everySign has every second support move and the others wait.
func everySign(p jobs.Picture) Round {
	r := Round{Order: map[string]int{}, Waits: map[string]string{}}
	for i, s := range p.Supports {
		if i%2 == 0 {
			r.Order[s.ID] = 1 + i/2
		} else {
			r.Waits[s.ID] = "waste pipe still fixed"
		}
	}
	return r
}

// What moves and what waits differ in shape and in word, and are said aloud.
func TestRoundOnFloor(t *testing.T) {
	o := testOptions(0)
	o.Round = Round{Order: map[string]int{"B1-2": 3}, Waits: map[string]string{"B2-4": "waste pipe <still> fixed"}}
	svg := Floor(everyState(), o)
	parse(t, svg)
	for words, times := range map[string]int{
		`<rect class="order"`: 1, `<rect class="waits"`: 1, `>3</text>`: 1, `>waits</text>`: 1,
		`aria-label="B1-2: read, +4 to go, move 3 of this round"`: 1,
		`, waits: waste pipe &lt;still&gt; fixed"`:                1,
	} {
		if n := strings.Count(svg, words); n != times {
			t.Errorf("%q is there %d times, want %d", words, n, times)
		}
	}
}

// No sign covers another, nor another's post.
func TestSignsApart(t *testing.T) {
	p := everyState()
	for turn := range 4 {
		posts := newLayout(p, turn).posts(&canvas{}, p, everySign(p), &crowd{})
		for i, a := range posts {
			for j, b := range posts {
				if o := a.signBox().common(b.extent()); i != j && o > 0 {
					t.Errorf("turn %d: the sign of %s covers %s by %.0f px²", turn, a.s.ID, b.s.ID, o)
				}
			}
		}
	}
}
