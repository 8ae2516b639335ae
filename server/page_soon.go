package server

import (
	"cmp"
	"slices"

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
	for _, s := range all[:min(fewSoon, len(all))] {
		out = append(out, web.Soon{
			ID: s.ID, ToGo: s.ToGo, Words: s.Next, Urgent: urgency(s) > 1,
			Href: v.base() + "/supports/" + pathEscape(s.ID),
		})
	}
	return out
}

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
