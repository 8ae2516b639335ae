package server

import (
	"cmp"
	"net/url"
	"slices"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// fewSoon is how many supports a job's page says to turn to next.
const fewSoon = 3

// soon names the supports to turn to next: what is dangerous or in doubt first,
// then what has been raised and waits for its reading, then the furthest to go.
func (v view) soon() []web.Soon {
	all := slices.DeleteFunc(slices.Clone(v.picture.Supports), func(s jobs.Support) bool {
		return s.Stopped || s.LeftOut || s.NoneHere || s.State == jobs.IsSigned
	})
	slices.SortStableFunc(all, func(a, b jobs.Support) int {
		return cmp.Or(cmp.Compare(urgency(b), urgency(a)), cmp.Compare(toGo(b), toGo(a)))
	})
	var out []web.Soon
	for _, s := range all {
		if len(out) == fewSoon {
			break
		}
		next := web.Soon{ID: s.ID, At: v.supportPage(s.ID), Words: s.Next, Href: v.nextHref(s), Urgent: urgency(s) > 1}
		if s.NextKind == events.KindAim { // said once, it is about no support
			next.ID, next.At, next.Href = "", "", v.base()+"/record/aim"
		}
		if next.ID != "" || len(out) == 0 {
			out = append(out, next)
		}
	}
	return out
}

func (v view) supportPage(id string) string { return v.base() + "/supports/" + pathEscape(id) }

// nextHref leads to the form that records what is due at a support. Without a
// set-up of the laser, that comes before any reading.
func (v view) nextHref(s jobs.Support) string {
	a := v.nextAction(s)
	if a.Href == "" {
		return ""
	}
	return a.Href + "&back=" + url.QueryEscape(v.base())
}

// nextAction is what is due at a support as a button, empty where there is
// nothing to record.
func (v view) nextAction(s jobs.Support) web.Action {
	kind := s.NextKind
	if kind == events.KindReading && !anySetup(v.picture) {
		kind = events.KindSetup
	}
	form, ok := web.FormOf(kind)
	if !ok {
		return web.Action{}
	}
	a := web.Action{Verb: v.say(form.Verb), Href: v.record(kind, s.ID)}
	if verb := stepVerbs[s.NextStep]; verb != "" {
		a.Verb, a.Href = v.say(verb), a.Href+"&step="+string(s.NextStep)
	}
	return a
}

// stepVerbs name the steps of work that are due one after another.
var stepVerbs = map[events.WorkStep]string{events.Refixed: "Fix", events.Set: "Set", events.CarriesFrom: "Say when it carries", events.SeenInspector: "Seen by the inspector", events.Poured: "Poured"}

func urgency(s jobs.Support) int {
	switch {
	case s.Out && !s.OnBlock:
		return 4
	case s.OnJack:
		return 3
	case s.Doubt != "":
		return 2
	case s.Basis == jobs.IsExpected || s.Stale:
		return 1
	}
	return 0
}

func toGo(s jobs.Support) float64 {
	if s.Remaining == nil {
		return 0
	}
	return s.Remaining.MM
}
