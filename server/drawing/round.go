package drawing

import (
	"fmt"
	"strconv"
	"unicode/utf8"
)

// Round is what is said of supports on the plan of a round: a framed number for
// one that moves, a broken frame with the word for one that waits.
type Round struct {
	Order map[string]int    // place in the order, from 1; the same for what is pumped together
	Waits map[string]string // and why
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
