package pack

import (
	"fmt"

	"rsc.io/qr"
)

// proof says what can be checked and what by: the checkpoint as text, to be typed or
// scanned, and as a code.
func (k Pack) proof(f *flow) {
	keep := 6 * body.leading
	if k.Checked.Text != "" {
		keep = 16*body.leading + codeWide // the seal and its code are not parted
	}
	f.heading("How to check this pack", keep)
	for _, words := range []string{k.Account.Proof.Shows, k.Account.Proof.ShowsNot} {
		if words != "" {
			f.say(body, words)
		}
	}
	switch {
	case k.Checked.Disagrees:
		f.say(third, "The record did not agree with the seal that it had before when this pack was made. Ask the firm why before you rely on it.")
		return
	case k.Checked.Text == "":
		f.say(body, "The log of this job was not sealed yet when this pack was made.")
		return
	}
	f.say(body, fmt.Sprintf("This is the seal of lines 1 to %d of the book, which this pack is told from. Whoever holds the record can show that it still has this seal.", k.Checked.Size))
	f.gap(6)
	f.checkpoint(k.Checked.Text)
	if k.Checked.Keys != "" {
		f.say(note, "The keys by which it is checked: "+k.Checked.Keys)
	}
}

// codeWide is the width of the code on paper: large enough for the camera of a phone
// at arm's length.
const codeWide = 150.0

// checkpoint writes a signed note line by line and beside nothing else, then as a
// code.
func (f *flow) checkpoint(text string) {
	f.typed(code, text)
	f.gap(10)
	squares, err := qr.Encode(text, qr.M)
	if err != nil {
		f.err = fmt.Errorf("draw a checkpoint as a code: %w", err)
		return
	}
	f.need(codeWide)
	fig := f.doc.Root().Add("Figure")
	fig.Alt = "The seal as a code for a phone’s camera"
	fig.Covers = [4]float64{side, f.y, side + codeWide, f.y + codeWide}
	f.page.For(fig, func() { f.square(squares) })
	f.y += codeWide + 8
}

// square draws a QR code, as runs of black squares.
func (f *flow) square(code *qr.Code) {
	one := codeWide / float64(code.Size)
	f.page.Fill(ink)
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			from := x
			for code.Black(x, y) { // beyond the edge nothing is
				x++
			}
			if x > from {
				f.page.Rect(side+float64(from)*one, f.y+float64(y)*one, float64(x-from)*one, one)
			}
		}
	}
	f.page.Draw(true, false)
}
