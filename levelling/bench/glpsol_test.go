//go:build bench

package bench

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// glpsol solves a linear program and returns its optimum.
func glpsol(t *testing.T, file string) (float64, error) {
	out := filepath.Join(t.TempDir(), "floor.out")
	if log, err := exec.Command("glpsol", "--lp", file, "-w", out).CombinedOutput(); err != nil {
		return 0, fmt.Errorf("run glpsol: %w: %s", err, log)
	}
	solution, err := os.ReadFile(out)
	if err != nil {
		return 0, fmt.Errorf("read the solution: %w", err)
	}
	for line := range strings.Lines(string(solution)) {
		var rows, columns int
		var primal, dual string
		var optimum float64
		if n, _ := fmt.Sscanf(line, "s bas %d %d %s %s %g", &rows, &columns, &primal, &dual, &optimum); n == 5 {
			return optimum, nil
		}
	}
	return 0, fmt.Errorf("no solution in %s", solution)
}
