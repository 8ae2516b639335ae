package jobs_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

func bottle() jobs.Jack {
	return jobs.Jack{Name: "bottle 1", RatedKN: 98.1, BoreMM: 50.8, Gauge: true, Upkeep: jobs.Upkeep{InspectedOn: "2026-01-05", DueOn: "2026-07-05", Note: "new seal"}}
}

func TestJackCheck(t *testing.T) {
	tests := map[string]struct {
		change func(*jobs.Jack)
		field  string
	}{
		"OK":                 {func(*jobs.Jack) {}, ""},
		"Least":              {func(j *jobs.Jack) { *j = jobs.Jack{Name: "screw", RatedKN: 0.5} }, ""},
		"DueAtOnce":          {func(j *jobs.Jack) { j.DueOn = j.InspectedOn }, ""},
		"DueAlone":           {func(j *jobs.Jack) { j.InspectedOn = "" }, ""},
		"NoName":             {func(j *jobs.Jack) { j.Name = " " }, "name"},
		"NoteOfLines":        {func(j *jobs.Jack) { j.Note = "a\nb" }, "note"},
		"Unmarked":           {func(j *jobs.Jack) { j.RatedKN = 0 }, "rated_kn"},
		"MarkedNaN":          {func(j *jobs.Jack) { j.RatedKN = math.NaN() }, "rated_kn"},
		"MarkedInf":          {func(j *jobs.Jack) { j.RatedKN = math.Inf(1) }, "rated_kn"},
		"BoreBelowNought":    {func(j *jobs.Jack) { j.BoreMM = -1 }, "bore_mm"},
		"BoreOfAMetre":       {func(j *jobs.Jack) { j.BoreMM = 1001 }, "bore_mm"},
		"NoSuchDay":          {func(j *jobs.Jack) { j.InspectedOn = "2026-02-30" }, "inspected_on"},
		"DueSoon":            {func(j *jobs.Jack) { j.DueOn = "soon" }, "due_on"},
		"DueBeforeInspected": {func(j *jobs.Jack) { j.DueOn = "2026-01-04" }, "due_on"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			j := bottle()
			test.change(&j)
			wantField(t, j.Check(), test.field)
		})
	}
}

// wantField checks which field an error names; "" is no error.
func wantField(t *testing.T, err error, field string) {
	t.Helper()
	var bad *levelling.InputError
	if errors.As(err, &bad) && bad.Field != field || !errors.As(err, &bad) && (err != nil || field != "") {
		t.Errorf("%v, want the field %q", err, field)
	}
}

// On the day that an inspection is due the jack may still be used.
func TestJackDue(t *testing.T) {
	at := func(day string) time.Time {
		now, err := time.Parse(time.DateTime, day+" 23:30:00")
		if err != nil {
			t.Fatal(err)
		}
		return now
	}
	const overdue = "its inspection has been overdue since 5 July 2026"
	for name, test := range map[string]struct {
		change func(*jobs.Jack)
		now    string
		want   string
	}{
		"InDate":     {func(*jobs.Jack) {}, "2026-07-05", ""},
		"Overdue":    {func(*jobs.Jack) {}, "2026-07-06", overdue},
		"NoInterval": {func(j *jobs.Jack) { j.DueOn = "" }, "2036-07-06", ""},
		"Never":      {func(j *jobs.Jack) { j.InspectedOn = "" }, "2026-07-05", "no inspection is recorded"},
		"NeverDue":   {func(j *jobs.Jack) { j.InspectedOn = "" }, "2026-07-06", "no inspection is recorded"},
		"Gone":       {func(j *jobs.Jack) { j.Gone = true }, "2026-07-06", "out of use"},
	} {
		t.Run(name, func(t *testing.T) {
			j := bottle()
			test.change(&j)
			if got := j.Due(at(test.now)); got != test.want {
				t.Errorf("%q, want %q", got, test.want)
			}
		})
	}
	east := time.Date(2026, 7, 6, 0, 30, 0, 0, time.FixedZone("", 12*3600)) // the 5th still in UTC
	if got := bottle().Due(east); got != overdue {
		t.Errorf("%q, want it by the day of the place", got)
	}
}

func TestJackSame(t *testing.T) {
	j := bottle()
	later := j
	later.CreatedAt = j.CreatedAt.Add(time.Hour)
	other := j
	other.Gauge = false
	if !j.Same(later) || j.Same(other) {
		t.Error("the same is what it says, whenever it was created")
	}
}

func TestLaserCheck(t *testing.T) {
	for name, test := range map[string]struct {
		change func(*jobs.Laser)
		field  string
	}{
		"OK":        {func(*jobs.Laser) {}, ""},
		"Least":     {func(l *jobs.Laser) { *l = jobs.Laser{Name: "green"} }, ""},
		"AsASetup":  {func(l *jobs.Laser) { l.SDMMPerM = 5 }, ""},
		"NoName":    {func(l *jobs.Laser) { l.Name = "" }, "name"},
		"Below":     {func(l *jobs.Laser) { l.SDMMPerM = -0.1 }, "sd_mm_per_m"},
		"Above":     {func(l *jobs.Laser) { l.SDMMPerM = 5.1 }, "sd_mm_per_m"},
		"NaN":       {func(l *jobs.Laser) { l.SDMMPerM = math.NaN() }, "sd_mm_per_m"},
		"NoSuchDay": {func(l *jobs.Laser) { l.DueOn = "2027-02-30" }, "due_on"},
	} {
		t.Run(name, func(t *testing.T) {
			l := jobs.Laser{Name: "green", SDMMPerM: 0.05, Upkeep: jobs.Upkeep{InspectedOn: "2026-01-05", DueOn: "2027-01-05"}}
			test.change(&l)
			wantField(t, l.Check(), test.field)
		})
	}
}
