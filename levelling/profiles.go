package levelling

// anyLength is longer than any distance that can be reckoned with: a limit up
// to it never ends.
const anyLength = 1e155

// US lengths, exact by definition.
const (
	quarterInch = 6.35   // mm
	halfInch    = 12.7   // mm
	joist32     = 0.8128 // m, 32 in
	feet20      = 6.096  // m
)

// slopeLimit is a pair limit that goes on in proportion at every distance.
func slopeLimit(mmPerM float64) Limit {
	return Limit{Kind: PairLimit, OverM: anyLength, MM: mmPerM * anyLength, Rule: Proportional}
}

// flatLimit is a pair limit that is the same up to a distance.
func flatLimit(mm, overM float64) Limit {
	return Limit{Kind: PairLimit, OverM: overM, MM: mm, Rule: Flat}
}

// rangeLimit is a limit of the highest less the lowest point.
func rangeLimit(mm float64) Limit { return Limit{Kind: RangeLimit, MM: mm} }

// tableLimit is a pair limit by a table, whose last value goes on.
func tableLimit(rule LimitRule, rows ...LimitRow) Limit {
	return Limit{Kind: PairLimit, OverM: anyLength, Rule: rule, Table: rows}
}

// profiles are the published ones. What a limit is over shorter lengths belongs
// to each: BRANZ (Build 155) holds that a tolerance is not scaled down, DIN
// interpolates, the NHBC and the NAHB scale.
var profiles = []Profile{
	{
		Name: "nhbc-2020", Title: "UK NHBC Standards 2020",
		Source: "NHBC Standards 2020, 9.1.5", Standing: ReadSource, NewFloors: true,
		// The source measures the 3 mm per m at the furthest points across the
		// floor, and the 5 mm under a straightedge of 2 m. Scaled down to a few
		// hundred mm the former would ask for less than a staff can read, so two
		// points less than 2 m apart, which one straightedge spans, are judged by
		// the 5 mm alone.
		Rules: []Rule{
			{Text: "3 mm per m between points 2 to 6 m apart", Span: Span{From: 2}, Limit: Limit{Kind: PairLimit, OverM: 6, MM: 18, Rule: Proportional}},
			{Text: "20 mm between points over 6 m apart", Span: Span{Over: 6}, Limit: flatLimit(20, anyLength)},
			{Text: "5 mm between points under 2 m apart", Span: Span{Under: 2}, Limit: flatLimit(5, 2)},
		},
	},
	{
		Name: "din-18202-t2", Title: "DIN 18202 Table 2, out of level",
		Source: "DIN 18202, Table 2", Standing: SecondHand, NewFloors: true,
		Rules: []Rule{{
			Text: "by distance: up to 0.5 m 3 mm, 1 m 6, 3 m 8, 6 m 12, 15 m 16, 30 m 20, over that 30",
			Limit: tableLimit(Bands, LimitRow{0.5, 3}, LimitRow{1, 6}, LimitRow{3, 8}, LimitRow{6, 12},
				LimitRow{15, 16}, LimitRow{30, 20}, LimitRow{anyLength, 30}),
		}},
	},
	{
		Name: "nsw-2017-new", Title: "New South Wales Guide to Standards and Tolerances 2017, new floors",
		Source: "New South Wales Guide to Standards and Tolerances 2017", Standing: SecondHand, NewFloors: true,
		Rules: []Rule{
			{Text: "10 mm within a room", Limit: rangeLimit(10)},
			{Text: "4 mm in any 2 m", Limit: flatLimit(4, 2)},
			{Text: "20 mm over the footprint", Whole: true, Limit: rangeLimit(20)},
		},
	},
	{
		Name: "mbie-canterbury", Title: "New Zealand MBIE Canterbury guidance, when re-levelling is indicated",
		Source: "MBIE, Repairing and rebuilding houses affected by the Canterbury earthquakes", Standing: ReadSource,
		Indicator: true,
		Rules: []Rule{
			{Text: "a slope of 0.5 % between points more than 2 m apart", Whole: true, Span: Span{Over: 2}, Limit: slopeLimit(5)},
			{Text: "50 mm over the plan", Whole: true, Limit: rangeLimit(50)},
		},
	},
	{
		Name: "nz-1-200", Title: "New Zealand MBIE guide to tolerances 2015, floor plane 1:200",
		Source: "MBIE guide to tolerances 2015", Standing: SecondHand, NewFloors: true,
		Rules: []Rule{{Text: "1:200 between any two points", Limit: slopeLimit(5)}},
	},
	{
		Name: "nahb", Title: "US NAHB Residential Construction Performance Guidelines",
		Source: "NAHB Residential Construction Performance Guidelines", Standing: SecondHand, NewFloors: true,
		// In proportion, 1/2 in within 20 ft is 1/16 in within 32 in: the 1/4 in
		// given for so short a length stands in its place, or it would say nothing.
		Rules: []Rule{
			{Text: "1/4 in (6.35 mm) within any 32 in (0.81 m)", Limit: flatLimit(quarterInch, joist32)},
			{Text: "1/2 in (12.7 mm) within 20 ft (6.1 m) or in proportion", Span: Span{Over: joist32}, Limit: slopeLimit(halfInch / feet20)},
		},
	},
	{
		Name: "24cfr-3285-6", Title: "US 24 CFR 3285.6, manufactured homes",
		Source: "24 CFR 3285.6", Standing: ReadSource,
		Rules: []Rule{{Text: "1/4 in (6.35 mm) between adjacent supports", Of: OfNeighbours, Whole: true, Limit: flatLimit(quarterInch, anyLength)}},
	},
	{
		Name: "din-18202-t3-3", Title: "DIN 18202 Table 3 row 3, flatness of finished floors",
		Source: "DIN 18202, Table 3 row 3", Standing: SecondHand, NewFloors: true,
		Rules: []Rule{flatness("0.1 m 2 mm, 1 m 4, 4 m 10, 10 m 12, 15 m 15", 2, 4, 10, 12, 15)},
	},
	{
		Name: "din-18202-t3-4", Title: "DIN 18202 Table 3 row 4, flatness of finished floors, higher demands",
		Source: "DIN 18202, Table 3 row 4", Standing: SecondHand, NewFloors: true,
		Rules: []Rule{flatness("0.1 m 1 mm, 1 m 3, 4 m 9, 10 m 12, 15 m 15", 1, 3, 9, 12, 15)},
	},
}

// flatness is a row of DIN 18202 Table 3, whose columns are 0.1, 1, 4, 10 and 15 m.
func flatness(columns string, mm ...float64) Rule {
	rows := make([]LimitRow, len(mm))
	for i, metres := range [...]float64{0.1, 1, 4, 10, 15} {
		rows[i] = LimitRow{metres, mm[i]}
	}
	return Rule{
		Text: "off the straight line through two points, by their distance: " + columns + ", between these in proportion to whole mm",
		Of:   OfFlatness, Limit: tableLimit(Linear, rows...),
	}
}
