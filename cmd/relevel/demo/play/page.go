package play

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"relevel/cmd/relevel/demo"
	"relevel/events"
	"relevel/jobs"
)

// page is the paper that the job is shown on, at most wide columns across.
// Writing to it never fails: who has gone away misses nothing but the show.
type page struct{ w io.Writer }

const wide = 100

func (p page) line(format string, args ...any) { fmt.Fprintf(p.w, format+"\n", args...) }

// title names the house.
func (p page) title(h demo.House, url string) {
	p.line("%s", strings.Repeat("═", wide))
	p.line("%s: %d supports on %d bearers, an invented house on a simulated floor", h.Name, len(h.Plan.Supports), len(h.Plan.Bearers))
	p.line("every step goes through %s/api/v1; heights: mm from the floor at the front door", url)
}

// heading begins a part of the job and says what was done.
func (p page) heading(title string, did ...string) {
	p.line("\n%s\n%s", title, strings.Repeat("─", wide))
	for _, d := range did {
		p.say(d)
	}
}

// say writes a paragraph.
func (p page) say(text string) {
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > wide {
			p.line("%s", line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	p.line("%s", line)
}

// table shows the supports, one a line, bearer by bearer.
func (p page) table(supports []jobs.Support) {
	p.line("\n%-8s %8s %7s %13s  %-12s %-21s %s", "support", "as found", "target", "height", "remaining", "state", "packer")
	bearer := ""
	for _, s := range supports {
		if s.Bearer != bearer && bearer != "" {
			p.line("")
		}
		bearer = s.Bearer
		p.line("%-8s %8s %7s %13s  %-12s %-21s %s",
			s.ID, figure(s.AsFound), whole(s.Target), height(s), toGo(s), state(s), packer(s.Packer))
	}
}

// plan shows one number at each support, where it stands: the bearer at the
// back first.
func (p page) plan(h demo.House, numbers map[string]float64, caption string) {
	at := map[string]float64{}
	for _, s := range h.Plan.Supports {
		at[s.ID] = s.X
	}
	p.line("\n%s", caption)
	for _, b := range slices.Backward(h.Plan.Bearers) {
		p.line("  %s  %s", b.ID, draw(b, at, numbers))
	}
}

// columns is how wide a metre of the house is drawn.
const columns = 9

// draw is a bearer as a line, with its supports' numbers where they stand and
// its joins: a butted one between two supports that stand close together, any
// other over one.
func draw(b events.Bearer, at, numbers map[string]float64) string {
	last := at[b.Supports[len(b.Supports)-1]]
	line := []rune(strings.Repeat("═", int(math.Round(last*columns))+6))
	put := func(column int, text string) {
		for i, r := range []rune(text) {
			line[column+i] = r
		}
	}
	for _, id := range b.Supports {
		put(int(math.Round(at[id]*columns))-1, fmt.Sprintf(" %3s ", number(numbers[id])))
	}
	for _, j := range b.Joins {
		column := int(math.Round(at[j.At] * columns))
		if j.Sort != events.Butted {
			put(column+3, "∩")
			continue
		}
		put(column-3, fmt.Sprintf(" %3s ‖%3s ", number(numbers[j.At]), number(numbers[j.Other])))
	}
	return string(line)
}

func number(mm float64) string { return strings.Replace(fmt.Sprintf("%.0f", mm+0), "-", "−", 1) }

func figure(f *jobs.Figure) string {
	if f == nil {
		return ""
	}
	return number(math.Round(f.MM))
}

func whole(mm *float64) string {
	if mm == nil {
		return ""
	}
	return number(math.Round(*mm))
}

// height is the present height with its ±, in brackets while it is expected and
// not read.
func height(s jobs.Support) string {
	if s.Present == nil {
		return ""
	}
	text := fmt.Sprintf("%s ±%.1f", number(math.Round(s.Present.MM)), s.Present.SD)
	if s.Basis == jobs.IsExpected || s.Stale {
		return "(" + text + ")"
	}
	return text + " "
}

// toGo is the remaining lift in the server's words, as far as they fit.
func toGo(s jobs.Support) string {
	words, _, _ := strings.Cut(s.ToGo, ",")
	words, _, _ = strings.Cut(words, ":")
	return words
}

func state(s jobs.Support) string {
	if s.OnJack && s.State != jobs.OnJack {
		return string(s.State) + ", jack"
	}
	return string(s.State)
}

func packer(k *jobs.Packer) string {
	if k == nil {
		return ""
	}
	return fmt.Sprintf("%s %s", number(k.MM), k.Sort)
}
