package server

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// advice is one sentence about a plan: what no log would take, or what is missing
// for the work that rests on it. Nothing of the second sort is ever refused.
type advice struct {
	Field string `json:"field,omitempty"` // the part of the plan it is about, as Plan.Check names it
	Words string `json:"words"`
	Wrong bool   `json:"wrong,omitempty"` // it cannot be recorded so
}

// postPlanCheck is POST /jobs/{job}/plan/check: what is wrong with a plan that is
// being drawn, and what is missing.
func (p *pages) postPlanCheck(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	if _, err := p.config.Store.FindJob(r.Context(), firm, key.job); err != nil {
		return err
	}
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	var plan events.Plan
	if err := decodePlan(w, r, &plan); err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"advice": orEmpty(adviceOn(plan, f.Words.Words()))})
}

// adviceOn is all there is to say about a plan, what is wrong first.
func adviceOn(p events.Plan, words jobs.Words) []advice {
	a := adviser{plan: p, words: words}
	if bad, isBad := errors.AsType[*levelling.InputError](p.Check()); isBad {
		a.all = append(a.all, advice{Field: bad.Field, Words: bad.Cure, Wrong: true})
	}
	a.supports()
	a.bearers()
	a.datums()
	a.ground()
	return a.all
}

type adviser struct {
	plan  events.Plan
	words jobs.Words
	all   []advice
}

func (a *adviser) say(field, format string, args ...any) {
	a.all = append(a.all, advice{Field: field, Words: fmt.Sprintf(format, args...)})
}

// What a careful drawer would look at again, in metres.
const (
	besideM = 0.15 // nearer than this, two supports are one, or the ends at a butted join
	offM    = 0.10 // further than this beside the line of its bearer, a support carries nothing of it
)

func (a *adviser) supports() {
	if len(a.plan.Supports) == 0 {
		a.say("supports", "No %s is drawn: put down a %s with its %ss.", a.words.Support, a.words.Bearer, a.words.Support)
		return
	}
	on, butted := map[string]bool{}, map[string]string{}
	for _, b := range a.plan.Bearers {
		for _, id := range b.Supports {
			on[id] = true
		}
		for _, j := range b.Joins {
			if j.Sort == events.Butted {
				butted[j.At], butted[j.Other] = j.Other, j.At
			}
		}
	}
	for i, s := range a.plan.Supports {
		if !on[s.ID] {
			a.say(fmt.Sprintf("supports[%d]", i), "%s is on no %s: nothing is known to stand beside it.", s.ID, a.words.Bearer)
		}
		for _, o := range a.plan.Supports[:i] {
			if math.Hypot(s.X-o.X, s.Y-o.Y) < besideM && butted[s.ID] != o.ID {
				a.say(fmt.Sprintf("supports[%d]", i), "%s and %s stand at one place: take one off, or make them the two ends of a butted join.", o.ID, s.ID)
			}
		}
	}
}

func (a *adviser) bearers() {
	at := map[string]events.Position{}
	for _, s := range a.plan.Supports {
		at[s.ID] = events.Position{s.X, s.Y}
	}
	var bare []string
	for i, b := range a.plan.Bearers {
		field := fmt.Sprintf("bearers[%d]", i)
		if len(b.Supports) < 2 {
			a.say(field, "%s has fewer than two %ss.", b.ID, a.words.Support)
			continue
		}
		first, last := at[b.Supports[0]], at[b.Supports[len(b.Supports)-1]]
		for _, id := range b.Supports {
			if off := offLine(at[id], first, last); off > offM+1e-9 {
				a.say(field, "%s stands %.2f m beside the line of %s.", id, off, b.ID)
			}
		}
		if b.WidthMM == 0 || b.DepthMM == 0 {
			bare = append(bare, b.ID)
		}
	}
	if len(bare) > 0 {
		a.say("bearers", "%s: no section. Without it nothing says what a raise does to the %ss beside it.", strings.Join(bare, ", "), a.words.Support)
	}
}

// offLine is how far a place lies from the line through two others.
func offLine(p, a, b events.Position) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	d := math.Hypot(dx, dy)
	if d == 0 {
		return 0
	}
	return math.Abs((p[0]-a[0])*dy-(p[1]-a[1])*dx) / d
}

func (a *adviser) datums() {
	d := a.plan.Datums
	switch {
	case len(d) == 0:
		a.say("datums", "No %s: put down two, one of them off the building.", a.words.Datum)
		return
	case len(d) == 1:
		a.say("datums", "One %s: with a second one a laser that was knocked shows.", a.words.Datum)
	}
	if !slices.ContainsFunc(d, func(d events.Datum) bool { return d.OffBuilding }) {
		a.say("datums", "No %s is off the building: all of them could go down with it.", a.words.Datum)
	}
	if !slices.ContainsFunc(d, func(d events.Datum) bool { return d.Height != nil }) {
		a.say("datums[0].height", "No %s has a height: give one, 0 will do.", a.words.Datum)
	}
	for i, one := range d {
		if one.StandsOn == "" {
			a.say(fmt.Sprintf("datums[%d].stands_on", i), "%s does not say what it stands on.", one.ID)
		}
	}
}

// ground is what lies and stands on the floor.
func (a *adviser) ground() {
	p := a.plan
	if len(p.Supports) > 0 && p.Joists == nil {
		a.say("joists", "The joists are not said: which way they run, and how far apart.")
	}
	if len(p.Rooms) == 0 {
		a.say("rooms", "No rooms: the floor is judged as one.")
	}
	for i, r := range p.Rooms {
		if len(r.Outline) < 3 {
			a.say(fmt.Sprintf("rooms[%d]", i), "%s has no outline: a room has three corners or more.", r.Name)
		}
	}
	if len(p.Walls) > 0 && !slices.ContainsFunc(p.Walls, func(w events.Wall) bool { return w.Roof }) {
		a.say("walls", "No wall is said to carry roof.")
	}
	if p.Street == "" {
		a.say("street", "Which side the street is on is not said.")
	}
}
