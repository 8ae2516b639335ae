package events

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"relevel/levelling"
)

var (
	envelopeFields = []string{
		"id", "job", "kind", "v", "at", "offset_ms", "clock_session",
		"device", "device_seq", "seen_seq", "by", "body", "files", "from",
	}
	fileFields = []string{"type", "sha256", "bytes", "media_type", "subject", "stage", "taken_at"}
)

// salvage reads an envelope that cannot be read as a whole, field by field. It
// returns the fields that can be read, and an InputError that names the first
// one that cannot.
func salvage(raw []byte) (Event, error) {
	var e Event
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		return e, levelling.Bad("event", notAnObject(err))
	}
	bad, err := readFields(fields, envelopeFields, &e)
	switch bad {
	case "":
		return e, levelling.Bad("event", "not a readable envelope: each field once, spelled in small letters")
	case "files":
		return e, badFile(fields[bad], err)
	}
	return e, levelling.Bad(bad, unreadable(bad, err))
}

// readFields reads an object's fields of the given names into v, each by
// itself, and returns the first one that v does not take.
func readFields(fields map[string]json.RawMessage, names []string, v any) (bad string, why error) {
	for _, name := range names {
		value, given := fields[name]
		if !given {
			continue
		}
		alone := fmt.Appendf(nil, "{%q:%s}", name, value)
		if err := json.Unmarshal(alone, v); err != nil && bad == "" {
			bad, why = name, err
		}
	}
	return bad, why
}

// badFile finds which file of a list cannot be read, and which field of it.
func badFile(list json.RawMessage, err error) error {
	var files []json.RawMessage
	if err := json.Unmarshal(list, &files); err != nil {
		return levelling.Bad("files", unreadable("files", err))
	}
	if len(files) > maxFiles {
		return levelling.Bad("files", tooManyFiles)
	}
	for i, file := range files {
		name := fmt.Sprintf("files[%d]", i)
		var fields map[string]json.RawMessage
		if err := json.Unmarshal(file, &fields); err != nil {
			return levelling.Bad(name, notAnObject(err))
		}
		if bad, err := readFields(fields, fileFields, new(File)); bad != "" {
			return levelling.Bad(name+"."+bad, unreadable(bad, err))
		}
	}
	return levelling.Bad("files", unreadable("files", err))
}

func notAnObject(err error) string {
	var typeErr *json.UnmarshalTypeError
	if errors.As(err, &typeErr) {
		return cannotTake(typeErr) + ": it takes an object"
	}
	return fmt.Sprintf("not readable as JSON: %v", err)
}

func unreadable(field string, err error) string {
	var typeErr *json.UnmarshalTypeError
	switch {
	case errors.As(err, &typeErr):
		return cannotTake(typeErr)
	case field == "at", field == "taken_at":
		return "not a date: a time with its zone, as 2026-03-02T10:15:00.000+11:00"
	default:
		return err.Error()
	}
}

func cannotTake(err *json.UnmarshalTypeError) string {
	if strings.ContainsAny(err.Value[:1], "aeiou") {
		return "cannot take an " + err.Value
	}
	return "cannot take a " + err.Value
}
