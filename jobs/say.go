package jobs

import (
	"strings"
	"unicode"
)

// Say puts the words of a region into a sentence of the program, which is written in
// the words of the code: "Read the staff on a datum" is "Read the rod on a benchmark".
// What people typed is none of its sentences.
func (w Words) Say(sentence string) string {
	var b strings.Builder
	for sentence != "" {
		n := wordEnd(sentence)
		if n == 0 {
			b.WriteByte(sentence[0])
			sentence = sentence[1:]
			continue
		}
		if said, m := w.saidOf(sentence, n); m > 0 {
			b.WriteString(said)
			n = m
		} else {
			b.WriteString(sentence[:n])
		}
		sentence = sentence[n:]
	}
	return b.String()
}

// wordEnd is where the word ends that a text begins with, 0 where it begins with none.
func wordEnd(text string) int {
	if end := strings.IndexFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }); end >= 0 {
		return end
	}
	return len(text)
}

// saidOf is the region's word for what a text begins with, whose first word ends at n,
// and how much of the text that stands for; 0 where the code has no such word.
func (w Words) saidOf(text string, n int) (string, int) {
	for _, p := range w.phrases() {
		if len(text) >= len(p.code) && strings.EqualFold(text[:len(p.code)], p.code) && wordEnd(text[len(p.code):]) == 0 {
			return likeFirst(p.said, text), len(p.code)
		}
	}
	word, plural := strings.CutSuffix(text[:n], "s")
	for _, p := range [][2]string{{"bearer", w.Bearer}, {"packer", w.Packer}, {"blocking", w.Blocking}, {"staff", w.Staff}, {"datum", w.Datum}} {
		if strings.EqualFold(word, p[0]) {
			said := likeFirst(p[1], text)
			if plural {
				said += "s"
			}
			return said, n
		}
	}
	return "", 0
}

type phraseOf struct{ code, said string }

// phrases are what is no single word, the longest first.
func (w Words) phrases() (all []phraseOf) {
	if w.Under != "under the floor" {
		all = append(all, phraseOf{"out from under the floor", "out of the " + w.Under}, phraseOf{"look under the floor", "look into the " + w.Under},
			phraseOf{"damp under the floor", "damp in the " + w.Under}, phraseOf{"under the floor", w.Under})
	}
	if w.Blocking == "pigsty" {
		all = append(all, phraseOf{"on blocking", "on a pigsty"}, phraseOf{"put in blocking", "put in a pigsty"}, phraseOf{"take blocking away", "take a pigsty away"})
	}
	return all
}

// likeFirst begins with a capital where the text does.
func likeFirst(said, text string) string {
	if text[0] >= 'A' && text[0] <= 'Z' && said != "" {
		return strings.ToUpper(said[:1]) + said[1:]
	}
	return said
}
