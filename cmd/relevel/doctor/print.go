package doctor

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// Print writes findings for people: a line each below its group, and what to do below
// it.
func Print(w io.Writer, all []Finding) error {
	var b strings.Builder
	group, counts := "", map[Verdict]int{}
	for _, f := range all {
		if f.Group != group {
			group = f.Group
			fmt.Fprintln(&b, group)
		}
		counts[f.Verdict]++
		fmt.Fprintf(&b, "  %-5s  %s: %s\n", f.Verdict, f.Check, oneLine(f.Says))
		if f.Cure != "" {
			fmt.Fprintf(&b, "         %s\n", oneLine(f.Cure))
		}
	}
	fmt.Fprintf(&b, "%d ok, %d to look at, %d wrong\n", counts[OK], counts[Look], counts[Wrong])
	_, err := io.WriteString(w, b.String())
	return err
}

// PrintJSON writes findings for programs: an object a line.
func PrintJSON(w io.Writer, all []Finding) error {
	out := json.NewEncoder(w)
	for _, f := range all {
		if err := out.Encode(f); err != nil {
			return err
		}
	}
	return nil
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
