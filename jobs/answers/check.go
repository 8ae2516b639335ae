package answers

import (
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// proof is what the seal on a record can show.
var proof = Proof{
	Shows:    "The seal on this record shows that nothing in it was changed, added or left out after it was sealed. Anybody can check that, years later and without us.",
	ShowsNot: "It does not show that a reading was right when it was taken. For that there is what you saw with your own eyes: the places that you picked and saw measured.",
}

// shown are the places that the owner picked, of all hand-overs, the last first.
func (t *teller) shown() (out []Witnessed) {
	read := map[events.ID]jobs.Entry{}
	for _, e := range t.counts {
		switch b := e.Body.(type) {
		case *events.Reading:
			read[e.ID] = e
		case *events.Handover:
			var of []Witnessed
			for _, place := range b.OwnersPlaces {
				of = append(of, t.witnessed(place, e, read))
			}
			out = append(of, out...)
		}
	}
	return out
}

func (t *teller) witnessed(place events.Witnessed, handed jobs.Entry, read map[events.ID]jobs.Entry) Witnessed {
	w := Witnessed{Place: t.place(place.Point), Read: "its reading is not in the record, or does not count", When: handed.At.In(t.about.Zone), Lines: []int64{handed.Seq}}
	if e, known := read[place.Reading]; known && e.MM != nil {
		w.Read, w.When, w.Lines = t.length(*e.MM), e.At.In(t.about.Zone), append(w.Lines, e.Seq)
		if s, known := t.picture.Support(place.Point); known && s.Target != nil {
			w.Read += ", agreed " + t.length(*s.Target)
		}
	}
	return w
}

// check says what the owner saw, and what of the record does not count.
func (t *teller) check(a *answer, shown []Witnessed) {
	if len(shown) == 0 {
		a.missing("no place that you picked was measured in front of you. You can ask for that: pick three, and watch.")
	} else {
		a.say(fmt.Sprintf("At the hand-over the owner picked %s and saw %s measured.", count(len(shown), "place"), it(len(shown))))
	}
	for _, w := range shown {
		a.fact(begins(w.Place), w.Read+", "+t.on(w.When), w.Lines...)
	}
	if len(shown) > 0 {
		a.fact("Places measured in front of you", fmt.Sprint(len(shown)))
	}
	t.notCounting(a)
}

// notCounting says how many records were struck out, set aside or erased.
func (t *teller) notCounting(a *answer) {
	var struck, aside, erased []int64
	for _, e := range t.all {
		switch {
		case e.Apart == "":
		case e.Body == nil:
			erased = append(erased, e.Seq)
		case strings.HasPrefix(e.Apart, "void: "):
			struck = append(struck, e.Seq)
		default:
			aside = append(aside, e.Seq)
		}
	}
	for _, c := range []struct {
		seqs      []int64
		one, many string
	}{
		{struck, "1 record was struck out later. It is still there, with the reason, and does not count.", "%d records were struck out later. They are still there, with the reason, and do not count."},
		{aside, "1 record is kept and does not count, because it does not fit the rest.", "%d records are kept and do not count, because they do not fit the rest."},
		{erased, "1 record was erased at somebody’s request. The seal still shows that it was there.", "%d records were erased at somebody’s request. The seal still shows that they were there."},
	} {
		switch n := len(c.seqs); n {
		case 0:
		case 1:
			a.say(c.one)
			a.fact("Does not count", "1", c.seqs...)
		default:
			a.say(fmt.Sprintf(c.many, n))
			a.fact("Do not count", fmt.Sprint(n), c.seqs...)
		}
	}
}
