package jobs

import (
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Upkeep is what a firm notes of whatever is in its kit.
type Upkeep struct {
	InspectedOn string `json:"inspected_on,omitempty"` // 2026-03-02
	DueOn       string `json:"due_on,omitempty"`       // when it is to be inspected again, by the firm's own interval
	Gone        bool   `json:"gone,omitempty"`         // out of use
	Note        string `json:"note,omitempty"`
}

func (u Upkeep) check() error {
	if u.Note != "" {
		if err := checkName("note", u.Note); err != nil {
			return err
		}
	}
	switch {
	case !isDate(u.InspectedOn):
		return levelling.Bad("inspected_on", "a date, as 2026-03-02")
	case !isDate(u.DueOn):
		return levelling.Bad("due_on", "a date, as 2026-09-02")
	case u.DueOn != "" && u.DueOn < u.InspectedOn:
		return levelling.Bad("due_on", "a date after the inspection, "+u.InspectedOn)
	}
	return nil
}

func isDate(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return s == "" || err == nil
}

// Due says what speaks against using a thing on a day, "" where nothing does. It
// is by the day that now has where it was taken.
func (u Upkeep) Due(now time.Time) string {
	today := now.Format(time.DateOnly)
	switch {
	case u.Gone:
		return "out of use"
	case u.InspectedOn == "":
		return "no inspection is recorded"
	case u.DueOn != "" && u.DueOn < today:
		return "its inspection has been overdue since " + DayWords(u.DueOn)
	}
	return ""
}

// DayWords writes a date as people do, 2 March 2026.
func DayWords(date string) string {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return day.Format("2 January 2006")
}

// Jack is one jack of a firm's kit, by the name painted on it.
type Jack struct {
	Firm    events.ID `json:"-"`
	ID      events.ID `json:"id"`
	Name    string    `json:"name"`
	RatedKN float64   `json:"rated_kn"`          // as marked on it
	BoreMM  float64   `json:"bore_mm,omitempty"` // of the ram, to tell the force by a gauge
	Gauge   bool      `json:"gauge,omitempty"`   // it shows its pressure
	Upkeep
	CreatedAt time.Time `json:"created_at"`
}

// Check reports, as an InputError, the first field that makes no sense.
func (j Jack) Check() error {
	if err := checkName("name", j.Name); err != nil {
		return err
	}
	switch {
	case !(j.RatedKN > 0 && j.RatedKN <= 1e5):
		return levelling.Bad("rated_kn", "what is marked on the jack, in kN, above 0; a tonne is 9.81")
	case !(j.BoreMM >= 0 && j.BoreMM <= 1000):
		return levelling.Bad("bore_mm", "the bore of the ram in mm, or nothing")
	}
	return j.check()
}

// Same reports whether two say the same; when they were created is not part of
// that.
func (j Jack) Same(other Jack) bool {
	j.CreatedAt, other.CreatedAt = time.Time{}, time.Time{}
	return j == other
}

// Laser is one laser, or another instrument, of a firm's kit, by the name that its
// set-ups have on every job. What its checks found on a job stands in the events
// of that job.
type Laser struct {
	Firm     events.ID `json:"-"`
	ID       events.ID `json:"id"`
	Name     string    `json:"name"`
	SDMMPerM float64   `json:"sd_mm_per_m,omitempty"` // ± of a reading that comes with each metre of distance
	Upkeep
	CreatedAt time.Time `json:"created_at"`
}

// Check reports, as an InputError, the first field that makes no sense.
func (l Laser) Check() error {
	if err := checkName("name", l.Name); err != nil {
		return err
	}
	if !(l.SDMMPerM >= 0 && l.SDMMPerM <= events.MostSDMMPerM) {
		return levelling.Bad("sd_mm_per_m", "± for each metre of distance in mm, such as 0.05, or nothing")
	}
	return l.check()
}

// Same reports whether two say the same; when they were created is not part of
// that.
func (l Laser) Same(other Laser) bool {
	l.CreatedAt, other.CreatedAt = time.Time{}, time.Time{}
	return l == other
}
