package events_test

import (
	"encoding/json"
	"errors"
	"maps"
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

func TestReceiveNamesTheField(t *testing.T) {
	for field, bad := range map[string][]any{
		"id":            {nil, "", 7.0},
		"job":           {nil, ""},
		"kind":          {nil, "", strings.Repeat("x", 41), 7.0},
		"v":             {nil, 0, -1, "1", 1.5},
		"at":            {nil, "1066-10-14T09:00:00Z"},
		"device":        {nil, ""},
		"device_seq":    {nil, 0, -3, "7"},
		"seen_seq":      {-1, "6"},
		"clock_session": {strings.Repeat("s", 65), 7.0},
		"body":          {nil, []any{1}, "text", 7.0},
		"files":         {make41()},
	} {
		for _, value := range bad {
			e := envelope()
			if e[field] = value; value == nil {
				delete(e, field)
			}
			_, err := receive(t, e)
			var input *levelling.InputError
			if !errors.As(err, &input) || (input.Field != field && input.Field != "event") {
				t.Errorf("%s = %v: %v", field, value, err)
			}
			if input != nil && input.Field == "event" && !strings.Contains(input.Cure, "id") {
				t.Errorf("%s = %v: the error names nothing: %v", field, value, err)
			}
		}
	}
}

func make41() []any {
	list := make([]any, 41)
	for i := range list {
		list[i] = photo()
	}
	return list
}

func TestReceiveNamesTheFile(t *testing.T) {
	for field, bad := range map[string][]any{
		"type":       {"", "film"},
		"sha256":     {nil},
		"bytes":      {0, -1, 17 << 20},
		"media_type": {"", strings.Repeat("m", 61)},
		"subject":    {strings.Repeat("s", 201)},
		"stage":      {"later"},
	} {
		for _, value := range bad {
			file := maps.Clone(photo())
			if file[field] = value; value == nil {
				delete(file, field)
			}
			e := envelope()
			e["files"] = []any{photo(), file}
			_, err := receive(t, e)
			var input *levelling.InputError
			if !errors.As(err, &input) || input.Field != "files[1]."+field {
				t.Errorf("%s = %v: %v", field, value, err)
			}
		}
	}
	file := photo()
	file["type"], file["media_type"], file["bytes"] = "sound", "audio/webm", 2<<20
	e := envelope()
	e["files"] = []any{file}
	if _, err := receive(t, e); err == nil || !strings.Contains(err.Error(), "files[0].bytes") {
		t.Errorf("a sound of 2 MiB: %v", err)
	}
}

// Whatever bytes come, Receive keeps them and does not panic; what it takes is
// a whole envelope.
func FuzzReceive(f *testing.F) {
	raw, _ := json.Marshal(envelope())
	f.Add(raw)
	f.Add([]byte(`{"at":"9999-12-31T23:59:59Z","v":9223372036854775807}`))
	f.Add([]byte(`{"body":{"a":[`))
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
