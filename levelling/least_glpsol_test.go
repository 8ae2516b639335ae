package levelling_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"
)

const (
	leastFile   = "testdata/least-glpsol.json"
	leastFloors = 200
)

// leastAnswers is what another program found for the random floors.
type leastAnswers struct {
	Program string        `json:"program"`
	Version string        `json:"version"`
	Floors  []leastAnswer `json:"floors"`
}

type leastAnswer struct {
	Floor    int     `json:"floor"`
	Points   int     `json:"points"`
	Program  string  `json:"lp_sha256"` // the beginning, of the linear program it was asked
	Feasible bool    `json:"feasible"`
	LiftMM   float64 `json:"total_lift_mm"`
	LowerMM  float64 `json:"total_lower_mm"`
}

func digest(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text)))[:16] }

// glpsol, on the same floors: the same verdict, the same least lift, and with
// that lift the same least lowering.
func TestLeastGlpsol(t *testing.T) {
	raw, err := os.ReadFile(leastFile)
	if err != nil {
		t.Fatal(err)
	}
	var answers leastAnswers
	if err := json.Unmarshal(raw, &answers); err != nil {
		t.Fatal(err)
	}
	if len(answers.Floors) != leastFloors {
		t.Fatalf("%d floors, want %d", len(answers.Floors), leastFloors)
	}
	count := map[bool]int{}
	for _, want := range answers.Floors {
		points, g := randomFloor(want.Floor)
		if digest(program(points, g, nil)) != want.Program {
			t.Fatalf("floor %d is not the one that was solved: run make oracles", want.Floor)
		}
		got, err := g.Targets(points)
		if err != nil {
			t.Fatal(err)
		}
		count[got.Feasible]++
		if got.Feasible != want.Feasible {
			t.Errorf("floor %d: feasible %v, want %v (%s)", want.Floor, got.Feasible, want.Feasible, got.Why)
			continue
		}
		if got.Feasible && (math.Abs(got.TotalLift-want.LiftMM) > 0.01 || math.Abs(got.TotalLower-want.LowerMM) > 0.01) {
			t.Errorf("floor %d: lift %v and lowering %v, want %v and %v", want.Floor, got.TotalLift, got.TotalLower, want.LiftMM, want.LowerMM)
		}
	}
	if count[true] < 50 || count[false] < 50 {
		t.Errorf("%d feasible and %d infeasible floors: too few of one sort to compare", count[true], count[false])
	}
}
