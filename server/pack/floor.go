package pack

import (
	"fmt"
	"strings"

	"relevel/jobs/answers"
)

// prints are the drawings of the floor: those of one heading, before and after, on
// one page and one scale.
func (k Pack) prints(f *flow) {
	for from := 0; from < len(k.Prints); {
		to := from + 1
		for to < len(k.Prints) && k.Prints[to].Heading == "" {
			to++
		}
		f.group(k.Prints[from:to])
		from = to
	}
}

// headRoom is what a heading with its note takes, at most.
const headRoom = 110.0

// group is one heading with its drawings, or with why there are none.
func (f *flow) group(prints []Print) {
	first := prints[0]
	if first.SVG == "" {
		f.heading(first.Heading, 3*body.leading)
		f.say(body, first.Note)
		return
	}
	room := f.tall() - headRoom
	f.heading(first.Heading, min(f.high(prints, room)+headRoom-40, f.tall()-60))
	if first.Note != "" {
		f.say(note, first.Note)
	}
	f.together(prints, room)
}

// high is how high drawings come out together.
func (f *flow) high(prints []Print, room float64) float64 {
	all := f.sheets(prints)
	if len(all) == 0 {
		return 0
	}
	beside, below := f.scales(all, room)
	most, sum := 0.0, 0.0
	for _, s := range all {
		most, sum = max(most, s.High*beside), sum+s.High*below
	}
	if below > beside {
		return sum
	}
	return most
}

// pairs are photos of one thing before and after.
func (k Pack) pairs(f *flow) {
	if len(k.Account.Pairs) == 0 {
		return
	}
	_, high := f.photoRoom()
	f.heading("Photos, before and after", high+80)
	f.say(note, "Each pair shows one thing. The line across both helps to compare them; it is drawn, and was not measured. No photo here holds where it was taken.")
	for _, p := range k.Account.Pairs {
		f.pair(p)
	}
}

// then is what was read after the work.
func (k Pack) then(f *flow) {
	if len(k.Account.Then) == 0 {
		return
	}
	f.heading("Then and now", 4*body.leading)
	f.say(note, "Places that were read again after the work, and what their readings say.")
	var rows [][]cell
	for _, t := range k.Account.Then {
		rows = append(rows, []cell{{text: upper(t.Place)}, {text: t.Say}, {text: k.readings(t)}})
	}
	f.table([]column{{head: "Place", part: 2}, {head: "Is it moving?", part: 3}, {head: "Readings", part: 2.4}}, rows, nil)
	times := f.sheets(k.Times)
	beside := (f.wide() - sheetGap) / 2
	for i := range times {
		times[i].scale = min(mostScale, beside/times[i].Wide)
	}
	f.grid(times, 2)
}

// glossary explains the words of the trade.
func (k Pack) glossary(f *flow) {
	if len(k.Account.Words) == 0 {
		return
	}
	f.heading("Words", 3*body.leading)
	var rows [][]cell
	for _, w := range k.Account.Words {
		rows = append(rows, []cell{{text: w.Word}, {text: w.Means}})
	}
	f.table([]column{{head: "Word", part: 1}, {head: "What it means", part: 4}}, rows, nil)
}

// cautions stand together, each with its source.
func (k Pack) cautions(f *flow) {
	f.heading("Cautions", 3*body.leading)
	for _, words := range k.Account.Cautions {
		f.say(body, words)
	}
	if f.missing {
		f.say(note, "A square □ stands for a letter that the typeface of this paper does not have. Whoever copies or searches the text finds the letter.")
	}
}

func (k Pack) readings(t answers.Track) string {
	var words []string
	u := k.Account.Units
	for _, r := range t.Reads {
		words = append(words, strings.TrimSpace(fmt.Sprintf("%s: %s %s", r.On.Format("2 Jan 2006"), u.Show(r.MM), u.ShowSD(r.SD))))
	}
	return strings.Join(words, "; ")
}
