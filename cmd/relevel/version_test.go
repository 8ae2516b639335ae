package main

import (
	"regexp"
	"testing"
)

func TestFullVersion(t *testing.T) {
	for _, tt := range []struct{ name, build, want string }{
		{"Tagged", "", "0.1.0"},
		{"OnTheWay", "18b4450", "0.1.0+18b4450"},
		{"Changed", "18b4450.changed", "0.1.0+18b4450.changed"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := fullVersion("0.1.0", tt.build); got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
		})
	}
}

// What the lists of what is frozen are named by, and what upgrades are told by.
func TestReleaseIsAVersion(t *testing.T) {
	if !regexp.MustCompile(`^\d+\.\d+\.\d+$`).MatchString(release) {
		t.Errorf("the release is called %q: three numbers with dots", release)
	}
}
