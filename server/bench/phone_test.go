//go:build bench

package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// What a record may cost on a phone that is slower than this machine by so much, and
// the drawing of a floor.
const (
	phoneSlower = 4
	phoneRecord = 15 * time.Millisecond
	phoneDraw   = 50 * time.Millisecond
	phoneOnes   = 60
	phoneWASM   = "../web/dist/phone/relevel.wasm"
)

// TestComparePhone prints what a record costs on a phone: the WebAssembly of the phone
// under node, slowed down by reckoning.
func TestComparePhone(t *testing.T) {
	fmt.Printf("On a phone, %d times slower than this machine: the time that it may take to what it took.\n", phoneSlower)
	record, _ := measurePhone(t, 200)
	_, drawing := measurePhone(t, 120)
	record.print()
	drawing.print()
}

// measurePhone takes in a job, and then records one event after the other, each with
// the figures it changes and a new drawing.
func measurePhone(t *testing.T, supports int) (record, drawing figure) {
	id, log, next := readHouse(t, supports)
	state := jobs.Refold(id, log)
	var asked []call
	for part := range slices.Chunk(log, 500) {
		asked = append(asked, takeCall(id, part))
	}
	taking := len(asked)
	for range phoneOnes {
		e := next()
		jobs.Fold(state, e)
		asked = append(asked,
			call{"record", request{"job": id, "events": []json.RawMessage{e.Raw}}},
			call{"figures", request{"job": id, "now": e.At, "names": state.Touched([]events.Stored{e})}},
			call{"floor", request{"job": id, "now": e.At, "region": "AU"}})
	}
	took := underNode(t, asked)
	var records, drawings []time.Duration
	for i := taking; i < len(took); i += 3 {
		records, drawings = append(records, phoneSlower*(took[i]+took[i+1])), append(drawings, phoneSlower*took[i+2])
	}
	var whole time.Duration
	for _, one := range took[:taking] {
		whole += phoneSlower * one
	}
	return figure{"phone-record", within(phoneRecord, records), fmt.Sprintf("one more in %d events at %d supports on two faces, with its figures: %v of at most %v; all of them from nothing %v",
			len(log), supports, short(quantile(records, 0.5)), phoneRecord, short(whole))},
		figure{"phone-drawing", within(phoneDraw, drawings), fmt.Sprintf("the floor of %d supports drawn again: %v of at most %v", supports, short(quantile(drawings, 0.5)), phoneDraw)}
}

// call is one request of a page to its worker.
type call struct {
	name    string
	request request
}

type request map[string]any

// takeCall hands over events as the API lists them.
func takeCall(job events.ID, part []events.Stored) call {
	var listed []any
	for _, e := range part {
		listed = append(listed, map[string]any{"seq": e.Seq, "recorded_at": e.RecordedAt, "event": json.RawMessage(e.Raw)})
	}
	return call{"take", request{"job": job, "events": listed}}
}

// underNode asks one thing after the other and tells how long each took.
func underNode(t *testing.T, asked []call) (took []time.Duration) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	must(t, err)
	var in, complaints bytes.Buffer
	for _, a := range asked {
		inner, err := json.Marshal(a.request)
		must(t, err)
		line, err := json.Marshal([]string{a.name, string(inner)})
		must(t, err)
		in.Write(append(line, '\n'))
	}
	node := exec.Command("node", "../../cmd/phonewasm/seam/testdata/drive.cjs", filepath.Join(strings.TrimSpace(string(root)), "lib/wasm/wasm_exec.js"), phoneWASM)
	node.Stdin, node.Stderr, node.Env = &in, &complaints, os.Environ()
	out, err := node.Output()
	if err != nil {
		t.Fatalf("run node: %v\n%s", err, complaints.Bytes())
	}
	for line := range bytes.Lines(out) {
		var answer string
		var µs float64
		must(t, json.Unmarshal(line, &[]any{&answer, &µs}))
		if strings.HasPrefix(answer, `{"error"`) {
			t.Fatalf("call %d: %s", len(took), answer)
		}
		took = append(took, time.Duration(µs*float64(time.Microsecond)))
	}
	if len(took) != len(asked) {
		t.Fatalf("%d answers to %d calls", len(took), len(asked))
	}
	return took
}
