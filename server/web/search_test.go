package web

import (
	"strings"
	"testing"
)

func written(parts []Part) string {
	var b strings.Builder
	for _, p := range parts {
		if p.Hit {
			b.WriteString("[" + p.Text + "]")
		} else {
			b.WriteString(p.Text)
		}
	}
	return b.String()
}

func TestMarked(t *testing.T) {
	for _, test := range []struct{ text, asked, want string }{
		{"Wet rot", "wet", "[Wet] rot"},
		{"Wet rot", "ro", "Wet [rot]"},
		{"Māori", "maori", "[Māori]"},
		{"at B2-3, B2-30", "b2-3", "at [B2-3], [B2-30]"},
		{"water-damaged", "damaged", "[water-damaged]"},
		{"it settled", "settling", "it [settled]"},
		{"the settee", "settlements", "the settee"},
		{"", "wet", ""},
		{"\xff wet", "wet", "\xff [wet]"},
	} {
		if got := written(Marked(test.text, strings.Fields(test.asked))); got != test.want {
			t.Errorf("%q for %q: %q, want %q", test.text, test.asked, got, test.want)
		}
	}
}

func TestExcerpt(t *testing.T) {
	long := strings.Repeat("before ", 100) + "wet rot " + strings.Repeat("after ", 100)
	got := written(Excerpt(long, []string{"wet"}))
	if !strings.HasPrefix(got, "… before ") || !strings.Contains(got, "[wet] rot after") || !strings.HasSuffix(got, " …") || len(got) > longestFound+20 {
		t.Errorf("%d bytes: %s", len(got), got)
	}
	if got := written(Excerpt("wet rot", []string{"wet"})); got != "[wet] rot" {
		t.Errorf("a short one: %s", got)
	}
}
