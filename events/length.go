package events

import (
	"encoding/json"
	"reflect"

	"relevel/levelling"
)

// Length is a length as somebody read or typed it, with its unit, so that what
// is stored is what was on the staff. In JSON a bare number is millimetres and
// {"value":4.21,"unit":"ft"} is anything else.
type Length struct {
	Value float64
	Unit  levelling.Unit
}

// MM makes a length in millimetres.
func MM(v float64) Length { return Length{Value: v, Unit: levelling.Millimetre} }

// MM is the length in millimetres, rounded before a caller adds to it.
func (l Length) MM() float64 { return float64(l.Value * l.Unit.MM()) }

type lengthJSON struct {
	Value *float64       `json:"value"`
	Unit  levelling.Unit `json:"unit"`
}

// MarshalJSON writes millimetres as a bare number.
func (l Length) MarshalJSON() ([]byte, error) {
	if l.Unit == levelling.Millimetre {
		return json.Marshal(l.Value)
	}
	return json.Marshal(lengthJSON{&l.Value, l.Unit})
}

// noLength is of the type into which the decoder writes the name of the field.
func noLength() error {
	return &json.UnmarshalTypeError{
		Value: "value that is no length: it takes a number in mm, or a value with its unit (mm, cm, m, in or ft)",
		Type:  reflect.TypeFor[Length](),
	}
}

// UnmarshalJSON reads either form.
func (l *Length) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] != '{' {
		var v *float64
		if err := json.Unmarshal(b, &v); err != nil || v == nil {
			return noLength()
		}
		*l = MM(*v)
		return nil
	}
	var long lengthJSON
	if err := json.Unmarshal(b, &long); err != nil || long.Value == nil || long.Unit.MM() == 0 {
		return noLength()
	}
	*l = Length{Value: *long.Value, Unit: long.Unit}
	return nil
}
