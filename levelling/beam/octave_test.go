package beam_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"relevel/levelling/beam"
)

const (
	octaveProgram = "testdata/bearer.m"
	octaveFile    = "testdata/bearers-octave.json"
	octaveBearers = 50
)

// octaveAnswers is what a finite-element program found for the random bearers.
type octaveAnswers struct {
	Program string         `json:"program"`
	Version string         `json:"version"`
	Script  string         `json:"script_sha256"` // the beginning, of all that it was asked
	Bearers []octaveAnswer `json:"bearers"`
}

type octaveAnswer struct {
	Seed      uint64    `json:"seed"`
	Reactions []float64 `json:"reactions_kn"`
	Moments   []float64 `json:"moments_knm"`
	Heights   []float64 `json:"heights_mm"`
}

// octaveBearer is one of the random bearers, of one to six spans; every fifth
// is held both ways.
func octaveBearer(seed uint64) beam.Bearer {
	b := roll(seed).bearer(1 + int(seed%6))
	b.TwoWay = seed%5 == 4
	return b
}

// octaveScript is the program and its calls.
func octaveScript(t *testing.T) string {
	t.Helper()
	program, err := os.ReadFile(octaveProgram)
	if err != nil {
		t.Fatal(err)
	}
	var s strings.Builder
	s.Write(program)
	for seed := range uint64(octaveBearers) {
		s.WriteString(octaveCall(octaveBearer(seed)))
	}
	return s.String()
}

func octaveCall(b beam.Bearer) string {
	var lengths, ei, udl, loads, raises, stiff, joins strings.Builder
	for _, s := range b.Spans {
		fmt.Fprintf(&lengths, " %.17g", s.LengthM)
		fmt.Fprintf(&ei, " %.17g", s.EI)
		fmt.Fprintf(&udl, " %.17g", s.UDL)
	}
	for _, l := range b.Loads {
		fmt.Fprintf(&loads, "%d %.17g %.17g;", l.Span+1, l.AtM, l.KN)
	}
	for _, s := range b.Supports {
		fmt.Fprintf(&raises, " %.17g", s.RaiseMM)
		fmt.Fprintf(&stiff, " %.17g", s.Stiffness)
	}
	for _, at := range b.Joins {
		fmt.Fprintf(&joins, " %d", at+1)
	}
	all := loads.String()
	if all == "" {
		all = "1 0 0"
	}
	return fmt.Sprintf("rest([%s], [%s], [%s], [%s], [%s], [%s], [%s], %t);\n", &lengths, &ei, &udl, all, &raises, &stiff, &joins, b.TwoWay)
}

func digest(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text)))[:16] }

// Finite elements in Octave, with every set of supports tried, on the same
// bearers: reactions, moments and heights.
func TestOctave(t *testing.T) {
	raw, err := os.ReadFile(octaveFile)
	if err != nil {
		t.Fatal(err)
	}
	var answers octaveAnswers
	if err := json.Unmarshal(raw, &answers); err != nil {
		t.Fatal(err)
	}
	if digest(octaveScript(t)) != answers.Script || len(answers.Bearers) != octaveBearers {
		t.Fatal("these are not the bearers that were solved: run make oracles")
	}
	floating, joined, elastic := 0, 0, 0
	for _, want := range answers.Bearers {
		b := octaveBearer(want.Seed)
		s := solve(t, b)
		name := fmt.Sprintf("bearer %d ", want.Seed)
		wantNear(t, name+"reactions", want.Reactions, reactions(s), 1e-6)
		wantNear(t, name+"moments", want.Moments, moments(s), 1e-6)
		wantNear(t, name+"heights", want.Heights, heights(s), 1e-5)
		joined += len(b.Joins)
		for i, r := range s.Rests {
			if r.Floating {
				floating++
			}
			if b.Supports[i].Stiffness != beam.Rigid {
				elastic++
			}
		}
	}
	if floating < 20 || joined < 10 || elastic < 50 {
		t.Errorf("%d supports float, %d have joins, %d are elastic: too few of one sort to compare", floating, joined, elastic)
	}
}

func heights(s *beam.Solution) (all []float64) {
	for _, r := range s.Rests {
		all = append(all, r.HeightMM)
	}
	return all
}
