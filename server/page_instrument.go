package server

import (
	"cmp"
	"net/http"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// sortOf is the way of doing things that a form was opened for, or sent with.
func sortOf(r *http.Request) string {
	return cmp.Or(r.PostForm.Get("sort"), r.URL.Query().Get("sort"))
}

// instrumentsFor are those whose last check is said on a form: all of them
// where one is set up or checked, and where readings are taken those whose
// check is out of date.
func (v view) instrumentsFor(kind events.Kind) []jobs.Instrument {
	switch kind {
	case events.KindSetup, events.KindInstrumentCheck:
		return v.picture.Instruments
	case events.KindReading, events.KindSetupClosed:
		return v.dueAtSetups()
	}
	return nil
}

// dueAtSetups are the instruments that stand, and whose check was out of date
// when they were set up.
func (v view) dueAtSetups() []jobs.Instrument {
	var due []jobs.Instrument
	for _, u := range v.picture.Setups {
		one := jobs.Instrument{Name: u.Instrument, Check: u.Check, Due: u.CheckDue}
		if !u.Closed && u.CheckDue && !slices.Contains(due, one) {
			due = append(due, one)
		}
	}
	return due
}
