package web

import (
	"errors"
	"strings"

	"relevel/events"
)

// reasons reads why, for each of several supports, one on each line: "B1-3 the
// hearth is not to be touched".
func reasons(raw string) ([]events.Reason, error) {
	var all []events.Reason
	for _, line := range split(raw, "\n") {
		support, why, said := strings.Cut(line, " ")
		if !said || strings.TrimSpace(why) == "" {
			return nil, errors.New("on each line a support and why, such as B1-3 the hearth is not to be touched")
		}
		all = append(all, events.Reason{Support: strings.TrimSuffix(support, ":"), Why: strings.TrimSpace(why)})
	}
	return all, nil
}

// ReasonsText writes reasons as the form takes them.
func ReasonsText(all []events.Reason) string {
	lines := make([]string, len(all))
	for i, r := range all {
		lines[i] = r.Support + " " + r.Why
	}
	return strings.Join(lines, "\n")
}
