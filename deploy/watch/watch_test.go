package watch_test

import (
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
)

// metric is what the server says of one: its type, and its labels.
type metric struct {
	kind   string
	labels []string
}

// metrics reads the names that a test of the server holds, and adds what every server
// has and what Prometheus itself says.
func metrics(t *testing.T) map[string]metric {
	t.Helper()
	text, err := os.ReadFile("../../server/metrics/testdata/names.txt")
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]metric{
		"up": {kind: "gauge"}, "process_open_fds": {kind: "gauge"}, "process_max_fds": {kind: "gauge"}, "process_resident_memory_bytes": {kind: "gauge"},
		"process_cpu_seconds_total": {kind: "counter"}, "go_goroutines": {kind: "gauge"}, "go_memstats_heap_inuse_bytes": {kind: "gauge"},
	}
	for line := range strings.Lines(string(text)) {
		words := strings.Fields(line)
		m := metric{kind: words[1]}
		if len(words) > 2 {
			m.labels = strings.Split(words[2], ",")
		}
		if m.kind == "histogram" {
			m.labels = append(m.labels, "le")
		}
		known[words[0]] = m
	}
	return known
}

var (
	selector = regexp.MustCompile(`\b(up|(?:relevel|process|go)_\w+)(\{[^}]*\})?(\[\w+\])?`)
	matcher  = regexp.MustCompile(`(\w+)\s*[!=]~?\s*"`)
	grouping = regexp.MustCompile(`\b(?:by|ignoring)\s*\(([^)]*)\)`)
	shown    = regexp.MustCompile(`\{\{\s*(?:\$labels\.)?(\w+)\s*\}\}`)
)

// everywhere are the labels that Prometheus adds.
var everywhere = []string{"job", "instance"}

// faults says what an expression asks for that no server has, and returns the labels
// that it can be told apart by.
func faults(known map[string]metric, expr string) (faults, labels []string) {
	labels = slices.Clone(everywhere)
	for _, found := range selector.FindAllStringSubmatch(expr, -1) {
		name, of := found[1], metric{}
		for _, ending := range []string{"", "_bucket", "_sum", "_count"} {
			whole, ends := strings.CutSuffix(name, ending)
			if m, ok := known[whole]; ok && ends && (ending == "") != (m.kind == "histogram") {
				of = m
			}
		}
		if of.kind == "" {
			faults = append(faults, "no server has "+name)
			continue
		}
		if counts := of.kind == "counter" || of.kind == "histogram"; counts != (found[3] != "") {
			faults = append(faults, name+" is a "+of.kind+", and a time behind it says otherwise")
		}
		for _, m := range matcher.FindAllStringSubmatch(found[2], -1) {
			if !slices.Contains(append(of.labels, everywhere...), m[1]) {
				faults = append(faults, name+" has no label "+m[1])
			}
		}
		labels = append(labels, of.labels...)
	}
	for _, found := range grouping.FindAllStringSubmatch(expr, -1) {
		for label := range strings.SplitSeq(found[1], ",") {
			if !slices.Contains(labels, strings.TrimSpace(label)) {
				faults = append(faults, "nothing has the label "+label)
			}
		}
	}
	if strings.Count(expr, "(") != strings.Count(expr, ")") {
		faults = append(faults, "its brackets do not match")
	}
	return faults, labels
}

type ruleFile struct {
	Groups []struct {
		Name  string
		Rules []struct {
			Alert, Expr, For string
			Labels           map[string]string
			Annotations      map[string]string
		}
	}
}

func readRules(t *testing.T) (f ruleFile) {
	t.Helper()
	text, err := os.Open("relevel.rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	d := yaml.NewDecoder(text)
	d.KnownFields(true)
	if err := d.Decode(&f); err != nil {
		t.Fatal(err)
	}
	return f
}

// Every alert asks for what servers have, says who is to be woken and what to do, and is
// explained in the page for whoever is alerted.
func TestRules(t *testing.T) {
	page, err := os.ReadFile("../WATCHING.md")
	if err != nil {
		t.Fatal(err)
	}
	known, names := metrics(t), map[string]bool{}
	for _, group := range readRules(t).Groups {
		for _, r := range group.Rules {
			wrong, labels := faults(known, r.Expr)
			for _, fault := range wrong {
				t.Errorf("%s: %s", r.Alert, fault)
			}
			if s := r.Labels["severity"]; s != "page" && s != "ticket" {
				t.Errorf("%s has the severity %q", r.Alert, s)
			}
			if len(r.Annotations["what_to_do"]) < 40 || r.Annotations["summary"] == "" {
				t.Errorf("%s does not say what to do: %q", r.Alert, r.Annotations)
			}
			for _, l := range shown.FindAllStringSubmatch(r.Annotations["summary"], -1) {
				if !slices.Contains(labels, l[1]) {
					t.Errorf("%s shows the label %s, which nothing has", r.Alert, l[1])
				}
			}
			if names[r.Alert] || !strings.Contains(string(page), "`"+r.Alert+"`") {
				t.Errorf("%s is there twice, or WATCHING.md says nothing of it", r.Alert)
			}
			names[r.Alert] = true
		}
	}
	if len(names) < 15 {
		t.Errorf("only %d alerts: is the file read right?", len(names))
	}
	for _, named := range regexp.MustCompile("`(Relevel[A-Z]\\w+)`").FindAllStringSubmatch(string(page), -1) {
		if !names[named[1]] {
			t.Errorf("WATCHING.md explains %s, which is no alert", named[1])
		}
	}
}

// The dashboard asks for what servers have, and its panels lie beside each other.
func TestDashboard(t *testing.T) {
	text, err := os.ReadFile("relevel.dashboard.json")
	if err != nil {
		t.Fatal(err)
	}
	var board struct {
		Title  string
		Panels []struct {
			ID      int
			Type    string
			Title   string
			GridPos struct{ X, Y, W, H int }
			Targets []struct{ Expr, LegendFormat string }
		}
	}
	if err := json.Unmarshal(text, &board); err != nil {
		t.Fatal(err)
	}
	known, taken, ids := metrics(t), map[[2]int]string{}, map[int]bool{}
	for _, p := range board.Panels {
		if ids[p.ID] || p.Title == "" || p.Type != "row" && len(p.Targets) == 0 {
			t.Errorf("panel %d, %q, is there twice or shows nothing", p.ID, p.Title)
		}
		ids[p.ID] = true
		for _, target := range p.Targets {
			wrong, labels := faults(known, target.Expr)
			for _, l := range shown.FindAllStringSubmatch(target.LegendFormat, -1) {
				if !slices.Contains(labels, l[1]) {
					wrong = append(wrong, "nothing has the label "+l[1])
				}
			}
			for _, fault := range wrong {
				t.Errorf("%s: %s", p.Title, fault)
			}
		}
		at := p.GridPos
		for x := at.X; x < at.X+at.W; x++ {
			for y := at.Y; y < at.Y+at.H; y++ {
				if over := taken[[2]int{x, y}]; over != "" || x >= 24 {
					t.Fatalf("%q lies over %q, or beside the page", p.Title, over)
				}
				taken[[2]int{x, y}] = p.Title
			}
		}
	}
	if len(ids) < 15 {
		t.Errorf("only %d panels: is the file read right?", len(ids))
	}
}

// What an expression could ask for wrongly is noticed.
func TestFaults(t *testing.T) {
	known := metrics(t)
	for expr, want := range map[string]int{
		`max(relevel_photos_damaged) > 0`:                                         0,
		`rate(relevel_append_duration_seconds_bucket[5m])`:                        0,
		`relevel_photos_damage > 0`:                                               1,
		`rate(relevel_append_duration_seconds[5m])`:                               1,
		`relevel_panics_total > 0`:                                                1,
		`rate(relevel_photos_damaged[5m])`:                                        1,
		`relevel_db_connections{status="in_use"}`:                                 1,
		`sum by (firm) (relevel_photos_damaged)`:                                  1,
		`sum(relevel_photos_damaged`:                                              1,
		`relevel_check_up{check="database",instance="a"} == 0 or up{job="b"} > 0`: 0,
	} {
		if got, _ := faults(known, expr); len(got) != want {
			t.Errorf("%s: %q, want %d faults", expr, got, want)
		}
	}
}
