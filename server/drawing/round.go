package drawing

import (
	"fmt"
	"strconv"
	"unicode/utf8"

	"relevel/jobs"
)

// Round is what is said of supports on the plan of a round: a framed number for
// one that moves, a broken frame with the word for one that waits.
type Round struct {
	Order map[string]int    // place in the order, from 1; the same for what is pumped together
	Waits map[string]string // and why
}

// RoundOf is what the plan of a floor says of the round under way; without one it
// says nothing.
func RoundOf(plan *jobs.Rounds) Round {
	r := Round{Order: map[string]int{}, Waits: map[string]string{}}
	if plan == nil {
		return r
	}
	for _, m := range plan.Moves {
		r.Order[m.Support] = m.Batch + 1
	}
	for _, w := range plan.Waits {
		r.Waits[w.Support] = w.Why
	}
	return r
}

// waiting is the word in the broken frame.
const waiting = "waits"

// A sign stands lower than jack and blocking.
const (
	signTop  = ground + 6
	signHigh = 17.0
)

// sign is what a round says of one support, "" where it says nothing.
func (r Round) sign(id string) string {
	if n := r.Order[id]; n > 0 {
		return strconv.Itoa(n)
	}
	if _, waits := r.Waits[id]; waits {
		return waiting
	}
	return ""
}

// title is the same for who cannot see the sign.
func (r Round) title(id string) string {
	if n := r.Order[id]; n > 0 {
		return fmt.Sprintf(", move %d of this round", n)
	}
	if why, waits := r.Waits[id]; waits {
		return ", waits: " + why
	}
	return ""
}

// signBox is the frame of a post's sign: under its foot, that of an end at a
// butted join to its own side; where the bearer runs up the drawing beside the
// post, under what is written there.
func (p post) signBox() box {
	wide := float64(utf8.RuneCountInString(p.sign))*smallSize*letterWide + 12
	left := p.at.x - wide/2
	switch past := wide/2 - bearerEnd; {
	case p.upright:
		left = p.at.x + bearerEnd + 5
	case p.pair && past > 0:
		left += past * p.side
	}
	return box{left, p.at.y + signTop, left + wide, p.at.y + signTop + signHigh}
}

// drawSign frames what the round says of a post.
func (p post) drawSign() {
	if p.sign == "" {
		return
	}
	class := "order"
	if p.sign == waiting {
		class = waiting
	}
	b := p.signBox()
	p.c.rect(class, b)
	p.c.text(class, point{(b.x0 + b.x1) / 2, b.y1 - 4}, centred, p.sign)
}
