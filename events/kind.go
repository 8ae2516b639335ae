package events

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"relevel/levelling"
)

// Kind names what happened. The list is closed at each version of the program,
// but a log may hold kinds of a newer one: they are stored and counted.
type Kind string

// wellFormed reports whether a kind is a short word. A kind of a newer program
// passes; control characters and the like, which no column of a store would
// take, do not.
func (k Kind) wellFormed() bool {
	for _, c := range []byte(k) {
		if c != '-' && (c < '0' || c > '9') && (c < 'a' || c > 'z') {
			return false
		}
	}
	return k != "" && len(k) <= 40
}

// The kinds, in the order in which a job meets them.
const (
	KindPlan            Kind = "plan"
	KindFound           Kind = "found"
	KindAim             Kind = "aim"
	KindCondition       Kind = "condition"
	KindSafetyCheck     Kind = "safety-check"
	KindTie             Kind = "tie"
	KindTieFreed        Kind = "tie-freed"
	KindTieBack         Kind = "tie-back"
	KindFloorCut        Kind = "floor-cut"
	KindFloorClosed     Kind = "floor-closed"
	KindFinding         Kind = "finding"
	KindFindingClosed   Kind = "finding-closed"
	KindSupportWork     Kind = "support-work"
	KindInspection      Kind = "inspection"
	KindUnderFloor      Kind = "under-floor"
	KindInstrumentCheck Kind = "instrument-check"
	KindSetup           Kind = "setup"
	KindSetupClosed     Kind = "setup-closed"
	KindReading         Kind = "reading"
	KindDifference      Kind = "difference"
	KindBlocking        Kind = "blocking"
	KindBlockingRemoved Kind = "blocking-removed"
	KindJacking         Kind = "jacking"
	KindPacking         Kind = "packing"
	KindJackDown        Kind = "jack-down"
	KindSigned          Kind = "signed"
	KindGapReading      Kind = "gap-reading"
	KindIncident        Kind = "incident"
	KindStop            Kind = "stop"
	KindGoAhead         Kind = "go-ahead"
	KindChange          Kind = "change"
	KindChangeAnswered  Kind = "change-answered"
	KindDayEnd          Kind = "day-end"
	KindHandover        Kind = "handover"
	KindNote            Kind = "note"
	KindVoid            Kind = "void"
	KindErased          Kind = "erased"
)

// Body is the payload of one kind. Check reports, as an InputError, the first
// field that makes no sense whatever the plan says. Points lists the places of
// the plan that the body names; the fold sets a body aside while the plan does
// not know one of them.
type Body interface {
	Check() error
	Points() []string
}

// ErrNewer marks a kind, or a version of one, that this program does not know.
// The event is kept and counted; a newer program reads it.
var ErrNewer = errors.New("newer app needed")

var bodies = map[Kind]func() Body{
	KindPlan:            func() Body { return new(Plan) },
	KindFound:           func() Body { return new(Found) },
	KindAim:             func() Body { return new(Aim) },
	KindCondition:       func() Body { return new(Condition) },
	KindSafetyCheck:     func() Body { return new(SafetyCheck) },
	KindTie:             func() Body { return new(Tie) },
	KindTieFreed:        func() Body { return new(TieFreed) },
	KindTieBack:         func() Body { return new(TieBack) },
	KindFloorCut:        func() Body { return new(FloorCut) },
	KindFloorClosed:     func() Body { return new(FloorClosed) },
	KindFinding:         func() Body { return new(Finding) },
	KindFindingClosed:   func() Body { return new(FindingClosed) },
	KindSupportWork:     func() Body { return new(SupportWork) },
	KindInspection:      func() Body { return new(Inspection) },
	KindUnderFloor:      func() Body { return new(UnderFloor) },
	KindInstrumentCheck: func() Body { return new(InstrumentCheck) },
	KindSetup:           func() Body { return new(Setup) },
	KindSetupClosed:     func() Body { return new(SetupClosed) },
	KindReading:         func() Body { return new(Reading) },
	KindDifference:      func() Body { return new(Difference) },
	KindBlocking:        func() Body { return new(Blocking) },
	KindBlockingRemoved: func() Body { return new(BlockingRemoved) },
	KindJacking:         func() Body { return new(Jacking) },
	KindPacking:         func() Body { return new(Packing) },
	KindJackDown:        func() Body { return new(JackDown) },
	KindSigned:          func() Body { return new(Signed) },
	KindGapReading:      func() Body { return new(GapReading) },
	KindIncident:        func() Body { return new(Incident) },
	KindStop:            func() Body { return new(Stop) },
	KindGoAhead:         func() Body { return new(GoAhead) },
	KindChange:          func() Body { return new(Change) },
	KindChangeAnswered:  func() Body { return new(ChangeAnswered) },
	KindDayEnd:          func() Body { return new(DayEnd) },
	KindHandover:        func() Body { return new(Handover) },
	KindNote:            func() Body { return new(Note) },
	KindVoid:            func() Body { return new(Void) },
	KindErased:          func() Body { return new(Erased) },
}

// Kinds lists every kind this program knows, sorted by name.
func Kinds() []Kind {
	kinds := make([]Kind, 0, len(bodies))
	for k := range bodies {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	return kinds
}

// Blank is an empty payload of a kind, nil for one that this program does not know.
func Blank(kind Kind) Body {
	empty, known := bodies[kind]
	if !known {
		return nil
	}
	return empty()
}

// Open reads the payload of an event. ErrNewer means that a newer program is
// needed; any other error is an InputError that names a field of the body.
// Fields that this version does not know are passed over: a newer phone may
// say more.
func Open(kind Kind, v int, body []byte) (Body, error) {
	empty, known := bodies[kind]
	if !known || v > 1 {
		return nil, fmt.Errorf("%s version %d: %w", kind, v, ErrNewer)
	}
	b := empty()
	if err := json.Unmarshal(body, b); err != nil {
		return nil, bodyError(body, empty(), err)
	}
	if err := b.Check(); err != nil {
		return nil, err
	}
	return b, nil
}

// bodyError names the field that a body could not be read for. Where the decoder
// does not say, as for ids and digests, each field is read by itself.
func bodyError(raw []byte, b Body, err error) error {
	var typeErr *json.UnmarshalTypeError
	if errors.As(err, &typeErr) && typeErr.Field != "" {
		return levelling.Bad(typeErr.Field, cannotTake(typeErr))
	}
	var fields map[string]json.RawMessage
	if json.Unmarshal(raw, &fields) == nil {
		if bad, why := readFields(fields, slices.Sorted(maps.Keys(fields)), b); bad != "" {
			return levelling.Bad(bad, unreadable(bad, why))
		}
	}
	return levelling.Bad("body", err.Error())
}
