package jobs

import (
	"context"
	"slices"
	"strings"
	"time"
	"unicode"

	"relevel/events"
)

// Books hold what the events of jobs say in words, to be searched. Like summaries
// they are written behind the appends, can be made again from the log, and may be
// lost with the power.
type Books interface {
	// BookMarks tells how far each job's book was read; a job that is missing was
	// not read yet.
	BookMarks(ctx context.Context, firm events.ID) (map[events.ID]BookMark, error)
	// SaveBook adds a stretch of a job's book. Unless it begins the book, After 0,
	// which takes the place of whatever was there, it has to follow the one before
	// it, by the same version, or is events.ErrConflict: another server was faster.
	SaveBook(ctx context.Context, s BookStretch) error
	// SearchBooks returns the passages in which each of the terms is found, what
	// was voided last, then the better match first, then the newest.
	SearchBooks(ctx context.Context, firm events.ID, s Search) ([]Passage, error)
}

// BookVersion changes whenever a passage would be read otherwise, so that books
// are read anew.
const BookVersion = 1

// BookMark is how far a book was read, and by which way of reading.
type BookMark struct {
	Seq     int64
	Version int
}

// Passage is one event in words.
type Passage struct {
	Job    events.ID   `json:"job"`
	Seq    int64       `json:"seq"`
	Kind   events.Kind `json:"kind"`
	At     time.Time   `json:"at"`
	By     events.ID   `json:"by,omitzero"`
	Points string      `json:"points,omitempty"` // the places it names
	Words  string      `json:"words"`
	Struck bool        `json:"struck,omitempty"` // it was voided
}

// BookStretch is what was read of a job's book after one number and up to another.
type BookStretch struct {
	Firm, Job   events.ID
	After, Upto int64
	Version     int
	Passages    []Passage
}

// Search asks for passages that have all of some terms.
type Search struct {
	Terms         []Term
	Job           events.ID // of this job alone, if set
	Limit, Offset int
}

// Term is a word that is looked for, as Terms writes it: passages that have a word
// beginning with it, other forms of it where the store knows them, or that one of
// these people recorded.
type Term struct {
	Word   string
	People []events.ID
}

// ShortestPrefix is how long a word has to be to find others that begin with it.
const ShortestPrefix = 2

// longestWord bounds what is looked for and kept of one word.
const longestWord = 48

// Terms are the words of a text as they are searched: in small letters, without
// accents. What is joined by a hyphen is one word and its parts.
func Terms(text string) (words []string) {
	for _, whole := range strings.FieldsFunc(Plain(text), func(r rune) bool {
		return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}) {
		whole = strings.Trim(whole, "-")
		if parts := strings.Split(whole, "-"); len(parts) > 1 {
			words = append(words, parts...)
		}
		words = append(words, whole)
	}
	for i, w := range words {
		if cut := []rune(w); len(cut) > longestWord {
			words[i] = string(cut[:longestWord])
		}
	}
	words = slices.DeleteFunc(words, func(w string) bool { return w == "" })
	slices.Sort(words)
	return slices.Compact(words)
}

// Asked are the words that somebody looks for, the first few of them: what is
// joined by a hyphen is looked for as a whole.
func Asked(text string) (words []string) {
	const most = 8
	for _, part := range strings.FieldsFunc(Plain(text), func(r rune) bool {
		return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}) {
		part = strings.Trim(part, "-")
		if cut := []rune(part); len(cut) > longestWord {
			part = string(cut[:longestWord])
		}
		if part != "" && !slices.Contains(words, part) && len(words) < most {
			words = append(words, part)
		}
	}
	return words
}

// Plain writes a text in small letters without accents.
func Plain(text string) string {
	var b strings.Builder
	b.Grow(len(text))
	for _, r := range strings.ToLower(text) {
		switch {
		case r < 0x80:
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // an accent that stands by itself
		case bare[r] != "":
			b.WriteString(bare[r])
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// bare are the Latin letters with accents, and what they are without.
var bare = func() map[rune]string {
	all := map[rune]string{}
	for plain, accented := range map[string]string{
		"a": "àáâãäåāăąǎ", "ae": "æ", "c": "çćĉċč", "d": "ďđð", "e": "èéêëēĕėęěẽ", "g": "ĝğġģ", "h": "ĥħ",
		"i": "ìíîïĩīĭįı", "j": "ĵ", "k": "ķ", "l": "ĺļľŀł", "n": "ñńņňŉ", "o": "òóôõöøōŏőǒ", "oe": "œ", "r": "ŕŗř",
		"s": "śŝşšș", "ss": "ß", "t": "ţťŧț", "th": "þ", "u": "ùúûüũūŭůűųǔ", "w": "ŵẁẃẅ", "y": "ýÿŷỳ", "z": "źżž",
		"'": "’‘",
	} {
		for _, r := range accented {
			all[r] = plain
		}
	}
	return all
}()

// inFigures are the kinds that are figures more than words.
var inFigures = map[events.Kind]bool{
	events.KindReading: true, events.KindJacking: true, events.KindJackDown: true, events.KindSetupClosed: true, events.KindPlan: true, events.KindVoid: true,
}

// Passage is an event in words; false for one that says none, as most readings.
func (s *State) Passage(e events.Stored) (Passage, bool) {
	if e.Erased || s.gone[e.Seq] {
		return Passage{}, false
	}
	l := s.Line(e)
	if inFigures[e.Kind] && (e.Kind != events.KindReading || l.Staff != nil) || l.Text == "" {
		return Passage{}, false
	}
	return Passage{
		Job: e.Job, Seq: e.Seq, Kind: e.Kind, At: e.At, By: e.By, Points: strings.Join(l.Points, ", "), Words: l.Text, Struck: l.Voided != "",
	}, true
}

// WordAt is a word of a passage, and what finding it is worth.
type WordAt struct {
	Word   string
	Weight int
}

// RecordedBy is the word under which what somebody recorded is found. It holds no
// name, which could not be erased.
func RecordedBy(person events.ID) string { return "@" + person.String() }

// OfKind is the word under which all of a kind are found.
func OfKind(k events.Kind) string { return "#" + string(k) }

// Index lists the words a passage is found by: the places it names before what it
// says, and who recorded it.
func (p Passage) Index() []WordAt {
	weights := map[string]int{}
	for weight, text := range map[int]string{1: p.Words + " " + KindWords(p.Kind), 2: p.Points} {
		for _, w := range Terms(text) {
			weights[w] = max(weights[w], weight)
		}
	}
	weights[OfKind(p.Kind)] = 1
	if !p.By.IsZero() {
		weights[RecordedBy(p.By)] = 1
	}
	all := make([]WordAt, 0, len(weights))
	for w, weight := range weights {
		all = append(all, WordAt{w, weight})
	}
	slices.SortFunc(all, func(a, b WordAt) int { return strings.Compare(a.Word, b.Word) })
	return all
}
