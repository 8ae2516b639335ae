package bitstest

import (
	"math"
	"testing"
	"time"
)

type inner struct {
	At   time.Time
	Text string
}

type outcome struct {
	MM     float64
	Target *float64
	Names  []inner
	Odd    bool
}

func full() outcome {
	target := 0.1
	return outcome{MM: 0.3, Target: &target, Names: []inner{{time.Unix(1, 0), "a"}, {time.Unix(2, 0), "b"}}}
}

func of(o outcome) string { return digests("cases", lines, func(uint64) any { return o }) }

// One bit, letter or second more is another digest, at any depth.
func TestDigestTells(t *testing.T) {
	if first, again := of(full()), of(full()); first != again {
		t.Fatal("the same outcome twice gives two digests")
	}
	for name, change := range map[string]func(*outcome){
		"Bit":       func(o *outcome) { o.MM = math.Nextafter(o.MM, 1) },
		"Sign":      func(o *outcome) { o.MM = -o.MM },
		"Pointed":   func(o *outcome) { *o.Target = math.Nextafter(*o.Target, 1) },
		"Nil":       func(o *outcome) { o.Target = nil },
		"Letter":    func(o *outcome) { o.Names[1].Text = "c" },
		"Shifted":   func(o *outcome) { o.Names[0].Text, o.Names[1].Text = "ab", "" },
		"Second":    func(o *outcome) { o.Names[0].At = time.Unix(3, 0) },
		"Zone":      func(o *outcome) { o.Names[0].At = o.Names[0].At.In(time.FixedZone("", 3600)) },
		"Fewer":     func(o *outcome) { o.Names = o.Names[:1] },
		"Otherwise": func(o *outcome) { o.Odd = true },
	} {
		o := full()
		change(&o)
		if of(o) == of(full()) {
			t.Errorf("%s: the digest does not tell", name)
		}
	}
}
