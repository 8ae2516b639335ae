package calc

import "relevel/levelling"

// limitsHelp belongs in the help of a calculator that takes limits.
const limitsHelp = `A limit of kind pair holds for every two points at most over_m apart, inclusive. Its rule says what becomes
of it over less: flat, the same; proportional, × distance / over_m; bands, the first row of the table whose
metres are not less than the distance; linear, between the rows. A table is rows of [metres, mm]; below its
first row that one's value holds, beyond its last that one's. One of kind range bounds highest − lowest.`

// limits takes the limits of a list. It looks at their shape alone: whether a
// limit can be is for [levelling.Limit.Check].
func limits(list []*object) []levelling.Limit {
	var all []levelling.Limit
	for _, in := range list {
		all = append(all, limit(in))
	}
	return all
}

func limit(in *object) levelling.Limit {
	l := levelling.Limit{Kind: levelling.LimitKind(in.choice("kind", string(levelling.PairLimit), string(levelling.RangeLimit)))}
	if l.Kind == levelling.PairLimit {
		l.OverM = in.number("over_m", "the greatest distance in metres for which it holds, above 0")
		l.Rule = levelling.LimitRule(in.choice("rule", string(levelling.Flat), string(levelling.Proportional),
			string(levelling.Bands), string(levelling.Linear)))
	}
	if l.Rule != levelling.Bands && l.Rule != levelling.Linear {
		l.MM = in.number("limit_mm", "the limit in mm, above 0")
		return l
	}
	for _, row := range in.numberPairs("table", "metres and mm, the metres rising") {
		l.Table = append(l.Table, levelling.LimitRow{Metres: row[0], MM: row[1]})
	}
	return l
}
