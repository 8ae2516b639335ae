package answers

import (
	"fmt"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// pairs are the things of which there are photos from before and from after the work,
// in the order of an album. Of those before, the last one taken before anything was
// photographed as done is the best: it is the nearest to what was there. Of those
// after, the last.
func (t *teller) pairs() (out []Pair) {
	for _, s := range t.picture.Album(jobs.Shots(t.counts)) {
		before, after := t.prints(s.Before), t.prints(s.After)
		if len(before) == 0 || len(after) == 0 || s.Name == "" {
			continue
		}
		first := before[0]
		for _, one := range before {
			if one.TakenAt.Before(after[0].TakenAt) {
				first = one
			}
		}
		p := Pair{Subject: s.Name, Words: t.subject(s)}
		p.Before, p.After = t.print(first, p.Words+" before the work"), t.print(after[len(after)-1], p.Words+" after the work")
		out = append(out, p)
	}
	return out
}

// prints are the photos among some shots that can be shown.
func (t *teller) prints(shots []jobs.Shot) []jobs.Shot {
	return slices.DeleteFunc(slices.Clone(shots), func(s jobs.Shot) bool {
		return s.Type != events.Photo || t.about.Has != nil && !t.about.Has(s.SHA256)
	})
}

func (t *teller) print(s jobs.Shot, words string) Print {
	taken := s.TakenAt.In(t.about.Zone)
	return Print{SHA256: s.SHA256, Media: s.Media, Taken: taken, Alt: fmt.Sprintf("%s, %s", begins(words), t.on(taken)), Seq: s.Entry.Seq}
}

// subject names what a photo shows.
func (t *teller) subject(s jobs.Subject) string {
	switch s.Sort {
	case "support", "spot":
		return t.place(s.Name)
	case "room":
		return "the " + bare(s.Name)
	case "floor cut":
		return "where the floor was opened, " + s.Name
	}
	return s.Name
}

// pictures says of which things there are photos from before and after.
func (t *teller) pictures(a *answer, pairs []Pair) {
	if len(pairs) == 0 {
		a.missing("there are no photos of the same thing from before and from after the work.")
		return
	}
	a.say(fmt.Sprintf("There are photos of %s from before and from after the work.", things(len(pairs))))
	a.fact("Pairs of photos", fmt.Sprint(len(pairs)))
	for _, p := range pairs {
		a.fact(begins(p.Words), t.on(p.Before.Taken)+" and "+t.on(p.After.Taken), p.Before.Seq, p.After.Seq)
	}
}

func things(n int) string {
	if n == 1 {
		return "1 thing"
	}
	return fmt.Sprintf("%d things", n)
}
