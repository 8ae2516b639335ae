package server

import (
	_ "embed"
	"encoding/json"
	"sync"
)

// examplesJSON is what a server answered in a test: `go test ./server -run
// TestExamples -update` writes it anew.
//
//go:embed examples.json
var examplesJSON []byte

// examples are one exchange for each operation, and one body for each kind of event.
type examples struct {
	Operations map[string]example         `json:"operations"` // by their route
	Kinds      map[string]json.RawMessage `json:"kinds"`
}

// example is what was sent and answered.
type example struct {
	Address string          `json:"address"`
	Media   string          `json:"media"` // of what is sent, if it is no JSON
	Sent    json.RawMessage `json:"sent"`
	Status  int             `json:"status"`
	Answer  json.RawMessage `json:"answer"`
}

var shownExamples = sync.OnceValues(func() (all examples, err error) {
	return all, json.Unmarshal(examplesJSON, &all)
})
