//go:build oracle

package beam_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestOracleBearers has Octave find by finite elements how the random bearers
// rest, and keeps its answers.
func TestOracleBearers(t *testing.T) {
	script := octaveScript(t)
	answers := octaveAnswers{Program: "octave", Version: strings.TrimSpace(octave(t, "disp(version)")), Script: digest(script)}
	out := strings.NewReader(octave(t, script))
	for seed := range uint64(octaveBearers) {
		a := octaveAnswer{Seed: seed}
		for range octaveBearer(seed).Supports {
			var r, m, h float64
			if _, err := fmt.Fscan(out, &r, &m, &h); err != nil {
				t.Fatalf("bearer %d: %v", seed, err)
			}
			a.Reactions, a.Moments, a.Heights = append(a.Reactions, r), append(a.Moments, m), append(a.Heights, h)
		}
		answers.Bearers = append(answers.Bearers, a)
	}
	text, err := json.MarshalIndent(answers, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(octaveFile, append(text, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// octave runs a script and returns what it prints.
func octave(t *testing.T, script string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "bearers.m")
	if err := os.WriteFile(file, []byte(script), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("octave-cli", "--no-init-file", "--quiet", file)
	var faults strings.Builder
	cmd.Stderr = &faults
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("octave: %v: %s", err, faults.String())
	}
	return string(out)
}
