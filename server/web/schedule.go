package web

import (
	"strconv"

	"relevel/jobs"
)

// SchedulePage is what a job is priced from, by room and in all.
type SchedulePage struct {
	Frame
	Around
	Schedule jobs.Schedule
	Ask      ScheduleAsk
	CSV      string
	Printed  string // the day
	Begin    bool   // nothing was read yet
}

// ScheduleAsk is what somebody who prices can decide, as it was typed.
type ScheduleAsk struct {
	Choice, Soil, Thickness, BagLitres string
	Choices                            []Choice // of aims
	Soils                              []Choice
	Replace                            []ReplaceLine
	Wrong                              Wrong
}

// ReplaceLine is one support that can be replaced in place of packing it.
type ReplaceLine struct {
	ID, Why string
	Ticked  bool
}

func (SchedulePage) page() string { return "schedule" }

// decimalsOf is to how many decimals a unit of a schedule is written.
var decimalsOf = map[string]int{"m": 1, "m²": 2, "m³": 3}

// Quantity writes a figure of a schedule that is no height.
func Quantity(v float64, unit string) string {
	return strconv.FormatFloat(v, 'f', decimalsOf[unit], 64)
}
