package answers

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"relevel/jobs"
)

// length writes a length with its unit.
func (t *teller) length(mm float64) string { return t.about.Firm.Units.ShowWith(mm) }

// figure writes a height with how far off it may be.
func (t *teller) figure(f jobs.Figure) string {
	return strings.TrimSpace(t.length(f.MM) + " " + t.about.Firm.Units.ShowSD(f.SD))
}

// limit writes a length as fine as it is held against a limit.
func (t *teller) limit(mm float64) string {
	return t.about.Firm.Units.ShowLimit(mm) + t.about.Firm.Units.Word()
}

// on writes a day.
func (t *teller) on(at time.Time) string { return at.In(t.about.Zone).Format("2 January 2006") }

// supports counts supports in the firm's word: "1 stump", "12 stumps".
func (t *teller) supports(n int) string { return count(n, t.words.Support) }

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// are is the verb for so many.
func are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// place names a place of the plan as somebody finds it: "stump B1-3, under the
// kitchen", "the place “K1” in the hall".
func (t *teller) place(id string) string {
	if s, known := t.picture.Support(id); known {
		if room := t.picture.RoomAt(s.X, s.Y); room != "" {
			return t.words.Support + " " + id + ", under the " + bare(room)
		}
		return t.words.Support + " " + id
	}
	for _, s := range t.picture.Spots {
		if room := t.picture.RoomAt(s.X, s.Y); s.ID == id && room != "" {
			return "the place “" + id + "” in the " + bare(room)
		}
	}
	return "the place “" + id + "”"
}

// bare is a room's name without the article that somebody may have given it.
func bare(room string) string {
	if rest, had := strings.CutPrefix(strings.ToLower(room), "the "); had {
		return room[len(room)-len(rest):]
	}
	return room
}

// named lists the supports as one says them: "stumps B1-2 and B1-4".
func (t *teller) named(ids []string) string {
	if len(ids) == 1 {
		return t.words.Support + " " + ids[0]
	}
	return t.words.Support + "s " + and(ids)
}

// mostNamed is how many names a sentence bears; the rest stands among the facts.
const mostNamed = 6

// some is named, shortened where there are many.
func (t *teller) some(ids []string) string {
	if len(ids) > mostNamed {
		return fmt.Sprintf("%s, among them %s", t.supports(len(ids)), and(ids[:mostNamed]))
	}
	return t.named(ids)
}

// and joins words as one says them.
func and(words []string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
}

// begins writes what may begin a sentence with a capital.
func begins(words string) string {
	if words == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(words)
	return string(unicode.ToUpper(r)) + words[n:]
}

// ended writes words that somebody typed as a sentence of their own.
func ended(words string) string { return stopped(begins(strings.TrimSpace(words))) }

// stopped ends words with a full stop, where they have none.
func stopped(words string) string {
	words = strings.TrimSpace(words)
	if words == "" || strings.ContainsRune(".!?…", lastRune(words)) {
		return words
	}
	return words + "."
}

func lastRune(words string) rune {
	r, _ := utf8.DecodeLastRuneInString(words)
	return r
}

// join joins what is not empty.
func join(sep string, parts ...string) string {
	var said []string
	for _, p := range parts {
		if p = strings.TrimSpace(p); p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, sep)
}
