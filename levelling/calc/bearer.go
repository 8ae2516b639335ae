package calc

import "relevel/levelling/beam"

var bearer = calculator{
	name:  "bearer",
	about: "what a bearer on several supports weighs on each, and where it floats",
	help: `spans_m are the spans from the left; ei_knm2 and udl_kn_m are one number for all or one a span. A point load
stands at_m from the left end of its span. supports are one more than spans; raise_mm is from the line on
which all supports are level, stiffness_kn_mm null for a rigid one. Spans, supports and joins are counted
from 1. A support only carries: reaction and gap are 0 or more, and one of them is 0; with one_way false it
holds down as well. joins are supports over which the bearer bears but passes no moment; where two bearers
are butted ask for each alone.
reaction_kn is positive upwards, moment_knm, in the bearer over the support, positive where it sags;
height_mm is the bearer's, gap_mm the daylight over the support. A bearer in balance on one support is
turned so that it shares the daylight out.`,
	example: `{"spans_m":[1.8,1.8],"ei_knm2":87.5,"udl_kn_m":1,"point_loads":[{"span":1,"at_m":0.9,"load_kn":2}],` +
		`"supports":[{"raise_mm":0,"stiffness_kn_mm":null},{"raise_mm":4},{"raise_mm":0,"stiffness_kn_mm":5}]}`,
	run: runBearer,
}

// bearerCaution goes with every answer: the figures are only as good as a
// stiffness and a load that nobody has measured.
const bearerCaution = "Indicative, for a straight sound bearer of the stiffness and load given, and not an engineering design: " +
	"old timber and its load may well be half or double. Block before anybody goes below, never rely on a jack alone " +
	"above a person, and watch the neighbours for daylight. An engineer for walls that carry roofs, masonry and large " +
	"lifts. Local codes decide."

type bearerAnswer struct {
	Supports []bearerSupport `json:"supports"`
	Caution  string          `json:"caution"`
}

type bearerSupport struct {
	Reaction number `json:"reaction_kn"`
	Moment   number `json:"moment_knm"`
	Height   number `json:"height_mm"`
	Gap      number `json:"gap_mm"`
	Floating bool   `json:"floating"`
}

func runBearer(in *object) (any, error) {
	b := beam.Bearer{Spans: readSpans(in)}
	for _, p := range in.objectsIf("point_loads", "loads at single places") {
		b.Loads = append(b.Loads, readPointLoad(p))
	}
	for _, s := range in.objects("supports", "what the bearer rests on, from the left, one more than spans") {
		b.Supports = append(b.Supports, readSupport(s))
	}
	b.TwoWay = !in.flagOr("one_way", true, "whether supports only carry")
	for _, at := range in.wholesIf("joins", "the numbers of supports") {
		b.Joins = append(b.Joins, at-1)
	}
	if !in.ok() {
		return nil, nil
	}
	s, err := b.Solve()
	if err != nil {
		return nil, err
	}
	return answerBearer(s), nil
}

const eiCure = "the stiffness EI in kN·m², above 0, or one for each span"

func readSpans(in *object) []beam.Span {
	lengths := in.numbers("spans_m", "the lengths of the spans in m, each above 0")
	ei := in.oneOrEach("ei_knm2", len(lengths), eiCure)
	udl := in.oneOrEach("udl_kn_m", len(lengths), "the uniform load in kN/m, or one for each span")
	if one, ok := in.fields["ei_knm2"].(float64); ok && one <= 0 {
		in.fail("ei_knm2", eiCure)
	}
	spans := make([]beam.Span, len(lengths))
	for i := range spans {
		spans[i] = beam.Span{LengthM: lengths[i], EI: ei[i], UDL: udl[i]}
	}
	return spans
}

func readPointLoad(in *object) beam.PointLoad {
	return beam.PointLoad{
		Span: in.whole("span", "the number of its span, from 1") - 1,
		AtM:  in.number("at_m", "its distance from the left end of the span in m"),
		KN:   in.number("load_kn", "the load in kN, positive downwards"),
	}
}

func readSupport(in *object) beam.Support {
	const cure = "its stiffness in kN/mm, above 0, or null for rigid"
	s := beam.Support{RaiseMM: in.number("raise_mm", "its top in mm, positive upwards, from the line on which all supports are level")}
	if k := in.numberIf("stiffness_kn_mm", cure); k != nil {
		if s.Stiffness = *k; s.Stiffness <= 0 {
			in.fail("stiffness_kn_mm", cure)
		}
	}
	return s
}

func answerBearer(s *beam.Solution) bearerAnswer {
	answer := bearerAnswer{Caution: bearerCaution}
	for _, r := range s.Rests {
		answer.Supports = append(answer.Supports,
			bearerSupport{kN(r.ReactionKN), kN(r.MomentKNm), mm(r.HeightMM), mm(r.GapMM), r.Floating})
	}
	return answer
}
