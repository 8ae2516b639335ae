package server_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/server"
)

var update = flag.Bool("update", false, "write examples.json anew")

// exchange is an example of an operation: what was sent and what a server answered.
type exchange struct {
	Address string          `json:"address"`
	Media   string          `json:"media,omitempty"` // of what is sent, if it is no JSON
	Sent    json.RawMessage `json:"sent,omitempty"`
	Status  int             `json:"status"`
	Answer  json.RawMessage `json:"answer,omitempty"`
}

// The examples that the description shows are what a server answers a firm that has
// one of everything, but for what differs each time.
func TestExamples(t *testing.T) {
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	w := newWorldCalled(t, s, clock, "wattle", "B1-1", "B1-2")
	s.everythingOf(t, w) // the figures that lists show are saved behind the answers
	all := map[string]exchange{}
	for _, d := range readingFirst(doors) {
		q := d.request()
		name := strings.Replace(d.route, " /api/v1", " ", 1)
		if _, has := all[name]; has || !strings.HasPrefix(q.path, "/api/v1/") {
			continue
		}
		clock.tick()
		w.renew(t)
		if all[name] = w.example(t, q); all[name].Status >= 400 && all[name].Status != d.answers {
			t.Errorf("%s: an example that is answered %d", name, all[name].Status)
		}
	}
	kinds := map[string]json.RawMessage{}
	for _, kind := range kindsWithFixtures(t) {
		kinds[kind.name] = kind.text
	}
	text, err := json.MarshalIndent(map[string]any{"operations": all, "kinds": kinds}, "", " ")
	must(t, err)
	text = alwaysTheSame(append(text, '\n'))
	if *update {
		must(t, os.WriteFile("examples.json", text, 0o644))
		return
	}
	if diff := cmp.Diff(string(server.ExamplesJSON), string(text)); diff != "" {
		t.Errorf("the examples are not what is answered now: run go test ./server -run TestExamples -update (-shown +answered)\n%s", diff)
	}
}

// example asks and keeps what was said on both sides.
func (w *world) example(t *testing.T, q request) exchange {
	t.Helper()
	names := maps.Clone(w.names)
	names["new"], names["now"], names["count"] = newID(t).String(), w.clock.now().Format("2006-01-02T15:04:05.000Z07:00"), "15"
	q.path, q.body = fill(q.path, names), fill(w.asOfNow(t, q.body), names)
	q.body = strings.Replace(q.body, noCode, w.code(t), 1)
	a := w.ask(t, q, names)
	e := exchange{Address: strings.TrimPrefix(q.path, "/api/v1"), Status: a.status}
	switch {
	case q.media != "application/json":
		e.Media = q.media
	case q.body != "":
		e.Sent = json.RawMessage(q.body)
	}
	if strings.HasSuffix(a.header.Get("Content-Type"), "json") && q.path != "/api/v1/openapi.json" {
		e.Answer = shortened(t, a.body)
	}
	return e
}

// shortened is an answer in which a list ends after two, its fields in their order.
func shortened(t *testing.T, text []byte) json.RawMessage {
	t.Helper()
	var out bytes.Buffer
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	must(t, shorten(d, &out, false))
	return out.Bytes()
}

const mostOfAList = 2

// shorten copies one value, or reads over it.
func shorten(d *json.Decoder, out *bytes.Buffer, over bool) error {
	token, err := d.Token()
	if err != nil {
		return err
	}
	write := func(format string, args ...any) {
		if !over {
			fmt.Fprintf(out, format, args...)
		}
	}
	open, isDelim := token.(json.Delim)
	if !isDelim {
		text, err := json.Marshal(token)
		write("%s", text)
		return err
	}
	write("%s", open)
	for n := 0; d.More(); n++ {
		hidden := over || open == '[' && n >= mostOfAList
		if n > 0 && !hidden {
			write(",")
		}
		if open == '{' {
			key, err := d.Token()
			if err != nil {
				return err
			}
			write("%q:", key)
		}
		if err := shorten(d, out, hidden); err != nil {
			return err
		}
	}
	end, err := d.Token()
	write("%s", end)
	return err
}

var (
	anyDigest = regexp.MustCompile(`\b[0-9a-f]{64}\b`)
	anyBase64 = regexp.MustCompile(`"(root|leaf|salt)": "[^"]*"`)
	anyBytes  = regexp.MustCompile(`"bytes": "[^"]{40,}"`)
	anyOwn    = regexp.MustCompile(`"created_at": "2[^"]*\.\d{4,}Z"`) // of the test's own access
	aCode     = regexp.MustCompile(`"code": "[^"]*"`)
	aToken    = regexp.MustCompile(`"token": "[^"]*"`)
	aSecret   = regexp.MustCompile(`"secret": "[^"]*"`)
	aRoot     = regexp.MustCompile(`\\n[A-Za-z0-9+/]{43}=`) // of a checkpoint, and who signed it
	aSigning  = regexp.MustCompile(`(— \S+) [A-Za-z0-9+/]{80,}=*`)
	aShare    = regexp.MustCompile(`"link": "http://localhost:\d+/s/[^"]*"`)
	aRequest  = regexp.MustCompile(`"request_id": "[^"]*"`)
)

// alwaysTheSame puts something in the place of whatever differs each time.
func alwaysTheSame(text []byte) []byte {
	numbered := func(format string) func([]byte) []byte {
		var seen []string
		return func(found []byte) []byte {
			i := slices.Index(seen, string(found))
			if i < 0 {
				i, seen = len(seen), append(seen, string(found))
			}
			return fmt.Appendf(nil, format, i+1)
		}
	}
	text = anyID.ReplaceAllFunc(text, numbered("0190c5a2-3b10-7a00-8000-%012x"))
	text = anyDigest.ReplaceAllFunc(text, numbered("%064x"))
	text = anyBase64.ReplaceAll(text, []byte(`"$1": "hMkQ…="`))
	text = anyBytes.ReplaceAll(text, []byte(`"bytes": "eyJpZCI6…"`))
	text = anyOwn.ReplaceAll(text, []byte(`"created_at": "2026-03-02T10:00:00Z"`))
	text = aToken.ReplaceAll(text, []byte(`"token": "rl_…"`))
	text = aSecret.ReplaceAll(text, []byte(`"secret": "rlh_…"`))
	text = aRoot.ReplaceAll(text, []byte(`\nhMkQ…=`))
	text = aSigning.ReplaceAll(text, []byte("$1 eEvk…="))
	text = aShare.ReplaceAll(text, []byte(`"link": "https://levels.example/s/…#…"`))
	text = aRequest.ReplaceAll(text, []byte(`"request_id": "5f1d0c2a9be34c77"`))
	return aCode.ReplaceAll(text, []byte(`"code": "K7QM-2XWD"`))
}
