//go:build oracle

package levelling_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// TestOracleNetwork has Octave adjust the random network densely, and keeps its
// answer.
func TestOracleNetwork(t *testing.T) {
	version := octave(t, "disp(version)")
	d := newDense(randomNetwork(networkSeed, networkPoints))
	script := octaveScript(d)
	var numbers []float64
	for _, text := range strings.Fields(octave(t, script)) {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		numbers = append(numbers, x)
	}
	unknowns := len(d.column)
	if len(numbers) != 2*unknowns+len(d.rows) {
		t.Fatalf("%d numbers for %d unknowns and %d observations", len(numbers), unknowns, len(d.rows))
	}
	out, err := json.MarshalIndent(networkAnswers{
		Program: "octave", Version: strings.TrimSpace(version), Seed: networkSeed, Script: digest(script),
		Heights: numbers[:unknowns], SDs: numbers[unknowns : 2*unknowns], Redundancies: numbers[2*unknowns:],
	}, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(networkFile, append(out, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// octave runs a script and returns what it prints. Some versions complain on the
// other stream as they leave.
func octave(t *testing.T, script string) string {
	t.Helper()
	cmd := exec.Command("octave-cli", "--no-init-file", "--quiet")
	cmd.Stdin = strings.NewReader(script)
	var faults strings.Builder
	cmd.Stderr = &faults
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("octave: %v: %s", err, faults.String())
	}
	return string(out)
}
