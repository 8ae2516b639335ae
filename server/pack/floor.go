package pack

import (
	"fmt"
	"strings"

	"relevel/jobs/answers"
)

// prints are the drawings of the floor, before and after one below the other on one
// scale.
func (k Pack) prints(f *flow) {
	for _, p := range k.Prints {
		switch {
		case p.SVG == "":
			f.heading(p.Heading, 3*body.leading)
			f.say(body, p.Note)
			continue
		case p.Heading != "":
			f.heading(p.Heading, printHigh+4*body.leading)
			if p.Note != "" {
				f.say(note, p.Note)
			}
		}
		f.drawing(p)
	}
}

// pairs are photos of one thing before and after.
func (k Pack) pairs(f *flow) {
	if len(k.Account.Pairs) == 0 {
		return
	}
	wide := (f.wide() - photoGap) / 2
	f.heading("Photos, before and after", wide*photoPart+80)
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
	for _, p := range k.Times {
		f.drawing(p)
	}
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
