package levelling_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"relevel/levelling"
)

const (
	networkFile   = "testdata/network-octave.json"
	networkSeed   = 60
	networkPoints = 60
)

// networkAnswers is what another program found for the random network: heights
// above the first fixed point and standard deviations in the order in which the
// unknowns come up, redundancies in that of the observations.
type networkAnswers struct {
	Program      string    `json:"program"`
	Version      string    `json:"version"`
	Seed         uint64    `json:"seed"`
	Script       string    `json:"script_sha256"` // the beginning, of the script it was given
	Heights      []float64 `json:"heights_mm"`
	SDs          []float64 `json:"sds_mm"`
	Redundancies []float64 `json:"redundancies"`
}

// octaveScript asks for the dense solution and prints one number a line.
func octaveScript(d *dense) string {
	var rows, columns, signs, values, sds []string
	for i, r := range d.rows {
		values = append(values, fmt.Sprintf("%.17g", r.value))
		sds = append(sds, fmt.Sprintf("%.17g", r.sd))
		for k := range len(d.column) {
			if sign, ok := r.of[k]; ok {
				rows = append(rows, fmt.Sprint(i+1))
				columns = append(columns, fmt.Sprint(k+1))
				signs = append(signs, fmt.Sprint(sign))
			}
		}
	}
	return fmt.Sprintf(`i = [%s]; j = [%s]; s = [%s];
l = [%s]'; sd = [%s]';
A = full(sparse(i, j, s, %d, %d)) ./ sd;
x = A \ (l ./ sd);
Q = inv(A' * A);
printf("%%.17g\n", x, sqrt(diag(Q)), 1 - sum((A * Q) .* A, 2));
`, strings.Join(rows, " "), strings.Join(columns, " "), strings.Join(signs, " "),
		strings.Join(values, " "), strings.Join(sds, " "), len(d.rows), len(d.column))
}

// Octave's dense least squares on a random network: the same heights, standard
// deviations and redundancies.
func TestNetworkOctave(t *testing.T) {
	raw, err := os.ReadFile(networkFile)
	if err != nil {
		t.Fatal(err)
	}
	var want networkAnswers
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	n := randomNetwork(networkSeed, networkPoints)
	d := newDense(n)
	if digest(octaveScript(d)) != want.Script {
		t.Fatal("the network is not the one that was solved: run make oracles")
	}
	a := adjust(t, n)
	if len(a.Points) != networkPoints || len(want.Heights) != len(a.Points)-len(n.Fixed)+len(a.Planes) || len(want.Redundancies) != len(a.Observations) {
		t.Fatalf("%d points, %d heights and %d redundancies are no answer", len(a.Points), len(want.Heights), len(want.Redundancies))
	}
	seen := 0
	compare := func(prefix string, all []levelling.AdjustedHeight) {
		for _, h := range all {
			k, unknown := d.column[prefix+h.Name]
			if !unknown {
				continue
			}
			seen++
			if math.Abs(h.MM-n.Fixed[0].HeightMM-want.Heights[k]) > 1e-9 || math.Abs(h.SD-want.SDs[k]) > 1e-11 {
				t.Errorf("%s: %+v, want %.12f ± %.12f", h.Name, h, want.Heights[k], want.SDs[k])
			}
		}
	}
	compare("", a.Points)
	compare("/", a.Planes)
	if seen != len(want.Heights) {
		t.Errorf("%d unknowns compared of %d", seen, len(want.Heights))
	}
	wantNear(t, "redundancies", want.Redundancies, redundancies(a), 1e-11)
}
