//go:build bench

package bench

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os/exec"
	"strings"
	"testing"
	"time"

	"relevel/levelling"
)

// octave is a session of that program which holds the weighted matrix A and
// right side b of a network.
type octave struct {
	in       io.WriteCloser
	out      *bufio.Reader
	points   map[string]int // columns of points, from 0
	unknowns int
}

func newOctave(t *testing.T, n levelling.Network) *octave {
	t.Helper()
	cmd := exec.Command("octave-cli", "--no-init-file", "--quiet")
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		in.Close()
		cmd.Wait() // it has answered all it was asked
	})
	o := &octave{in: in, out: bufio.NewReader(out)}
	o.load(t, n)
	return o
}

// load hands over a network of readings from a first point fixed at 0: plane −
// point = staff.
func (o *octave) load(t *testing.T, n levelling.Network) {
	t.Helper()
	o.points = map[string]int{}
	columns, setups := 0, map[string]int{}
	column := func(known map[string]int, name string) int {
		if _, ok := known[name]; !ok {
			known[name] = columns
			columns++
		}
		return known[name]
	}
	var i, j, s, b strings.Builder
	entry := func(row, column int, value float64) {
		fmt.Fprintf(&i, " %d", row+1)
		fmt.Fprintf(&j, " %d", column+1)
		fmt.Fprintf(&s, " %.17g", value)
	}
	for row, r := range n.Readings {
		entry(row, column(setups, r.Setup), 1/r.SD)
		if r.Point != n.Fixed[0].Point {
			entry(row, column(o.points, r.Point), -1/r.SD)
		}
		fmt.Fprintf(&b, " %.17g", r.StaffMM/r.SD)
	}
	o.unknowns = columns
	o.tell(t, fmt.Sprintf("i = [%s]; j = [%s]; s = [%s]; b = [%s]'; A = sparse(i, j, s, %d, %d);",
		&i, &j, &s, &b, len(n.Readings), columns))
}

func (o *octave) tell(t *testing.T, script string) {
	t.Helper()
	if _, err := io.WriteString(o.in, script+"\n"); err != nil {
		t.Fatal(err)
	}
}

// number reads the next line, which is a number.
func (o *octave) number(t *testing.T) (x float64) {
	t.Helper()
	line, err := o.out.ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Sscan(line, &x); err != nil {
		t.Fatalf("%q: %v", line, err)
	}
	return x
}

// timed has a statement run and takes its time by the program's own clock.
func (o *octave) timed(t *testing.T, statement string) time.Duration {
	t.Helper()
	o.tell(t, `tic; `+statement+`; took = toc; printf("%.9f\n", took); fflush(stdout);`)
	return time.Duration(o.number(t) * float64(time.Second))
}

// compare checks the x of the session against heights.
func (o *octave) compare(t *testing.T, heights map[string]float64, within float64) {
	t.Helper()
	o.tell(t, `printf("%.17g\n", x); fflush(stdout);`)
	x := make([]float64, o.unknowns)
	for k := range x {
		x[k] = o.number(t)
	}
	for name, k := range o.points {
		if math.Abs(x[k]-heights[name]) > within {
			t.Fatalf("%s is %v, octave says %v", name, heights[name], x[k])
		}
	}
}
