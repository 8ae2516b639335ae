package pglog

import (
	"encoding/json"
	"regexp"
	"unicode/utf8"
)

// bodyFunc gives what the derived column keeps of a body, nil for nothing.
type bodyFunc func(json.RawMessage) *string

func noBody(json.RawMessage) *string { return nil }

// What JSON allows and jsonb refuses, or might: NUL characters, halves of
// surrogate pairs (whole pairs are refused along with them, since devices write
// such characters plainly), numbers beyond numeric, deep nesting.
var (
	refusedEscape = regexp.MustCompile(`\\u(0000|[dD][89a-fA-F])`)
	refusedNumber = regexp.MustCompile(`[eE][+-]?[0-9]{3}|[0-9]{500}`)
)

const maxDepth = 100

// queryable returns a body that jsonb takes for certain. The column is for
// queries by hand and must never be the reason why an event is not stored.
func queryable(body json.RawMessage) *string {
	if !utf8.Valid(body) || refusedEscape.Match(body) || refusedNumber.Match(body) || depth(body) > maxDepth {
		return nil
	}
	text := string(body)
	return &text
}

// depth counts brackets, those inside strings as well: too many is safe.
func depth(body []byte) int {
	deepest, now := 0, 0
	for _, c := range body {
		switch c {
		case '{', '[':
			now++
			deepest = max(deepest, now)
		case '}', ']':
			now--
		}
	}
	return deepest
}
