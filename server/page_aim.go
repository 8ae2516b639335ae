package server

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
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
		liftingValues(page.Values, events.Aim{StepMM: practice.StepMM, DailyMM: practice.DailyMM, NeighbourMM: practice.NeighbourMM, Ratio: practice.Ratio,
			Jacks: practice.Jacks, MaxOut: practice.MaxOut, MaxBlocked: practice.MaxBlocked, RestHours: practice.RestHours})
	}
	if a := v.picture.Aim; a != nil {
		page.Values = agreedValues(a.Agreed, unit)
		if own := agreedBy(page.Sources.Profiles, a.Agreed.Tolerance); own != "" {
			dropLimits(page.Values)
			page.Values.Set("tolerance.profile", own)
		} else if !rowsHold(a.Agreed.Tolerance.Limits) {
			page.Target = append(page.Target, web.Fact{Name: "Limits agreed now", Value: "more than this form holds: leave them to the API, or give others here"})
		}
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

// agreedBy is the name of the firm's own profile that a tolerance still is, ""
// where it is none.
func agreedBy(own []jobs.Profile, t events.Tolerance) string {
	for _, p := range own {
		if p.Name == t.Profile && len(t.Limits) > 0 && fmt.Sprint(p.Limits) == fmt.Sprint(t.Limits) {
			return p.Name
		}
	}
	return ""
}

// agreedValues fills the form's inputs with an aim.
func agreedValues(a events.Aim, unit levelling.Unit) url.Values {
	values := url.Values{"aim": {string(a.Aim)}, "face": {string(a.Face)}, "left_out": a.LeftOut, "fixed": a.Fixed,
		"caps": {capsText(a.Caps)}, "lower": {capsText(a.Lower)}, "tolerance.source": {a.Tolerance.Source}}
	if a.Height != nil {
		values.Set("height", inUnit(a.Height.MM(), unit))
	}
	if a.Plane != nil {
		values.Set("plane.x_mm_per_m", decimal(a.Plane.X))
		values.Set("plane.y_mm_per_m", decimal(a.Plane.Y))
	}
	if len(a.Tolerance.Limits) == 0 {
		values.Set("tolerance.profile", a.Tolerance.Profile)
	}
	liftingValues(values, a)
	if !rowsHold(a.Tolerance.Limits) {
		return values
	}
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

// rowsHold tells whether limits can be shown in the form's rows, which have no
// tables.
func rowsHold(limits []events.Limit) bool {
	form, _ := web.FormOf(events.KindAim)
	return len(limits) <= form.Rows.Count && !slices.ContainsFunc(limits, func(l events.Limit) bool { return len(l.Table) > 0 })
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
