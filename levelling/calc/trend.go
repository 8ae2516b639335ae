package calc

import "relevel/levelling"

var trend = calculator{
	name:  "trend",
	about: "whether a place is still moving, by readings over a year",
	help: `readings are heights of one place on different days, counted from any day, each with its standard deviation.
A straight line is fitted to them, weighted by 1/sd². mm_per_month is its slope over 30.4375 days, up
positive, with low and high the 95 % band by the standard deviations given; all three are null where the
readings are of one day. The verdict is moving where the band excludes 0, else stable, and too-soon under
3 readings or 365 days: clay moves with the seasons.`,
	example: `{"readings":[{"day":0,"height_mm":-3.1,"sd_mm":0.5},{"day":180,"height_mm":-3.9,"sd_mm":0.5},` +
		`{"day":370,"height_mm":-4.9,"sd_mm":0.5}]}`,
	run: runTrend,
}

type trendAnswer struct {
	PerMonth *number                `json:"mm_per_month"`
	Low      *number                `json:"low"`
	High     *number                `json:"high"`
	SpanDays number                 `json:"span_days"`
	Verdict  levelling.TrendVerdict `json:"verdict"`
}

func runTrend(in *object) (any, error) {
	var readings []levelling.TrendReading
	for _, r := range in.objects("readings", "the readings of one place, at least one") {
		readings = append(readings, levelling.TrendReading{
			Day:      r.number("day", "the day of the reading, counted from any day"),
			HeightMM: r.number("height_mm", "the height in mm, positive upwards"),
			SD:       r.number("sd_mm", "its standard deviation in mm, above 0"),
		})
	}
	if !in.ok() {
		return nil, nil
	}
	m, err := levelling.Trend(readings)
	if err != nil {
		return nil, err
	}
	answer := trendAnswer{SpanDays: mm(m.SpanDays), Verdict: m.Verdict}
	if m.Rate != nil {
		per, low, high := mm(m.Rate.PerMonth), mm(m.Rate.Low), mm(m.Rate.High)
		answer.PerMonth, answer.Low, answer.High = &per, &low, &high
	}
	return answer, nil
}
