package server

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getOfferPage is GET /jobs/{job}/offer: what was agreed, on one sheet, with the
// floor as it lay then.
func (p *pages) getOfferPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.OfferPage{Frame: p.frame(r, v, "What is agreed, "+v.job.Name), Around: v.around("/offer"), Printed: v.now.Format("2 January 2006")}
	page.Live = v.live()
	if v.picture.Aim != nil {
		then, err := p.pictureAsOf(r.Context(), v.key, v.picture.Aim.Seq, v.firm.Speech())
		if err != nil {
			return err
		}
		o := v.options(turnOf(w, r, v))
		o.Link = nil
		page.Floor = svg(drawing.Floor(then, o))
		if page.Agreed, err = p.agreedAim(r.Context(), v, cmp.Or(then.Aim, v.picture.Aim)); err != nil {
			return err
		}
	}
	for _, it := range v.picture.Lists.Findings {
		if it.Open {
			page.Causes = append(page.Causes, it.Text)
		}
	}
	return show(w, http.StatusOK, page)
}

// agreedAim is an aim of a job in words, nil for none.
func (p *pages) agreedAim(ctx context.Context, v view, aim *jobs.Aim) (*web.AgreedAim, error) {
	if aim == nil {
		return nil, nil
	}
	stored, err := p.config.Log.Read(ctx, v.key.firm, v.key.job, aim.Seq-1, 1)
	if err != nil {
		return nil, fmt.Errorf("read the aim: %w", err)
	}
	a := aim.Agreed
	out := &web.AgreedAim{Aim: aim, Asks: toleranceAsks(a.Tolerance), Limits: v.liftingFacts(a), Fixed: a.Fixed, Book: v.bookLine(aim.Seq),
		Redo: v.base() + "/record/aim?back=" + pathEscape(v.base()+"/choices"), Offer: v.base() + "/offer", Supports: len(v.picture.Supports)}
	for _, e := range stored {
		out.When = v.said(jobs.Entry{At: e.At, By: e.By})
	}
	for _, id := range a.LeftOut {
		why := a.WhyLeftOut(id)
		if why == "" {
			out.Lacking = append(out.Lacking, id)
		}
		out.LeftOut = append(out.LeftOut, web.Fact{Name: id, Value: why})
	}
	return out, nil
}

// liftingFacts are the limits that were agreed, those that somebody set.
func (v view) liftingFacts(a events.Aim) (facts []web.Fact) {
	w := v.firm.Words.Words()
	mm := func(name string, figure float64) {
		if figure > 0 {
			facts = append(facts, web.Fact{Name: name, Value: v.firm.Units.ShowFine(figure) + v.firm.Units.Word()})
		}
	}
	plain := func(name, text string, is bool) {
		if is {
			facts = append(facts, web.Fact{Name: name, Value: text})
		}
	}
	mm("A "+w.Support+" may stay off its height by", a.Tolerance.WithinMM)
	mm("Kept off the limits", a.MarginMM)
	mm("Most in one move", a.StepMM)
	mm("Most at one "+w.Support+" in a day", a.DailyMM)
	mm("Most between neighbours", a.NeighbourMM)
	plain("or their distance over", decimal(a.Ratio), a.Ratio > 0)
	plain("Most out at once", fmt.Sprint(a.MaxOut), a.MaxOut > 0)
	plain("Most on "+w.Blocking+" at once", fmt.Sprint(a.MaxBlocked), a.MaxBlocked > 0)
	plain("Rest before it is signed", decimal(a.RestHours)+" hours", a.RestHours > 0)
	mm("Any may come down by", a.LowerMM)
	plain("May come down", v.capsWords(a.Lower), len(a.Lower) > 0)
	plain("Come up at most", v.capsWords(a.Caps), len(a.Caps) > 0)
	plain("Keep their height", strings.Join(a.Fixed, ", "), len(a.Fixed) > 0)
	return facts
}

// capsWords says how far single supports may move.
func (v view) capsWords(caps []events.Cap) string {
	parts := make([]string, len(caps))
	for i, c := range caps {
		parts[i] = c.Support + " " + v.firm.Units.ShowFine(c.MM) + v.firm.Units.Word()
	}
	return strings.Join(parts, ", ")
}
