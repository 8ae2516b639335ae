//go:build oracle

package levelling_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestOracleLeast has glpsol find the least lift of every floor, and with that
// held the least lowering, and keeps its answers.
func TestOracleLeast(t *testing.T) {
	version, err := exec.Command("glpsol", "--version").Output()
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(version), "\n")
	answers := leastAnswers{Program: "glpsol", Version: first}
	for n := range leastFloors {
		points, g := randomFloor(n)
		text := program(points, g, nil)
		a := leastAnswer{Floor: n, Points: len(points), Program: digest(text)}
		if a.LiftMM, a.Feasible = solve(t, text); a.Feasible {
			held := a.LiftMM + 1e-7 // the tolerance of the solver
			a.LowerMM, _ = solve(t, program(points, g, &held))
		}
		answers.Floors = append(answers.Floors, a)
	}
	out, err := json.MarshalIndent(answers, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(leastFile, append(out, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// solve returns the optimum of a linear program and whether there is one.
func solve(t *testing.T, text string) (float64, bool) {
	t.Helper()
	in, out := filepath.Join(t.TempDir(), "floor.lp"), filepath.Join(t.TempDir(), "floor.out")
	if err := os.WriteFile(in, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if log, err := exec.Command("glpsol", "--lp", in, "--nopresol", "-w", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, log)
	}
	solution, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(solution)) {
		var rows, columns int
		var primal, dual string
		var optimum float64
		if n, _ := fmt.Sscanf(line, "s bas %d %d %s %s %g", &rows, &columns, &primal, &dual, &optimum); n == 5 {
			return optimum, primal == "f" && dual == "f"
		}
	}
	t.Fatalf("no solution in %s", solution)
	return 0, false
}
