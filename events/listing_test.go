package events_test

import (
	"strings"
	"testing"

	"relevel/events"
)

func TestParseKey(t *testing.T) {
	const firm, sum = "0190c5a2-3b10-7a00-8000-000000000001", "00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff00ff"
	for _, text := range []string{firm + "/" + sum, firm + "/" + sum + "-320", firm + "/" + sum + "-1600", firm + "/" + sum + "-made"} {
		k, ok := events.ParseKey(text)
		if !ok || k.String() != text {
			t.Errorf("%s is read as %s, %t", text, k, ok)
		}
	}
	for _, text := range []string{"", "/", firm, firm + "/", sum, firm + "/" + sum[:62], firm + "/" + sum + "-", firm + "/" + sum + "-640",
		firm + "/" + strings.ToUpper(sum), strings.ToUpper(firm[:1]) + "x" + firm[2:] + "/" + sum, firm + "/" + sum + "/1", " " + firm + "/" + sum} {
		if k, ok := events.ParseKey(text); ok {
			t.Errorf("%q is read as %s", text, k)
		}
	}
}
