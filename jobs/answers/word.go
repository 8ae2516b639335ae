package answers

import (
	"fmt"
	"strings"
	"unicode"
)

// glossary explains the words of the trade that an account uses.
func (t *teller) glossary(a Account) (out []Word) {
	said := map[string]bool{}
	note := func(text string) {
		said["1:200"] = said["1:200"] || strings.Contains(text, "1:200")
		for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) }) {
			said[word], said[strings.TrimSuffix(word, "s")] = true, true
		}
	}
	for _, an := range a.Answers {
		for _, s := range an.Say {
			note(s)
		}
		for _, f := range an.Facts {
			note(f.Name + " " + f.Value)
		}
	}
	for _, c := range a.Cautions {
		note(c)
	}
	if said["1:200"] {
		out = append(out, Word{"1:200", "a slope of 1 in 200, which is 5 mm over a metre"})
	}
	for _, w := range t.trade() {
		parts := strings.Fields(strings.ToLower(w.Word))
		if said[parts[len(parts)-1]] {
			out = append(out, w)
		}
	}
	return out
}

// trade are the words of the trade in the region's speech, with what they mean.
func (t *teller) trade() []Word {
	w := t.words
	return []Word{
		{w.Support, "one of the short legs under the house that hold the floor up" + t.example()},
		{w.Bearer, "a long heavy timber that lies on the " + w.Support + "s and carries the floor"},
		{"joist", "one of the timbers that lie across the " + w.Bearer + "s, right under the floor boards"},
		{w.Packer, "a solid piece that fills the gap between a " + w.Support + " and the " + w.Bearer + " above it"},
		{"packed", "with solid pieces in the gap between a " + w.Support + " and the " + w.Bearer + " above it"},
		{w.Blocking, "timbers stacked crosswise that carry the floor for a while"},
		{"jack", "what lifts the floor, a little at a time"},
		{"jacked", "lifted, a little at a time"},
		{"footing", "what a " + w.Support + " stands on in the ground"},
		{"pad", "a footing: a block of concrete in the ground"},
		{w.Datum, "a fixed point from which all heights are measured"},
		{w.Staff, "the measuring stick on which heights are read"},
		{"level", "of one height"},
	}
}

// example explains how supports are named, by one of them.
func (t *teller) example() string {
	for _, b := range t.picture.Plan.Bearers {
		if n := len(b.Supports); n > 1 {
			return fmt.Sprintf(". Each has a name on the drawing: %s is the second along the line %s", b.Supports[1], b.ID)
		}
	}
	return ""
}
