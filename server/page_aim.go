package server

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// proposeAim starts the form of an aim with what is agreed now, so that nothing
// of it is lost by agreeing again, and with the choice that led here. Who agrees
// is always asked. The first aim of a job starts with how the firm goes about
// lifting.
func proposeAim(r *http.Request, v view, practice jobs.Practice, page *web.RecordPage) {
	unit := levelling.Unit(page.Unit)
	if v.picture.Aim == nil {
		liftingValues(page.Values, practice.Aim())
	}
	if a := v.picture.Aim; a != nil {
		page.Values = agreedValues(a.Agreed, unit)
		page.Values.Set("tolerance.profile", page.Sources.ChosenProfile())
	}
	asked := r.URL.Query()
	for _, name := range []string{"aim", "margin_mm", "plane.x_mm_per_m", "plane.y_mm_per_m", "tolerance.profile"} {
		if asked.Has(name) {
			page.Values.Set(name, asked.Get(name))
		}
	}
	if mm, err := readDecimal(asked.Get("height_mm")); err == nil {
		page.Values.Set("height", inUnit(mm, unit))
	}
	if asked.Get("tolerance.profile") != "" { // the profile instead of limits of one's own
		dropLimits(page.Values)
	}
}

// agreedProfile is what the aim of now asks of a floor by a profile or by limits
// that the form's rows cannot show, nil where there is no such.
func agreedProfile(a *jobs.Aim) *web.ProfileAsks {
	if a == nil || web.RowsHold(a.Agreed.Tolerance) {
		return nil
	}
	return toleranceAsks(a.Agreed.Tolerance)
}

// toleranceAsks is what a tolerance asks in words, nil where it is no more than
// how far off its target a support may stay.
func toleranceAsks(t events.Tolerance) *web.ProfileAsks {
	p, err := levelling.FindProfile(t.Profile)
	if len(t.Limits) > 0 {
		own := jobs.Profile{Name: t.Profile, Title: cmp.Or(t.Title, t.Profile, "limits of its own"), Source: t.Source, Limits: t.Limits}
		p, err = own.Levelling(), nil
	}
	if err != nil {
		return nil
	}
	asks := asksOf(p)
	return &asks
}

// agreedValues fills the form's inputs with an aim.
func agreedValues(a events.Aim, unit levelling.Unit) url.Values {
	values := url.Values{"aim": {string(a.Aim)}, "face": {string(a.Face)}, "left_out": a.LeftOut, "fixed": a.Fixed,
		"caps": {capsText(a.Caps)}, "lower": {capsText(a.Lower)}, "left_out_why": {web.ReasonsText(a.LeftOutWhy)}}
	if a.Height != nil {
		values.Set("height", inUnit(a.Height.MM(), unit))
	}
	if a.Plane != nil {
		values.Set("plane.x_mm_per_m", decimal(a.Plane.X))
		values.Set("plane.y_mm_per_m", decimal(a.Plane.Y))
	}
	liftingValues(values, a)
	if !web.RowsHold(a.Tolerance) {
		return values
	}
	values.Set("tolerance.source", a.Tolerance.Source)
	for i, l := range a.Tolerance.Limits {
		row := fmt.Sprintf("tolerance.limits[%d].", i)
		values.Set(row+"limit_mm", decimal(l.LimitMM))
		values.Set(row+"kind", string(l.Kind))
		values.Set(row+"rule", string(l.Rule))
		if l.OverM != 0 {
			values.Set(row+"over_m", decimal(l.OverM))
		}
	}
	return values
}

// liftingValues fills in the figures that an aim may have.
func liftingValues(values url.Values, a events.Aim) {
	for name, figure := range map[string]float64{
		"tolerance.within_mm": a.Tolerance.WithinMM, "margin_mm": a.MarginMM, "step_mm": a.StepMM, "daily_mm": a.DailyMM, "neighbour_mm": a.NeighbourMM,
		"neighbour_ratio": a.Ratio, "jacks": float64(a.Jacks), "max_out": float64(a.MaxOut), "max_on_blocking": float64(a.MaxBlocked),
		"lower_mm": a.LowerMM, "rest_hours": a.RestHours,
	} {
		if figure != 0 {
			values.Set(name, decimal(figure))
		}
	}
}

func dropLimits(values url.Values) {
	values.Del("tolerance.source")
	for name := range values {
		if strings.HasPrefix(name, "tolerance.limits[") {
			values.Del(name)
		}
	}
}

func capsText(caps []events.Cap) string {
	parts := make([]string, len(caps))
	for i, c := range caps {
		parts[i] = c.Support + " " + decimal(c.MM)
	}
	return strings.Join(parts, ", ")
}

// inUnit writes a length in the unit that the form is filled in with, to as
// many figures as a staff can be read.
func inUnit(mm float64, unit levelling.Unit) string {
	of := unit.MM()
	if of == 0 {
		of = 1
	}
	return decimal(roundTo(mm/of, 3))
}
