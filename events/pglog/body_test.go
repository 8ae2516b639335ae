package pglog

import (
	"strings"
	"testing"
)

func TestQueryable(t *testing.T) {
	for body, want := range map[string]bool{
		`{"text":"wet"}`:                           true,
		`{"staff":-412.5,"sd":1e-3}`:               true,
		`{"n":1E+99}`:                              true,
		`{"n":1e100}`:                              false,
		`{"n":1e-100}`:                             false,
		`{"text":"the 1997 e1234"}`:                false, // inside a string as well
		`{"n":[1e1,123456]}`:                       true,
		`{"n":0.` + strings.Repeat("1", 501) + `}`: false,
		`{"text":"\u00e9"}`:                        true,
		`{"text":"\u0000"}`:                        false,
		`{"text":"\ud83d\ude00"}`:                  false,
		"{\"text\":\"\xff\"}":                      false,
		strings.Repeat("[", 101) + strings.Repeat("]", 101): false,
		strings.Repeat("[]", 1000):                          true,
	} {
		if got := queryable([]byte(body)) != nil; got != want {
			t.Errorf("%.40s: queryable %t, want %t", body, got, want)
		}
	}
}
