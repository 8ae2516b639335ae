// Package seam is what the page that checks a bundle asks of the program.
package seam

import (
	"encoding/json"
	"fmt"
	"io"

	"relevel/jobs/bundle"
)

// answer is what the page shows.
type answer struct {
	Error   string `json:"error,omitempty"` // why it could not be read; nothing else is set then
	Heading string `json:"heading,omitempty"`
	Caveat  string `json:"caveat,omitempty"`
	bundle.Report
}

// Answer checks a bundle and says in JSON what holds. keys are public keys, one a line;
// against are checkpoints that somebody kept. tell hears how many bytes were read.
func Answer(in io.Reader, keys string, against []string, tell func(int64)) (out []byte) {
	defer func() {
		if p := recover(); p != nil {
			out = encode(answer{Error: fmt.Sprintf("the check broke off: %v", p)})
		}
	}()
	c := bundle.Check{Tell: tell}
	var err error
	if c.Trusted, err = bundle.ReadKeys(keys); err != nil {
		return encode(answer{Error: err.Error()})
	}
	for _, text := range against {
		c.Against = append(c.Against, []byte(text))
	}
	r, err := bundle.Verify(in, c)
	if err != nil {
		return encode(answer{Error: err.Error()})
	}
	return encode(answer{Heading: r.Heading(), Caveat: bundle.Caveat, Report: r})
}

func encode(a answer) []byte {
	b, err := json.Marshal(a)
	if err != nil {
		panic(err) // our own type
	}
	return b
}
