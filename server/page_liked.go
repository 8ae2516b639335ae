package server

import (
	"net/http"
	"net/url"
	"strings"

	"relevel/events"
	"relevel/server/web"
)

// mostKept is how long a value may be to be offered again.
const mostKept = 64

// liked is what somebody chose the last time on this device.
func liked(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	v, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return v
}

// keepLiked remembers on the device what is likely to be the same the next time.
func (p *pages) keepLiked(w http.ResponseWriter, r *http.Request, form web.Form) {
	keep := func(cookie, value string) {
		if value != "" && len(value) < mostKept {
			remember(w, r, &http.Cookie{Name: cookie, Value: url.QueryEscape(value), Path: "/"})
		}
	}
	keep("recorder", r.PostFormValue("recorder"))
	keep("unit", r.PostFormValue("unit"))
	for _, f := range form.Fields {
		if f.Keep {
			keep(keptName(form, f), r.PostFormValue(f.Name))
		}
	}
	if form.Rows == nil {
		return
	}
	if of := form.Rows.Flip.Name; of == upsideDown {
		remember(w, r, &http.Cookie{Name: of, Value: r.PostFormValue(of), Path: "/"})
	}
	for _, f := range form.Rows.Fields {
		if f.Keep {
			keep(keptName(form, f), r.PostFormValue(form.Rows.RowName(0)+"."+f.Name))
		}
	}
}

// upsideDown is how somebody holds the staff, reading after reading.
const upsideDown = "upside-down"

func keptName(form web.Form, f web.Field) string {
	return "last-" + string(form.Kind) + "-" + strings.ReplaceAll(f.Name, ".", "-")
}

// proposeKept offers again what was filled in the last time, where nothing is
// known that fits better.
func proposeKept(r *http.Request, page *web.RecordPage) {
	form, values := page.Form, page.Values
	for _, f := range form.Fields {
		if f.Keep && !values.Has(f.Name) {
			values.Set(f.Name, liked(r, keptName(form, f)))
		}
	}
	if form.Rows == nil {
		return
	}
	if of := form.Rows.Flip.Name; of == upsideDown {
		values.Set(of, liked(r, of))
	}
	for i := range page.Rows() {
		for _, f := range form.Rows.Fields {
			if f.Keep {
				values.Set(form.Rows.RowName(i)+"."+f.Name, liked(r, keptName(form, f)))
			}
		}
	}
}

// proposeStep takes the step of work from the address, and leaves of the form
// what belongs to it.
func proposeStep(r *http.Request, page *web.RecordPage) {
	step := events.WorkStep(r.URL.Query().Get("step"))
	page.Values.Set("step", string(step))
	verb, ok := stepVerbs[step]
	if !ok {
		return
	}
	page.Form.Verb, page.Form.Title, page.Form.Caution = verb, verb, ""
	fields := []web.Field{}
	for _, f := range page.Form.Fields {
		if f.Name == "step" {
			f.Input = web.Hidden
		}
		ofDate := f.Name == "from" || f.Name == "set_by"
		if f.Name == "support" || f.Name == "step" || ofDate == (step == events.CarriesFrom) {
			fields = append(fields, f)
		}
	}
	page.Form.Fields = fields
}

// recorderOf is who records: who is signed in, or else as the last time, or the only
// one there is.
func recorderOf(r *http.Request, v view) string {
	if id := signedIn(r); id != "" {
		return id
	}
	if here := working(v.people); len(here) == 1 {
		return here[0].ID.String()
	}
	return liked(r, "recorder")
}
