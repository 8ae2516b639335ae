package server

import (
	"context"
	"fmt"
	"slices"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// lastReadings lists what a form can rest on: the last reading of each place, or
// of one, that still counts.
func (p *pages) lastReadings(ctx context.Context, v view, support string) ([]web.Choice, error) {
	wanted, before := len(v.picture.Supports)+len(v.picture.Spots), v.picture.Seq+1
	if s, ok := v.picture.Support(support); ok {
		wanted, before = 1, s.LastSeq+1 // nothing later is about it
	}
	seen := map[string]web.Choice{}
	err := p.counting(ctx, v, events.KindReading, before, func(e events.Stored, body events.Body) bool {
		b, ok := body.(*events.Reading)
		if !ok || b.Staff == nil || support != "" && b.Point != support {
			return false
		}
		if _, known := seen[b.Point]; !known {
			seen[b.Point] = web.Choice{Value: e.ID.String(), Label: fmt.Sprintf("%s, %s, %s %s",
				b.Point, web.When(e.At.In(v.zone), v.now), v.say(string(b.Face)+" staff"), v.firm.Units.ShowFine(b.Staff.MM()))}
		}
		return len(seen) == wanted
	})
	var list []web.Choice
	for _, s := range v.picture.Supports {
		if c, ok := seen[s.ID]; ok {
			list = append(list, c)
		}
	}
	for _, s := range v.picture.Spots {
		if c, ok := seen[s.ID]; ok {
			list = append(list, c)
		}
	}
	return list, err
}

// counting looks back over the events of one kind that count.
func (p *pages) counting(ctx context.Context, v view, kind events.Kind, before int64, visit func(events.Stored, events.Body) (enough bool)) error {
	_, err := p.lookBack(ctx, v.key, before, func(stored []events.Stored) (enough bool, err error) {
		err = p.states.use(ctx, v.key, func(state *jobs.State) {
			for _, e := range slices.Backward(stored) {
				if body := counted(state, e, kind); body != nil && !enough {
					enough = visit(e, body)
				}
			}
		})
		return enough, err
	})
	return err
}

// counted opens an event of a kind that counts; nil for any other.
func counted(state *jobs.State, e events.Stored, kind events.Kind) events.Body {
	if e.Erased || e.Kind != kind {
		return nil
	}
	if line := state.Line(e); line.Voided != "" || line.Aside != "" {
		return nil
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return nil
	}
	return body
}
