//go:build bench

package bench

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// results are figures at several sizes, as a table and as curves.
type results struct {
	names []string // in the order in which they came
	units map[string]string
	sizes []int64
	at    []map[string]float64 // by name, of each size
	id    string
}

// begin starts the figures of a size.
func (r *results) begin(size int64) {
	if r.units == nil {
		r.units, r.id = map[string]string{}, time.Now().UTC().Format("20060102T150405Z")
	}
	r.sizes, r.at = append(r.sizes, size), append(r.at, map[string]float64{})
}

func (r *results) add(name, unit string, value float64) {
	if !slices.Contains(r.names, name) {
		r.names, r.units[name] = append(r.names, name), unit
	}
	r.at[len(r.at)-1][name] = value
}

func (r *results) addMS(name string, d time.Duration) {
	r.add(name, "ms", float64(d)/float64(time.Millisecond))
}

// write writes the table: a line for each name, a column for each size.
func (r *results) write(w io.Writer) {
	fmt.Fprint(w, "| records | |")
	for _, size := range r.sizes {
		fmt.Fprintf(w, " %s |", thousands(size))
	}
	fmt.Fprint(w, "\n|---|---|"+strings.Repeat("--:|", len(r.sizes)))
	for _, name := range r.names {
		fmt.Fprintf(w, "\n| %s | %s |", name, r.units[name])
		for _, at := range r.at {
			if value, ok := at[name]; ok {
				fmt.Fprintf(w, " %s |", told(value))
			} else {
				fmt.Fprint(w, " |")
			}
		}
	}
	fmt.Fprintln(w)
}

// told writes a figure with as many digits as mean something.
func told(value float64) string {
	switch {
	case value >= 100 || value == float64(int64(value)):
		return thousands(int64(value + 0.5))
	case value >= 10:
		return fmt.Sprintf("%.1f", value)
	}
	return fmt.Sprintf("%.2f", value)
}

// thousands writes a number in groups of three digits.
func thousands(n int64) string {
	text := fmt.Sprint(n)
	for at := len(text) - 3; at > 0; at -= 3 {
		text = text[:at] + " " + text[at:]
	}
	return text
}

func (r *results) print() { r.write(os.Stdout) }

// keep writes the table and the curves into bench-results.
func (r *results) keep(t *testing.T) {
	dir := "../../bench-results"
	must(t, os.MkdirAll(dir, 0o755))
	var table bytes.Buffer
	r.write(&table)
	must(t, os.WriteFile(filepath.Join(dir, "scale-"+r.id+".md"), table.Bytes(), 0o644))
	must(t, os.WriteFile(filepath.Join(dir, "scale-"+r.id+".svg"), r.plot([]string{
		"append, 1 at once, p50", "append, 8 at once, p50", "append, 8 at once, p99", "state of a job from nothing, p50",
		"state of a job kept, p50", "day sheet of the large firm, p50", "search, many found, p50",
	}), 0o644))
}
