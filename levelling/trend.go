package levelling

import "math"

// DaysPerMonth is the mean length of a month, 365.25 days a year.
const DaysPerMonth = 30.4375

// The least on which a trend is judged. Clay moves with the seasons, so that
// anything short of a year may be the season alone.
const (
	trendReadings = 3
	trendDays     = 365
)

// trendBand is how many standard deviations hold 95 % of a normal distribution,
// either side.
const trendBand = 1.96

// TrendReading is the height of one place on one day.
type TrendReading struct {
	Day      float64 // counted from any day
	HeightMM float64
	SD       float64 // mm, above 0
}

// TrendVerdict says whether a place is moving.
type TrendVerdict string

// Moving means that the band of the rate excludes 0.
const (
	Stable  TrendVerdict = "stable"
	Moving  TrendVerdict = "moving"
	TooSoon TrendVerdict = "too-soon"
)

// Rate is a movement in mm a month, up positive, with the band that holds the
// true one 95 times in 100.
type Rate struct{ PerMonth, Low, High float64 }

// Movement is what repeated readings of a place say.
type Movement struct {
	Rate     *Rate // nil where all readings are of one day
	SpanDays float64
	Verdict  TrendVerdict
}

// Trend fits a straight line to repeated readings, weighted by inverse
// variance. The band comes from the standard deviations given, not from the
// scatter. It is too soon to say under 3 readings or 365 days. Errors are
// InputErrors on "readings" or "readings[i].sd_mm" and the like, from 0.
func Trend(readings []TrendReading) (Movement, error) {
	if err := checkTrend(readings); err != nil {
		return Movement{}, err
	}
	first, last := readings[0].Day, readings[0].Day
	for _, r := range readings {
		first, last = math.Min(first, r.Day), math.Max(last, r.Day)
	}
	m := Movement{SpanDays: last - first, Verdict: TooSoon}
	if m.SpanDays == 0 {
		return m, nil
	}
	rate := trendRate(readings, first, m.SpanDays)
	if !finite(m.SpanDays, rate.PerMonth, rate.Low, rate.High) {
		return Movement{}, Bad("readings", "days, heights and standard deviations whose rate a number can hold")
	}
	m.Rate = &rate
	if len(readings) >= trendReadings && m.SpanDays >= trendDays {
		m.Verdict = rate.verdict()
	}
	return m, nil
}

func (r Rate) verdict() TrendVerdict {
	if r.Low > 0 || r.High < 0 {
		return Moving
	}
	return Stable
}

func checkTrend(readings []TrendReading) error {
	if len(readings) == 0 {
		return Bad("readings", "the readings of one place, at least one")
	}
	sds := make([]float64, len(readings))
	for i, r := range readings {
		field := func(name string) string { return indexed("readings", i, name) }
		switch {
		case !finite(r.Day):
			return Bad(field("day"), "the day of the reading, counted from any day")
		case !finite(r.HeightMM):
			return Bad(field("height_mm"), "the height in mm")
		}
		sds[i] = r.SD
	}
	return checkSDs(sds, func(i int) string { return indexed("readings", i, "sd_mm") })
}

// trendRate is the slope of the line. Days are counted in spans from the first,
// heights from the first reading and weights by the smallest standard
// deviation, so that no size of theirs costs digits.
func trendRate(readings []TrendReading, first, span float64) Rate {
	unit := readings[0].SD
	for _, r := range readings {
		unit = math.Min(unit, r.SD)
	}
	weight := func(r TrendReading) float64 { return float64((unit / r.SD) * (unit / r.SD)) }
	var weights, mean float64
	for _, r := range readings {
		weights += weight(r)
		mean += float64(weight(r) * ((r.Day - first) / span))
	}
	mean /= weights
	var squares, products float64
	for _, r := range readings {
		t := (r.Day-first)/span - mean
		squares += float64(weight(r) * float64(t*t))
		products += float64(float64(weight(r)*t) * (r.HeightMM - readings[0].HeightMM))
	}
	month := DaysPerMonth / span
	slope := float64(products / squares * month)
	band := float64(trendBand * float64(unit/math.Sqrt(squares)*month))
	return Rate{slope, slope - band, slope + band}
}
