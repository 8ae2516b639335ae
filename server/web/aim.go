package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// asAgreed begins the name under which the form of an aim offers what is agreed
// now; the number of that aim follows it. No profile is called that.
const asAgreed = "as agreed "

// profiles are what is agreed now where nothing else on the form says it, the
// firm's own, then the published ones.
func (s Sources) profiles() []Choice {
	var cs []Choice
	if kept, is := s.kept(); is {
		cs = append(cs, kept)
	}
	for _, p := range s.Profiles {
		cs = append(cs, Choice{p.Name, p.Title + ", the firm’s own"})
	}
	for _, p := range levelling.Profiles() {
		cs = append(cs, Choice{p.Name, p.Title})
	}
	return cs
}

// kept is the choice by which limits that are agreed now stay as they are: those
// that the form's rows cannot show, and those of a profile of the firm's that
// asks for something else by now.
func (s Sources) kept() (c Choice, is bool) {
	if s.Picture.Aim == nil {
		return c, false
	}
	t := s.Picture.Aim.Agreed.Tolerance
	if len(t.Limits) == 0 || RowsHold(t) || s.isOwn(t) {
		return c, false
	}
	c = Choice{fmt.Sprint(asAgreed, s.Picture.Aim.Seq), "The limits agreed now"}
	if title := cmp.Or(t.Title, t.Profile); title != "" {
		c.Label = title + ", as agreed"
	}
	return c, true
}

// isOwn tells whether a tolerance is what the firm still calls by its name.
func (s Sources) isOwn(t events.Tolerance) bool {
	for _, p := range s.Profiles {
		if p.Name == t.Profile {
			return p.States(t)
		}
	}
	return false
}

// RowsHold tells whether the form's rows can show the limits of a tolerance:
// they have no tables, and no name of a profile.
func RowsHold(t events.Tolerance) bool {
	form, _ := FormOf(events.KindAim)
	return t.Profile == "" && len(t.Limits) <= form.Rows.Count && !slices.ContainsFunc(t.Limits, func(l events.Limit) bool { return len(l.Table) > 0 })
}

// ChosenProfile is what the form's list of profiles stands on where nothing is
// to change, "" where its rows say what is agreed.
func (s Sources) ChosenProfile() string {
	if kept, is := s.kept(); is {
		return kept.Value
	}
	if s.Picture.Aim == nil {
		return ""
	}
	return s.Picture.Aim.Agreed.Tolerance.Profile
}

// writeProfile writes into an aim what the chosen profile of the firm's own asks,
// or what was agreed before, so that the aim stands by itself.
func (s Sources) writeProfile(a *events.Aim) Wrong {
	const input = "tolerance.profile"
	chosen := a.Tolerance.Profile
	if chosen == "" {
		return nil
	}
	full, known := s.tolerance(chosen)
	switch {
	case !known && strings.HasPrefix(chosen, asAgreed):
		return Wrong{input: "another aim was agreed meanwhile: look at what it asks, and choose again"}
	case !known:
		return Wrong{input: "one of the list"}
	case len(a.Tolerance.Limits) > 0:
		return Wrong{input: "one of the two: a profile, or limits of your own below"}
	case len(full.Limits) > 0:
		full.WithinMM = a.Tolerance.WithinMM
		a.Tolerance = full
	}
	return tooWide(a)
}

// tooWide says so where the margin leaves nothing of a limit.
func tooWide(a *events.Aim) Wrong {
	p, err := levelling.FindProfile(a.Tolerance.Profile)
	if len(a.Tolerance.Limits) > 0 {
		limits := make([]levelling.Limit, len(a.Tolerance.Limits))
		for i, l := range a.Tolerance.Limits {
			limits[i] = l.Levelling()
		}
		p, err = levelling.OwnLimits(limits), nil
	}
	if narrow := p.Narrowest(); err == nil && a.MarginMM > 0 && a.MarginMM >= narrow {
		return Wrong{"margin_mm": fmt.Sprintf("less than %g mm, the narrowest limit", narrow)}
	}
	return nil
}

// tolerance is what a choice of the list states.
func (s Sources) tolerance(chosen string) (t events.Tolerance, known bool) {
	if kept, is := s.kept(); is && kept.Value == chosen {
		return s.Picture.Aim.Agreed.Tolerance, true
	}
	for _, p := range s.Profiles {
		if p.Name == chosen {
			return p.Tolerance(), true
		}
	}
	_, err := levelling.FindProfile(chosen)
	return events.Tolerance{Profile: chosen}, err == nil
}
