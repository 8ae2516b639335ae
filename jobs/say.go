package jobs

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"unicode"
	"unicode/utf8"
)

// Say puts the words of a region into a sentence of the program, which is written in
// the words of the code: "Read the staff on a datum" is "Read the rod on a benchmark".
// What is in the region's words already stays as it is, and no words change nothing.
//
// What people typed and what they named is none of the program's sentences: it is put in
// afterwards.
func (w Words) Say(sentence string) string {
	if w == (Words{}) {
		return sentence
	}
	var b strings.Builder
	all := w.byFirst()
	for sentence != "" {
		n := wordEnd(sentence)
		if n == 0 {
			_, n = utf8.DecodeRuneInString(sentence)
			b.WriteString(sentence[:n])
		} else if s := begins(sentence, all[sentence[:n]]); s.Code != "" {
			b.WriteString(s.Said)
			n = len(s.Code)
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

// begins is the first of some sayings that a text begins with.
func begins(text string, with []Saying) Saying {
	for _, s := range with {
		if strings.HasPrefix(text, s.Code) && wordEnd(text[len(s.Code):]) == 0 {
			return s
		}
	}
	return Saying{}
}

// Saying is what the code calls something, and what a region does.
type Saying struct {
	Code string `json:"code"`
	Said string `json:"said"`
}

// Sayings are all that a region says otherwise than the code, the longest first: each as
// it stands in a sentence, and as it begins one. Of two for the same the first counts.
// Programs that do not run Go say by them.
func (w Words) Sayings() []Saying {
	all := []Saying{{"Under the floor", upperFirst(w.Under)}} // as a heading; in a sentence it is a place
	for _, s := range slices.Concat(w.phrases(), w.nouns()) {
		all = append(all, s, Saying{upperFirst(s.Code), upperFirst(s.Said)})
	}
	slices.SortStableFunc(all, func(a, b Saying) int { return cmp.Compare(len(b.Code), len(a.Code)) })
	seen := map[string]bool{}
	return slices.DeleteFunc(all, func(s Saying) bool {
		known := seen[s.Code]
		seen[s.Code] = true
		return known || (s.Code == s.Said && !strings.EqualFold(s.Code, w.Inspector))
	})
}

// nouns are single words, one and several of them. A word that begins otherwise has
// another article.
func (w Words) nouns() (all []Saying) {
	for _, s := range []Saying{{"bearer", w.Bearer}, {"packer", w.Packer}, {"blocking", w.Blocking}, {"staff", w.Staff}, {"datum", w.Datum},
		{"inspector", w.Inspector}, {"agreed change", w.Change}, {"come-back period", w.ComeBack}} {
		all = append(all, s, Saying{s.Code + "s", Several(s.Said)})
		if article(s.Code) != article(s.Said) {
			all = append(all, Saying{article(s.Code) + s.Code, article(s.Said) + s.Said})
		}
	}
	return append(all, Saying{w.Inspector, w.Inspector}) // has the code's word in it in one region
}

// phrases are what is said otherwise than word by word.
func (w Words) phrases() (all []Saying) {
	if w.Under != "under the floor" {
		all = append(all, Saying{"out from under the floor", "out of the " + w.Under}, Saying{"look under the floor", "look into the " + w.Under},
			Saying{"under the floor", "in the " + w.Under})
	}
	if w.Blocking == "pigsty" {
		all = append(all, Saying{"on blocking", "on a pigsty"}, Saying{"supports on blocking", "supports on pigsties"}, Saying{"supports are on blocking", "supports are on pigsties"},
			Saying{"most on blocking", "most on pigsties"}, Saying{"put in blocking", "put in a pigsty"}, Saying{"take blocking away", "take a pigsty away"},
			Saying{"neither blocking", "neither a pigsty"}, Saying{"blocking is to hand", "a pigsty is to hand"}, Saying{"blocking carries", "a pigsty carries"})
	}
	if w.Inspector == "building control" {
		all = append(all, Saying{"the inspector", w.Inspector}, Saying{"an inspector", w.Inspector})
	}
	return all
}

// Several is a word of the trade for more than one.
func Several(word string) string {
	if stem, is := strings.CutSuffix(word, "y"); is && !strings.ContainsRune("aeiou", rune(stem[len(stem)-1])) {
		return stem + "ies"
	}
	return word + "s"
}

func article(word string) string {
	if strings.ContainsRune("aeiou", rune(word[0])) {
		return "an "
	}
	return "a "
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// byFirst are the sayings by the word they begin with. The words of one region are
// asked for again and again, and are compared sooner than hashed.
func (w Words) byFirst() map[string][]Saying {
	if l := lastSaid.Load(); l != nil && l.words == w {
		return l.byFirst
	}
	l := speakerOf(w)
	lastSaid.Store(l)
	return l.byFirst
}

var lastSaid atomic.Pointer[speaker]

// speaker says sentences that stand in the code, and remembers each: they are few, and
// every answer has many of them. A nil one says them as they are.
type speaker struct {
	words   Words
	byFirst map[string][]Saying // by the word they begin with
	said    sync.Map            // sentences, by what stands in the code
	many    atomic.Int32
}

// maxSpoken bounds what is remembered, if a sentence is not from the code after all.
const maxSpoken = 4096

// speakers are those of the regions.
var speakers sync.Map

func speakerOf(w Words) *speaker {
	if w == (Words{}) {
		return nil
	}
	if known, found := speakers.Load(w); found {
		return known.(*speaker)
	}
	made := &speaker{words: w, byFirst: map[string][]Saying{}}
	for _, s := range w.Sayings() {
		first := s.Code[:wordEnd(s.Code)]
		made.byFirst[first] = append(made.byFirst[first], s)
	}
	known, _ := speakers.LoadOrStore(w, made)
	return known.(*speaker)
}

func (s *speaker) say(sentence string) string {
	if s == nil {
		return sentence
	}
	if said, known := s.said.Load(sentence); known {
		return said.(string)
	}
	said := s.words.Say(sentence)
	if s.many.Load() < maxSpoken {
		s.said.Store(sentence, said)
		s.many.Add(1)
	}
	return said
}
