package server

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"relevel/levelling"
)

// maxForm bounds a body that describes one thing.
const maxForm = 64 << 10

// decode reads the one JSON object of a body. What is no JSON is refused with
// 400; a field that does not fit, or that nobody knows, is an InputError.
func decode(w http.ResponseWriter, r *http.Request, into any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxForm))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return decodeError(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return refuse(http.StatusBadRequest, "More than one JSON object was sent.")
	}
	return nil
}

func decodeError(err error) error {
	wrongType, isType := errors.AsType[*json.UnmarshalTypeError](err)
	_, isSyntax := errors.AsType[*json.SyntaxError](err)
	_, isLong := errors.AsType[*http.MaxBytesError](err)
	switch {
	case isLong:
		return err
	case errors.Is(err, io.EOF):
		return refuse(http.StatusBadRequest, "The body is empty: send a JSON object.")
	case isSyntax, errors.Is(err, io.ErrUnexpectedEOF):
		return refuse(http.StatusBadRequest, "Not JSON: "+err.Error())
	case isType && wrongType.Field != "":
		return levelling.Bad(wrongType.Field, "cannot take a "+wrongType.Value)
	}
	// The decoder has no type for a field that is unknown to it, nor for an id
	// that is none.
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return levelling.Bad(strings.Trim(name, `"`), "no such field here: leave it out")
	}
	return levelling.Bad("body", fmt.Sprintf("an object with the right fields: %v", err))
}
