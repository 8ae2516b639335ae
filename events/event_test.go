package events_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/levelling"
)

// envelope is a good one, to be spoiled field by field.
func envelope() map[string]any {
	return map[string]any{
		"id": "0190c5a2-3b10-7a00-8000-000000000001", "job": "0190c5a2-3b10-7a00-8000-000000000002",
		"kind": "note", "v": 1, "at": "2026-03-02T10:15:00.250+11:00", "offset_ms": -120, "clock_session": "a",
		"device": "0190c5a2-3b10-7a00-8000-000000000003", "device_seq": 7, "seen_seq": 6,
		"by": "0190c5a2-3b10-7a00-8000-000000000004", "body": map[string]any{"text": "wet"},
		"files": []any{photo()},
	}
}

func photo() map[string]any {
	return map[string]any{
		"type": "photo", "sha256": strings.Repeat("ab", 32), "bytes": 1000, "media_type": "image/jpeg",
		"subject": "B1-2", "stage": "before", "taken_at": "2026-03-02T10:14:00Z",
	}
}

func receive(t *testing.T, e map[string]any) (events.Incoming, error) {
	t.Helper()
	raw, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	return events.Receive(raw)
}

func TestReceiveOK(t *testing.T) {
	e := envelope()
	e["of a newer phone"] = true
	in, err := receive(t, e)
	if err != nil {
		t.Fatal(err)
	}
	got := in.Event
	if got.Kind != events.KindNote || got.DeviceSeq != 7 || *got.OffsetMS != -120 || got.Files[0].Stage != events.Before {
		t.Errorf("%+v", got)
	}
	if _, zone := got.At.Zone(); zone != 11*3600 {
		t.Errorf("the device's zone is lost: %v", got.At)
	}
	for _, optional := range []string{"offset_ms", "clock_session", "files", "seen_seq", "by"} {
		e := envelope()
		delete(e, optional)
		if _, err := receive(t, e); err != nil {
			t.Errorf("without %s: %v", optional, err)
		}
	}
}

// The exact bytes are kept, as they are.
func TestReceiveKeepsBytes(t *testing.T) {
	raw := []byte(" {\"kind\" : \"note\",\t\"v\":1,\"v\":1, " + `"id":"0190c5a2-3b10-7a00-8000-000000000001","job":"0190c5a2-3b10-7a00-8000-000000000002","at":"2026-03-02T10:15:00Z","device":"0190c5a2-3b10-7a00-8000-000000000003","device_seq":1,"body":{"b":1,"a":"\u0000"}}`)
	in, err := events.Receive(raw)
	if err != nil || string(in.Raw) != string(raw) {
		t.Errorf("%q, %v", in.Raw, err)
	}
}

// missing stands for a field that is left out.
type missing struct{}

func spoil(object map[string]any, field string, value any) {
	if object[field] = value; value == (missing{}) {
		delete(object, field)
	}
}

func TestReceiveNamesTheField(t *testing.T) {
	for field, bad := range map[string][]any{
		"id":            {missing{}, nil, "", 7, "0190c5a2", "not-an-id", []string{}},
		"job":           {missing{}, nil, "", 7, "0190c5a2"},
		"kind":          {missing{}, nil, "", strings.Repeat("x", 41), 7, "Reading", "a b", "a\x00"},
		"v":             {missing{}, nil, 0, -1, "1", 1.5, 10_000, 1e30},
		"at":            {missing{}, nil, "", "1066-10-14T09:00:00Z", "yesterday", "2026-03-02T10:15:00", 1_772_000_000, "2026-02-30T10:15:00Z"},
		"offset_ms":     {"a little", 0.5},
		"clock_session": {strings.Repeat("s", 65), 7},
		"device":        {missing{}, nil, "", 7, "phone"},
		"device_seq":    {missing{}, nil, 0, -3, "7"},
		"seen_seq":      {-1, "6"},
		"by":            {7, "bob"},
		"body":          {missing{}, nil, []int{1}, "text", 7},
		"files":         {slices.Repeat([]any{photo()}, 41), slices.Repeat([]any{7}, 41), "photo", map[string]any{}},
	} {
		for _, value := range bad {
			e := envelope()
			spoil(e, field, value)
			_, err := receive(t, e)
			var input *levelling.InputError
			if !errors.As(err, &input) || input.Field != field {
				t.Errorf("%s = %v: %v", field, value, err)
			}
		}
	}
}

func TestReceiveNamesTheFile(t *testing.T) {
	for field, bad := range map[string][]any{
		"type":       {missing{}, nil, "", "film", 7},
		"sha256":     {missing{}, nil, "abcd", strings.Repeat("z", 64), 7},
		"bytes":      {missing{}, nil, 0, -1, 17 << 20, "many"},
		"media_type": {missing{}, nil, "", strings.Repeat("m", 61), 7},
		"subject":    {strings.Repeat("s", 201), 7},
		"stage":      {"later", 7},
		"taken_at":   {"yesterday", 7},
	} {
		for _, value := range bad {
			file := photo()
			spoil(file, field, value)
			e := envelope()
			e["files"] = []any{photo(), file}
			_, err := receive(t, e)
			var input *levelling.InputError
			if !errors.As(err, &input) || input.Field != "files[1]."+field {
				t.Errorf("%s = %v: %v", field, value, err)
			}
		}
	}
	e := envelope()
	e["files"] = []any{photo(), "a photo"}
	if _, err := receive(t, e); err == nil || !strings.HasPrefix(err.Error(), "files[1]: ") {
		t.Errorf("a word for a file: %v", err)
	}
	sound := photo()
	sound["type"], sound["media_type"], sound["bytes"] = "sound", "audio/webm", 2<<20
	e["files"] = []any{sound}
	if _, err := receive(t, e); err == nil || !strings.Contains(err.Error(), "files[0].bytes") {
		t.Errorf("a sound of 2 MiB: %v", err)
	}
}

func TestReceiveNoEnvelope(t *testing.T) {
	for raw, words := range map[string]string{
		"":               "not readable as JSON",
		"{":              "not readable as JSON",
		"{} x":           "not readable as JSON",
		"[]":             "cannot take an array",
		"7":              "cannot take a number",
		`{"ID":"no id"}`: "spelled in small letters",
	} {
		_, err := events.Receive([]byte(raw))
		if err == nil || !strings.HasPrefix(err.Error(), "event: ") || !strings.Contains(err.Error(), words) {
			t.Errorf("%q: %v, want %q", raw, err, words)
		}
	}
}

// What can be read of an envelope that is refused goes with it, so that the
// quarantine knows which event of which device it keeps.
func TestReceiveSalvages(t *testing.T) {
	whole, err := receive(t, envelope())
	if err != nil {
		t.Fatal(err)
	}
	for field, value := range map[string]any{"at": "yesterday", "by": "bob", "v": "1", "body": nil, "files": 7} {
		e := envelope()
		e[field] = value
		in, err := receive(t, e)
		if err == nil {
			t.Errorf("%s = %v was taken", field, value)
		}
		got, want := in.Event, whole.Event
		if got.ID != want.ID || got.Job != want.Job || got.Device != want.Device || got.DeviceSeq != want.DeviceSeq {
			t.Errorf("%s = %v: the event is lost: %+v", field, value, got)
		}
	}
}

// Whatever bytes come, Receive keeps them and does not panic; what it takes is
// a whole envelope.
func FuzzReceive(f *testing.F) {
	raw, _ := json.Marshal(envelope())
	f.Add(raw)
	f.Add([]byte(`{"at":"9999-12-31T23:59:59Z","v":9223372036854775807}`))
	f.Add([]byte(`{"body":{"a":[`))
	f.Add([]byte(`{"at":"no date","files":[{"sha256":7}],"JOB":"x"}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		in, err := events.Receive(raw)
		if string(in.Raw) != string(raw) {
			t.Fatal("the bytes were changed")
		}
		var input *levelling.InputError
		if err != nil && (!errors.As(err, &input) || input.Field == "" || input.Cure == "") {
			t.Fatalf("an error without a field or a cure: %v", err)
		}
		if err == nil && (in.Event.ID.IsZero() || in.Event.Device.IsZero() || len(in.Event.Body) == 0) {
			t.Fatalf("half an envelope was taken: %+v", in.Event)
		}
	})
}
