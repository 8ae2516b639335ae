package server_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"reflect"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// fromDesk is recorded at a desk only.
var fromDesk = []events.Kind{events.KindPlan, events.KindAim}

// What the phone's recorders record, by web/src/test/bodies.ts: package events
// reads every body, knows every field of it, and the fold counts it.
func TestPhoneBodies(t *testing.T) {
	node := nodeTool(t)
	bundleNodeTests(t)
	site := newSmallSite(t)
	given, err := json.Marshal(map[string]any{
		"picture": site.picture(), "office": map[string]any{"people": []any{map[string]any{"id": site.by, "name": "Ada Byron"}}}, "reading": site.read,
	})
	must(t, err)
	run := exec.Command(node, "--enable-source-maps", "web/dist/test/bodies.js")
	run.Stdin = bytes.NewReader(given)
	var wrong bytes.Buffer
	run.Stderr = &wrong
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, &wrong)
	}
	var samples []struct {
		Kind events.Kind
		Body json.RawMessage
	}
	must(t, json.Unmarshal(out, &samples))
	left := slices.DeleteFunc(events.Kinds(), func(k events.Kind) bool { return slices.Contains(fromDesk, k) || k.OfCommand() })
	for _, s := range samples {
		left = slices.DeleteFunc(left, func(k events.Kind) bool { return k == s.Kind })
		if err := readWhole(s.Kind, s.Body); err != nil {
			t.Errorf("%s %s: %v", s.Kind, s.Body, err)
		} else if why := site.aside(s.Kind, s.Body); why != "" {
			t.Errorf("%s %s is set aside: %s", s.Kind, s.Body, why)
		}
	}
	if len(left) > 0 {
		t.Errorf("the phone records no %v", left)
	}
}

// readWhole opens a body as events does, and misses no field of it: one that is
// spelt otherwise would be passed over.
func readWhole(kind events.Kind, raw []byte) error {
	body, err := events.Open(kind, 1, raw)
	if err != nil {
		return err
	}
	again := json.NewDecoder(bytes.NewReader(raw))
	again.DisallowUnknownFields()
	if err := again.Decode(reflect.New(reflect.TypeOf(body).Elem()).Interface()); err != nil {
		return err
	}
	for _, empty := range []string{`:""`, `:[]`, `:{}`, `:null`} {
		if strings.Contains(string(raw), empty) {
			return fmt.Errorf("says %s", empty)
		}
	}
	return nil
}

// smallSite is a small job on which everything can be recorded.
type smallSite struct {
	*device
	log  []events.Stored
	read events.ID // a reading that counts
}

func newSmallSite(t *testing.T) *smallSite {
	s := &smallSite{device: newDevice(t, newID(t))}
	s.record(events.KindPlan, strings.Replace(smallPlan, "{", `{"rooms":[{"name":"hall","outline":[[0,0],[4,0],[4,4],[0,4]]}],`, 1))
	setup := s.record(events.KindSetup, `{"instrument":"laser","datums":[{"datum":"D1","staff":1000}]}`)
	s.read = s.record(events.KindReading, fmt.Sprintf(`{"setup":"%s","point":"B1-1","face":"floor","staff":1010}`, setup))
	s.record(events.KindTie, `{"tie":"T1","what":"waste pipe","supports":["B1-1"]}`)
	s.record(events.KindTieFreed, `{"tie":"T1"}`)
	s.record(events.KindFloorCut, `{"cut":"C1","where":"kitchen"}`)
	s.record(events.KindFinding, `{"what":"rotten","supports":["B1-2"]}`)
	s.record(events.KindChange, `{"text":"two more piers"}`)
	s.record(events.KindBlocking, `{"place":"K1","supports":["B1-2"],"what":"crossed timbers","base":"sleepers"}`)
	s.record(events.KindStop, `{"why":"something cracks","ask":"the office"}`)
	s.record(events.KindGapReading, `{"gap":"crack 1","what":"crack","width":4,"watch":3}`)
	return s
}

func (s *smallSite) record(kind events.Kind, body string) events.ID {
	s.t.Helper()
	e := s.stored(kind, body)
	s.log = append(s.log, e)
	return e.ID
}

func (s *smallSite) stored(kind events.Kind, body string) events.Stored {
	s.t.Helper()
	_, raw := s.event(string(kind), body)
	in, err := events.Receive([]byte(raw))
	must(s.t, err)
	return events.Stored{Event: in.Event, Seq: int64(len(s.log) + 1), RecordedAt: in.Event.At, Raw: in.Raw}
}

func (s *smallSite) picture() jobs.Picture {
	return jobs.Refold(s.job, s.log).Picture(s.at)
}

// aside says why the fold does not count what is recorded next, "" where it does.
func (s *smallSite) aside(kind events.Kind, body []byte) string {
	s.t.Helper()
	e := s.stored(kind, string(body))
	for _, a := range jobs.Refold(s.job, append(slices.Clone(s.log), e)).Picture(s.at).SetAside {
		if a.ID == e.ID {
			return a.Reason
		}
	}
	return ""
}
