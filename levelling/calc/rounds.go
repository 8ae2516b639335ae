package calc

import (
	"fmt"

	"relevel/levelling"
	"relevel/levelling/rounds"
)

var roundsOf = calculator{
	name:  "rounds",
	about: "which support is moved next and how far, round by round",
	help: `lift_mm is how far a support is to move in all, negative down. neighbours may never differ by more, in how
far they have moved, than limit: their distance over ratio, or mm; or by what their lifts differ by, where
that is more. That holds after every single move, in the order given. No move exceeds step_mm, and each
support is moved once a round at most. so_far_mm is what a support has moved after the move, by_mm the
move itself. Step and limit are yours: no rate of lifting is published as safe.`,
	example: `{"supports":[{"id":"A","x_m":0,"y_m":0,"lift_mm":10},{"id":"B","x_m":1.8,"y_m":0,"lift_mm":4}],` +
		`"neighbours":[["A","B"]],"step_mm":3,"limit":{"ratio":500}}`,
	run: runRounds,
}

// roundsCaution goes with every plan.
const roundsCaution = "No rate of lifting is published as safe: step and limit are the choice of whoever lifts. " +
	"Look and listen after every move. Block before anybody goes below, and never rely on a jack alone above a person. " +
	"An engineer for walls that carry roofs, masonry and large lifts. Local codes and licensed people decide."

type roundsAnswer struct {
	Rounds  []roundAnswer `json:"rounds"`
	Count   int           `json:"count"`
	Caution string        `json:"caution"`
}

type roundAnswer struct {
	Moves []moveAnswer `json:"moves"`
}

type moveAnswer struct {
	ID    string `json:"id"`
	By    number `json:"by_mm"`
	SoFar number `json:"so_far_mm"`
}

// standing is a support of the plan.
type standing struct {
	id   string
	x, y float64
}

func runRounds(in *object) (any, error) {
	var f rounds.Floor
	var at []standing
	for _, s := range in.objects("supports", "the supports, at least one") {
		at = append(at, standing{s.text("id", "the name of the support"),
			s.number("x_m", "its position on the plan in m"), s.number("y_m", "its position on the plan in m")})
		f.Supports = append(f.Supports, rounds.Support{Lift: s.number("lift_mm", "how far it is to move in mm, negative down")})
	}
	pairs := in.textPairs("neighbours", "the names of two supports beside each other")
	f.Step = in.number("step_mm", "the most that a support is moved at once in mm, above 0")
	between := readLimit(in)
	if !in.ok() {
		return nil, nil
	}
	if err := pairUp(&f, at, pairs, between); err != nil {
		return nil, err
	}
	plan, err := f.Plan()
	if err != nil {
		return nil, err
	}
	return answerRounds(at, plan), nil
}

// readLimit returns what two neighbours may differ by, as their distance has it.
func readLimit(in *object) func(metres float64) float64 {
	limit := in.object("limit", `{"ratio": parts of the distance} or {"mm": a length}`)
	ratio := limit.numberIf("ratio", "the distance is divided by it, above 0")
	mm := limit.numberIf("mm", "what two neighbours may differ by in mm, above 0")
	switch {
	case (ratio == nil) == (mm == nil):
		limit.fail("mm", "give one of mm and ratio")
	case ratio != nil && *ratio <= 0:
		limit.fail("ratio", "the distance is divided by it, above 0")
	case mm != nil && *mm <= 0:
		limit.fail("mm", "what two neighbours may differ by in mm, above 0")
	}
	return func(metres float64) float64 {
		if ratio != nil {
			return rounds.Limit(metres, *ratio)
		}
		return *mm
	}
}

func pairUp(f *rounds.Floor, at []standing, pairs [][2]string, between func(float64) float64) error {
	index := map[string]int{}
	for i, s := range at {
		if _, twice := index[s.id]; twice {
			return levelling.Bad(fmt.Sprintf("supports[%d].id", i), fmt.Sprintf("%q stands twice: give each support its own name", s.id))
		}
		index[s.id] = i
	}
	for i, pair := range pairs {
		a, knownA := index[pair[0]]
		b, knownB := index[pair[1]]
		if !knownA || !knownB || a == b {
			return levelling.Bad(fmt.Sprintf("neighbours[%d]", i), "the names of two supports that are given")
		}
		metres := levelling.Distance(at[a].x, at[a].y, at[b].x, at[b].y)
		f.Pairs = append(f.Pairs, rounds.Pair{A: a, B: b, Limit: between(metres)})
	}
	return nil
}

func answerRounds(at []standing, plan rounds.Plan) roundsAnswer {
	answer := roundsAnswer{Rounds: []roundAnswer{}, Count: len(plan.Rounds), Caution: roundsCaution}
	for _, r := range plan.Rounds {
		var round roundAnswer
		for _, m := range r.Moves {
			round.Moves = append(round.Moves, moveAnswer{at[m.Support].id, mm(m.By), mm(m.SoFar)})
		}
		answer.Rounds = append(answer.Rounds, round)
	}
	return answer
}
