package pdf

import (
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// letter is one drawing of a text and what it stands for.
type letter struct {
	glyph  uint16
	r      rune
	stands bool // the face lacks it: a square stands in its place
}

// square is what stands for a letter that a face lacks.
const square = '□'

// Plain is a text as it is set: one way of writing accents, breaks and tabs as
// spaces. Nothing else is taken out of it.
func Plain(s string) string {
	s = norm.NFC.String(s)
	out := make([]rune, 0, len(s))
	for _, r := range s {
		if unicode.IsSpace(r) && r != nbsp {
			r = ' '
		}
		out = append(out, r)
	}
	return string(out)
}

const nbsp = '\u00a0'

// lettersOf chooses the glyphs of a text. What a face lacks is shown as a square, so
// that a reader sees that something is missing.
func lettersOf(f *typeface, s string) []letter {
	s = Plain(s)
	out := make([]letter, 0, len(s))
	for _, r := range s {
		l := letter{glyph: f.glyph(r), r: r}
		if l.glyph == 0 || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			l = letter{f.glyph(square), r, true}
		}
		out = append(out, l)
	}
	return out
}
