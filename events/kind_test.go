package events_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/frozentest"
)

var update = flag.Bool("update", false, "write the fixtures as this program writes them")

// Every kind has one fixture for each version, for ever: what was stored once
// must be readable by every later program, and nothing of it may be lost.
func TestFixtures(t *testing.T) {
	for _, kind := range events.Kinds() {
		t.Run(string(kind), func(t *testing.T) {
			path := filepath.Join("testdata", "kinds", string(kind)+"-1.json")
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatalf("no fixture: %v", err)
			}
			body, err := events.Open(kind, 1, raw)
			if err != nil {
				t.Fatalf("open: %v", err)
			}
			again, err := json.MarshalIndent(body, "", "  ")
			if err != nil {
				t.Fatal(err)
			}
			again = append(again, '\n')
			if *update {
				if in := frozentest.Released(t, released, string(kind)+" 1"); in != "" && !bytes.Equal(raw, again) {
					t.Fatalf("the fixture is released in %s and stays as it is: give the kind another version", in)
				}
				if err := os.WriteFile(path, again, 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if diff := cmp.Diff(string(raw), string(again)); diff != "" {
				t.Errorf("what was read is not what is written back (-fixture +written):\n%s", diff)
			}
		})
	}
}

func TestFixturesOfKnownKindsOnly(t *testing.T) {
	files, err := filepath.Glob("testdata/kinds/*.json")
	if err != nil || len(files) != len(events.Kinds()) {
		t.Fatalf("%d fixtures for %d kinds (%v)", len(files), len(events.Kinds()), err)
	}
}

func TestOpen(t *testing.T) {
	for _, tt := range []struct {
		name, kind, body string
		field            string // of the InputError; empty: none
	}{
		{"OK", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":-412.5}`, ""},
		{"UnknownFieldIsPassedOver", "jack-down", `{"support":"B1-1","later":true}`, ""},
		{"NotReadNeedsNoSetup", "reading", `{"point":"B1-1","face":"bearer","not_read":"a tank stands on it"}`, ""},
		{"StaffMissing", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer"}`, "staff"},
		{"StaffNaN", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":NaN}`, "body"},
		{"StaffOverFiveMetres", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":5001}`, "staff"},
		{"StaffOverFiveMetresInFeet", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":{"value":16.5,"unit":"ft"}}`, "staff"},
		{"StaffInFurlongs", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":{"value":1,"unit":"furlong"}}`, "staff"},
		{"StaffAsText", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"bearer","staff":"1284"}`, "staff"},
		{"SetupNoID", "reading", `{"setup":"the first","point":"B1-1","face":"bearer","staff":1}`, "setup"},
		{"SetupFarTooVague", "setup", `{"instrument":"laser","sd_mm_per_m":6,"datums":[{"datum":"D1","staff":1}]}`, "sd_mm_per_m"},
		{"SetupStandsOffTheEarth", "setup", `{"instrument":"laser","sd_mm_per_m":1,"stand":[1e200,0],"datums":[{"datum":"D1","staff":1}]}`, "stand[0]"},
		{"VoidOfNoID", "void", `{"event":"0190","why":"slip"}`, "event"},
		{"ErasedNothing", "erased", `{"why":"asked for"}`, "records"},
		{"ErasedTwice", "erased", `{"records":[3,3],"why":"asked for"}`, "records[1]"},
		{"ErasedFileOfNoRecord", "erased", `{"files":[{"record":0,"no":1}],"why":"asked for"}`, "files[0]"},
		{"ErasedWithoutReason", "erased", `{"records":[3]}`, "why"},
		{"UnderlayNoDigest", "plan", `{"underlay":{"sha256":"abc"}}`, "underlay"},
		{"FaceUnknown", "reading", `{"setup":"0190c5a2-3b10-7a00-8000-000000000015","point":"B1-1","face":"roof","staff":1}`, "face"},
		{"MoveTooFar", "jacking", `{"moves":[{"support":"B1-1","by":301,"gauge":"rule"}]}`, "moves[0].by"},
		{"FinalWithoutPieces", "packing", `{"support":"B1-1","sort":"final","full_width":true}`, "pieces"},
		{"NameTwice", "plan", `{"supports":[{"id":"A","x":0,"y":0},{"id":"A","x":1,"y":0}]}`, "supports[1].id"},
		{"BearerOfNobody", "plan", `{"supports":[{"id":"A","x":0,"y":0}],"bearers":[{"id":"B","supports":["A","C"]}]}`, "bearers[0].supports[1]"},
		{"ButtedNeedsItsOther", "plan", `{"supports":[{"id":"A","x":0,"y":0},{"id":"C","x":1,"y":0}],"bearers":[{"id":"B","supports":["A","C"],"joins":[{"at":"A","sort":"butted"}]}]}`, "bearers[0].joins[0].other"},
		{"LevelNeedsHeight", "aim", `{"aim":"level","agreed_by":"owner"}`, "height"},
		{"SignedTwoThings", "signed", `{"support":"A","floor":true}`, "support"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := events.Open(events.Kind(tt.kind), 1, []byte(tt.body))
			var bad *levelling.InputError
			switch {
			case tt.field == "" && err != nil:
				t.Fatalf("refused: %v", err)
			case tt.field != "" && !errors.As(err, &bad):
				t.Fatalf("got %v, want an InputError on %s", err, tt.field)
			case tt.field != "" && bad.Field != tt.field:
				t.Errorf("blames %q (%s), want %q", bad.Field, bad.Cure, tt.field)
			}
		})
	}
}

func TestOpenNewer(t *testing.T) {
	for _, tt := range []struct {
		kind events.Kind
		v    int
	}{{"levitation", 1}, {events.KindReading, 2}} {
		if _, err := events.Open(tt.kind, tt.v, []byte(`{}`)); !errors.Is(err, events.ErrNewer) {
			t.Errorf("%s version %d: got %v, want ErrNewer", tt.kind, tt.v, err)
		}
	}
}

func TestLength(t *testing.T) {
	for _, tt := range []struct {
		json string
		mm   float64
	}{
		{`1284`, 1284}, {`-412.5`, -412.5}, {`{"value":4.21,"unit":"ft"}`, 1283.208}, {`{"value":50.625,"unit":"in"}`, 1285.875},
	} {
		var l events.Length
		if err := json.Unmarshal([]byte(tt.json), &l); err != nil {
			t.Fatal(err)
		}
		if math.Abs(l.MM()-tt.mm) > 1e-9 {
			t.Errorf("%s is %v mm, want %v", tt.json, l.MM(), tt.mm)
		}
		if again, _ := json.Marshal(l); string(again) != tt.json {
			t.Errorf("%s is written back as %s: what was read is what is kept", tt.json, again)
		}
	}
}

// Whatever bytes come, opening a body either gives a body that can be written
// back and opened again, or an error that names a field, and never panics.
func FuzzOpen(f *testing.F) {
	for _, kind := range events.Kinds() {
		raw, err := os.ReadFile(filepath.Join("testdata", "kinds", string(kind)+"-1.json"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(kind), raw)
	}
	f.Fuzz(func(t *testing.T, kind string, raw []byte) {
		body, err := events.Open(events.Kind(kind), 1, raw)
		if err != nil {
			var bad *levelling.InputError
			if !errors.Is(err, events.ErrNewer) && (!errors.As(err, &bad) || bad.Field == "" || strings.TrimSpace(bad.Cure) == "") {
				t.Fatalf("an error without a field or a cure: %v", err)
			}
			return
		}
		again, err := json.Marshal(body)
		if err != nil {
			t.Fatalf("a body that opened cannot be written: %v", err)
		}
		if _, err := events.Open(events.Kind(kind), 1, again); err != nil {
			t.Fatalf("what was written back does not open: %v\n%s", err, bytes.TrimSpace(again))
		}
	})
}
