package pglog

import (
	"bytes"
	"encoding/json"
	"regexp"
	"unicode/utf8"
)

// bodyFunc gives what the derived column keeps of a body, nil for nothing.
type bodyFunc func(json.RawMessage) *string

func noBody(json.RawMessage) *string { return nil }

// queryable returns a body that jsonb takes for certain. The column is for
// queries by hand and must never be the reason why an event is not stored.
func queryable(body json.RawMessage) *string {
	if !utf8.Valid(body) || hasRefusedEscape(body) || tooDeepOrLong(body) {
		return nil
	}
	text := string(body)
	return &text
}

// What JSON allows and jsonb refuses: NUL characters and halves of surrogate
// pairs (whole pairs are refused along with them, since devices write such
// characters plainly).
var refusedEscape = regexp.MustCompile(`\\u(0000|[dD][89a-fA-F])`)

func hasRefusedEscape(body []byte) bool {
	return bytes.Contains(body, []byte(`\u`)) && refusedEscape.Match(body)
}

// Numbers beyond numeric and deep nesting are refused, too. What stands inside
// strings counts as well: refusing too much is safe.
const (
	maxDepth    = 100
	maxDigits   = 500
	maxExponent = 2 // digits of an exponent
)

func tooDeepOrLong(body []byte) bool {
	depth, digits := 0, 0
	exponent := false // do the digits follow an e?
	for _, c := range body {
		switch {
		case c >= '0' && c <= '9':
			digits++
			if digits > maxDigits || (exponent && digits > maxExponent) {
				return true
			}
			continue
		case c == 'e' || c == 'E':
			exponent = true
		case (c == '+' || c == '-') && digits == 0: // the sign of an exponent
		default:
			exponent = false
		}
		digits = 0
		switch c {
		case '{', '[':
			if depth++; depth > maxDepth {
				return true
			}
		case '}', ']':
			depth--
		}
	}
	return false
}
