package web

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"relevel/jobs"
)

// SearchPage is what was found for some words.
type SearchPage struct {
	Frame
	Jobs           []FoundJob
	Groups         []FoundGroup
	Earlier, Later string // addresses, "" where there is no more
	Nothing        bool   // something was asked, and nothing was found
	Behind         int    // books that are still being read
}

// FoundJob is a job that was found by its own name or place.
type FoundJob struct {
	Base        string
	Name, Place []Part
}

// FoundGroup is what was found in the book of one job.
type FoundGroup struct {
	Base, Name string
	Lines      []FoundLine
}

// FoundLine is one line of a book.
type FoundLine struct {
	Seq           int64
	What, When    string
	Points, Words []Part
	By            []Part
	Struck        bool
}

// Part is a piece of a text; a hit is a word that was looked for.
type Part struct {
	Text string
	Hit  bool
}

func (SearchPage) page() string { return "search" }

// Marked parts a text where words of it were looked for.
func Marked(text string, asked []string) (parts []Part) {
	add := func(piece string, hit bool) {
		if n := len(parts); n > 0 && parts[n-1].Hit == hit {
			parts[n-1].Text += piece
		} else if piece != "" {
			parts = append(parts, Part{piece, hit})
		}
	}
	for text != "" {
		end := strings.IndexFunc(text, func(r rune) bool { return !inWord(r) })
		if end < 0 {
			end = len(text)
		}
		if end == 0 {
			_, end = utf8.DecodeRuneInString(text)
			add(text[:end], false)
		} else {
			add(text[:end], isAsked(text[:end], asked))
		}
		text = text[end:]
	}
	return parts
}

func inWord(r rune) bool {
	return r == '-' || unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r)
}

// isAsked reports whether a word, or a part of one with hyphens, begins with what
// was asked or may be another form of it.
func isAsked(word string, asked []string) bool {
	for _, w := range jobs.Terms(word) {
		for _, a := range asked {
			if strings.HasPrefix(w, a) || alike(w, a) {
				return true
			}
		}
	}
	return false
}

// alike reports whether two words differ in no more than how they end, as settling
// and settled do.
func alike(a, b string) bool {
	const shortest, ending = 4, 3
	same := 0
	for same < min(len(a), len(b)) && a[same] == b[same] {
		same++
	}
	return same >= shortest && len(a)-same <= ending && len(b)-same <= ending
}

// longestFound is how much of what a line says a search shows.
const longestFound = 240

// Excerpt is Marked for a long text, of which it leaves what lies around the first
// hit.
func Excerpt(text string, asked []string) []Part {
	parts := Marked(text, asked)
	if utf8.RuneCountInString(text) <= longestFound {
		return parts
	}
	if len(parts) > 1 && !parts[0].Hit {
		parts[0].Text = ending(parts[0].Text, longestFound/3)
	}
	left := longestFound
	for i, part := range parts {
		n := utf8.RuneCountInString(part.Text)
		if n > left {
			parts[i].Text = beginning(part.Text, left)
			return parts[:i+1]
		}
		left -= n
	}
	return parts
}

func ending(text string, most int) string {
	all := []rune(text)
	if len(all) <= most {
		return text
	}
	_, rest, _ := strings.Cut(string(all[len(all)-most:]), " ")
	return "… " + rest
}

func beginning(text string, most int) string {
	all := []rune(text)
	if len(all) <= most {
		return text
	}
	cut := string(all[:most])
	if at := strings.LastIndex(cut, " "); at > 0 {
		cut = cut[:at]
	}
	return cut + " …"
}
