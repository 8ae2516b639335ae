package server

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getChoicesPage is GET /jobs/{job}/choices?margin_mm=&choice=: what level
// enough would cost, and one choice as a picture.
func (p *pages) getChoicesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.ChoicesPage{Frame: p.frame(r, v, "What level enough costs, "+v.job.Name), Margin: r.URL.Query().Get("margin_mm")}
	margin, err := marginOf(r)
	var bad *levelling.InputError
	if errors.As(err, &bad) {
		page.Wrong = bad.Cure
	}
	own, err := p.firmProfiles(r.Context(), firm)
	if err != nil {
		return err
	}
	var choices []jobs.Choice
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) { choices = state.Choices(margin, own...) })
	if err != nil {
		return err
	}
	for i, c := range choices {
		line := web.ChoiceLine{Choice: c, No: i + 1, MarginMM: margin, Key: choiceKey(c), Href: v.choiceHref(c, margin), Chosen: choiceKey(c) == r.URL.Query().Get("choice")}
		page.Choices = append(page.Choices, line)
		if line.Chosen {
			page.Chosen, page.Agree = &line, v.agreeHref(c, margin)
		}
		if line.Chosen && len(c.Lifts) > 0 {
			page.Floor = svg(drawing.Floor(brought(v.picture, c), v.options(turnOf(w, r, v))))
		}
	}
	page.Profiles, page.Around = web.ProfileLines(page.Choices), v.around("/choices")
	if page.Agreed, err = p.agreedAim(r.Context(), v, v.picture.Aim); err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// choiceKey names a choice in an address: by what it is, since the list
// changes with every reading.
func choiceKey(c jobs.Choice) string {
	if c.Aim == events.AimLeast {
		return "least-" + c.Profile
	}
	return string(c.Aim)
}

func (v view) choiceHref(c jobs.Choice, margin float64) string {
	q := url.Values{"choice": {choiceKey(c)}, "margin_mm": {decimal(margin)}}
	return v.base() + "/choices?" + q.Encode() + "#chosen"
}

// agreeHref leads to the form of the aim with a choice filled in.
func (v view) agreeHref(c jobs.Choice, margin float64) string {
	q := url.Values{"aim": {string(c.Aim)}, "back": {v.base() + "/choices"}}
	if c.Slope != nil {
		q.Set("plane.x_mm_per_m", decimal(roundTo(c.Slope.X, 2)))
		q.Set("plane.y_mm_per_m", decimal(roundTo(c.Slope.Y, 2)))
	}
	if c.Height != nil {
		q.Set("height_mm", decimal(*c.Height))
	}
	if c.Aim == events.AimLeast {
		q.Set("margin_mm", decimal(margin))
		if !v.agreedInFull(c.Profile) { // else its limits are in the form already
			q.Set("tolerance.profile", c.Profile)
		}
	}
	return v.base() + "/record/aim?" + q.Encode()
}

// agreedInFull tells whether a profile is the one that the aim of now states by
// its limits.
func (v view) agreedInFull(profile string) bool {
	if v.picture.Aim == nil {
		return false
	}
	t := v.picture.Aim.Agreed.Tolerance
	return len(t.Limits) > 0 && (profile == "" || profile == t.Profile)
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// brought is a job's picture with the targets of a choice in place of those
// that were agreed.
func brought(p jobs.Picture, c jobs.Choice) jobs.Picture {
	lifts := map[string]float64{}
	for _, t := range c.Lifts {
		lifts[t.ID] = t.LiftMM
	}
	supports := make([]jobs.Support, len(p.Supports))
	for i, s := range p.Supports {
		s.Target, s.Remaining, s.ToGo = nil, nil, ""
		if lift, moves := lifts[s.ID]; moves && s.Present != nil {
			target := s.Present.MM + lift
			s.Target, s.Remaining = &target, &jobs.Figure{MM: lift, SD: s.Present.SD}
		}
		supports[i] = s
	}
	p.Supports = supports
	return p
}
