//go:build !js

package seam_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"relevel/cmd/phonewasm/seam"
	"relevel/events"
)

// asking is one request of a series, on the way to a seam.
type asking struct {
	name    string
	request []byte
}

func ask(t testing.TB, name string, r request) asking {
	t.Helper()
	raw, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return asking{name, raw}
}

// answered is what came back, and how long it took, µs.
type answered struct {
	answer string
	took   float64
}

// phoneBuild compiles the command as `make phonewasm` does, and returns the file.
func phoneBuild(t testing.TB) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "relevel.wasm")
	build := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-gcflags=all=-l", "-ldflags=-s -w", "-o", file, "relevel/cmd/phonewasm")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build for the phone: %v\n%s", err, out)
	}
	pack(t, file, "bare", "join")
	return file
}

// underNode answers a series by the WebAssembly of a file.
func underNode(t testing.TB, wasm string, series []asking) []answered {
	t.Helper()
	var in, complaints bytes.Buffer
	for _, a := range series {
		line, err := json.Marshal([]string{a.name, string(a.request)})
		if err != nil {
			t.Fatal(err)
		}
		in.Write(append(line, '\n'))
	}
	node := exec.Command("node", "testdata/drive.cjs", filepath.Join(goroot(t), "lib/wasm/wasm_exec.js"), wasm)
	node.Stdin, node.Stderr = &in, &complaints
	out, err := node.Output()
	if err != nil {
		t.Fatalf("run node: %v\n%s", err, complaints.Bytes())
	}
	return answersIn(t, out, len(series))
}

// goroot is where the toolchain lies, and what it has for WebAssembly.
func goroot(t testing.TB) string {
	t.Helper()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatalf("find the toolchain: %v", err)
	}
	return strings.TrimSpace(string(root))
}

func answersIn(t testing.TB, out []byte, n int) []answered {
	t.Helper()
	var all []answered
	for line := range bytes.Lines(out) {
		var a answered
		if err := json.Unmarshal(line, &[]any{&a.answer, &a.took}); err != nil {
			t.Fatalf("answer %d: %v", len(all), err)
		}
		all = append(all, a)
	}
	if len(all) != n {
		t.Fatalf("%d answers to %d requests", len(all), n)
	}
	return all
}

// onPhone is a job as its phone goes through it: what others recorded is taken in,
// what it recorded itself counts at once and is numbered a while later.
func onPhone(t testing.TB, f *floor) (series []asking) {
	t.Helper()
	var unsent []any
	for i, e := range f.log {
		if e.Device == phone {
			series = append(series, ask(t, "record", request{"job": job, "events": []any{e.Event}}))
			unsent = append(unsent, asListed(e))
		} else {
			series = append(series, ask(t, "take", request{"job": job, "events": append(unsent, asListed(e))}))
			unsent = nil
		}
		if i%8 == 0 {
			series = append(series, ask(t, "state", request{"job": job, "now": e.At}), ask(t, "lines", request{"job": job, "limit": 5}))
		}
	}
	series = append(series, ask(t, "take", request{"job": job, "events": unsent}), ask(t, "state", request{"job": job, "now": f.end()}),
		ask(t, "carrying", request{"job": job, "now": f.end(), "support": "B1-2"}), ask(t, "choices", request{"job": job}),
		ask(t, "packers", request{"job": job, "now": f.end(), "practice": request{}}),
		ask(t, "floor", request{"job": job, "now": f.end(), "region": "UK", "turn": 1, "round": true}), ask(t, "line", request{"job": job, "now": f.end(), "region": "US", "bearer": "B1"}),
		ask(t, "section", request{"job": job, "now": f.end(), "region": "AU", "support": "B1-2"}))
	return append(series, ask(t, "forget", request{"job": job}))
}

// The browser's build and this one answer the same to the last byte; how long that
// takes there is printed.
func TestUnderNode(t *testing.T) {
	wasm := phoneBuild(t)
	t.Run("SameBytes", func(t *testing.T) { sameBytes(t, wasm) })
	t.Run("TimeOfReading", func(t *testing.T) { timeOfReading(t, wasm) })
	t.Run("TimeOfDrawing", func(t *testing.T) { timeOfDrawing(t, wasm) })
}

func sameBytes(t *testing.T, wasm string) {
	var series []asking
	for seed := range uint64(12) {
		series = append(series, onPhone(t, play(t, seed, 48))...)
	}
	series = append(series, asking{"calc", []byte(`{"name":"crack","input":{"width_mm":2.5}}`)}, asking{"calc", []byte(`{"name":"crack","input":{}}`)},
		asking{"state", []byte(`{"job":"ä"}`)}, asking{"fly", nil})
	s := seam.New()
	for i, got := range underNode(t, wasm, series) {
		if want := string(s.Call(series[i].name, series[i].request)); got.answer != want {
			t.Fatalf("request %d, %s %.200s:\n native %s\n   wasm %s", i, series[i].name, series[i].request, want, got.answer)
		}
	}
}

// timeOfReading prints how long a reading takes from the record to the figures.
func timeOfReading(t *testing.T, wasm string) {
	f := play(t, 1, 300)
	var series []asking
	var pulled []any
	for _, e := range f.log {
		pulled = append(pulled, asListed(e))
	}
	series = append(series, ask(t, "take", request{"job": job, "events": pulled}), ask(t, "state", request{"job": job, "now": f.end()}))
	const readings = 200
	for i := range readings {
		at := fmt.Sprintf("B%d-%d", i%3, i%4)
		f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: at, Face: events.BearerFace, Staff: mm(1004)})
		series = append(series, ask(t, "record", request{"job": job, "events": []any{f.log[len(f.log)-1].Event}}),
			ask(t, "figures", request{"job": job, "now": f.end(), "names": []string{at}}), ask(t, "state", request{"job": job, "now": f.end()}))
	}
	answers := underNode(t, wasm, series)
	printTimes(t, fmt.Sprintf("job of %d events", len(f.log)), series, answers, "record", "figures", "state")
	fmt.Printf("phonewasm: take    %6.2f ms for %d events at once\n", answers[0].took/1000, len(pulled))
}
