package answers

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// wrong says how the floor lay before the work, and what was found below.
func (t *teller) wrong(a *answer) {
	t.layBefore(a)
	t.sunk(a)
	t.foundBelow(a)
	t.below(a)
	if len(a.says) == 0 {
		a.missing("nobody wrote down how the floor lay before the work, or what was found under it.")
	}
}

// at is a place with a height.
type at struct {
	id string
	jobs.Figure
}

// before are the heights before the first lift, those of the survey where nothing was
// lifted.
func (t *teller) before() (all []at) {
	for _, s := range t.picture.Supports {
		if f := cmp.Or(s.AsFound, s.Survey); f != nil && !s.NoneHere {
			all = append(all, at{s.ID, *f})
		}
	}
	for _, s := range t.picture.Spots {
		if f := cmp.Or(s.AsFound, s.Survey); f != nil && t.onFace(s) {
			all = append(all, at{s.ID, *f})
		}
	}
	return all
}

// after are the heights that were read and that nothing may have changed since.
func (t *teller) after() (all []at) {
	for _, s := range t.picture.Supports {
		if s.Present != nil && s.Basis == jobs.WasRead && !s.Stale && !s.NoneHere {
			all = append(all, at{s.ID, *s.Present})
		}
	}
	for _, s := range t.picture.Spots {
		if s.Present != nil && s.Basis == jobs.WasRead && t.onFace(s) {
			all = append(all, at{s.ID, *s.Present})
		}
	}
	return all
}

// onFace tells whether a spot was read on the face that heights are compared on.
func (t *teller) onFace(s jobs.Spot) bool {
	return slices.ContainsFunc(s.Faces, func(f jobs.FaceOf) bool { return f.Face == t.face() })
}

// face is the face that heights are compared on: the agreed one, or else the floor
// where anybody read it.
func (t *teller) face() events.Face {
	if aim := t.picture.Aim; aim != nil && aim.Agreed.Face != "" {
		return aim.Agreed.Face
	}
	face := events.FloorFace
	for _, s := range t.picture.Supports {
		for _, f := range s.Faces {
			if f.Face == events.FloorFace {
				return f.Face
			}
			face = f.Face
		}
	}
	return face
}

// measuredOn says where heights were measured, where that is not the floor.
func (t *teller) measuredOn() string {
	switch t.face() {
	case events.BearerFace:
		return ", measured from below on the bearers"
	case events.SupportFace:
		return ", measured on top of the " + t.words.Support + "s"
	}
	return ""
}

// heightsFrom says what heights are counted from.
func (t *teller) heightsFrom(a *answer) {
	if len(t.picture.Plan.Datums) == 0 {
		return
	}
	d := t.picture.Plan.Datums[0]
	value := join(", ", d.ID, d.StandsOn)
	if d.Height != nil {
		value += ", which counts as " + t.length(d.Height.MM())
	}
	a.fact("Heights are counted from the fixed mark", value)
}

// spread is the lowest and the highest of some heights.
func spread(all []at) (low, high at) {
	by := func(a, b at) int { return cmp.Compare(a.MM, b.MM) }
	return slices.MinFunc(all, by), slices.MaxFunc(all, by)
}

func (t *teller) layBefore(a *answer) {
	all := t.before()
	if len(all) < 2 {
		return
	}
	low, high := spread(all)
	difference := t.length(high.MM - low.MM)
	a.say(fmt.Sprintf("Before the work the floor was up to %s out of level%s. %d places were measured: the lowest was %s, the highest %s.",
		difference, t.words.Say(t.measuredOn()), len(all), t.place(low.id), t.place(high.id)))
	a.fact("Out of level before the work", difference, append(t.readBefore(low.id), t.readBefore(high.id)...)...)
	a.fact("Lowest place", low.id+", "+t.figure(low.Figure), t.readBefore(low.id)...)
	a.fact("Highest place", high.id+", "+t.figure(high.Figure), t.readBefore(high.id)...)
	a.fact("Places measured", fmt.Sprint(len(all)))
	t.heightsFrom(a)
}

// readBefore is the line of the last reading of a place before anything was lifted on
// its bearer.
func (t *teller) readBefore(id string) (seq []int64) {
	beside := map[string]bool{id: true}
	for _, b := range t.picture.Plan.Bearers {
		if slices.Contains(b.Supports, id) {
			for _, other := range b.Supports {
				beside[other] = true
			}
		}
	}
	for _, e := range t.counts {
		switch b := e.Body.(type) {
		case *events.Jacking:
			if slices.ContainsFunc(b.Moves, func(m events.Move) bool { return beside[m.Support] }) {
				return seq
			}
		case *events.Reading:
			if b.Point == id && b.NotRead == "" {
				seq = []int64{e.Seq}
			}
		}
	}
	return seq
}

// readLast is the line of the last reading of a place.
func (t *teller) readLast(id string) (seq []int64) {
	for _, e := range t.counts {
		if b, is := e.Body.(*events.Reading); is && b.Point == id && b.NotRead == "" {
			seq = []int64{e.Seq}
		}
	}
	return seq
}

// sunk says how far the floor had to come up at most, once there is an aim.
func (t *teller) sunk(a *answer) {
	most, at := 0.0, ""
	for _, s := range t.picture.Supports {
		if f := cmp.Or(s.AsFound, s.Survey); f != nil && s.Target != nil && *s.Target-f.MM > most {
			most, at = *s.Target-f.MM, s.ID
		}
	}
	if at == "" || t.length(most) == t.length(0) {
		return
	}
	a.say(fmt.Sprintf("The lowest place stood %s below the height it was later brought to.", t.length(most)))
	a.fact("Most below what was agreed", at+", "+t.length(most), t.readBefore(at)...)
}

// foundBelow tells what was found.
func (t *teller) foundBelow(a *answer) {
	for _, f := range t.picture.Found {
		where := ""
		if len(f.Supports) > 0 {
			where = " at " + t.some(f.Supports)
		}
		words := "Found" + where + ": " + stopped(join(", ", f.What, f.HowBad, f.Where))
		if f.Cause != "" {
			words += " Likely cause: " + stopped(f.Cause)
		}
		a.say(words)
		a.fact("Found on "+t.on(f.At), join(", ", f.What, f.HowBad, f.Where, f.Cause, strings.Join(f.Supports, ", ")), f.Seq)
	}
}

// below tells what the space below was like.
func (t *teller) below(a *answer) {
	for _, it := range t.picture.Lists.UnderFloor {
		a.fact(begins(t.words.Say("under the floor"))+", "+t.on(it.At), t.about.Firm.Units.Respell(it.Text), it.Seq)
	}
}
