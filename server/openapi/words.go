package openapi

import (
	_ "embed"
	"encoding/json"
	"reflect"
	"sync"
)

// typeWords is what the comments in the code say of a type.
type typeWords struct {
	Doc    string            `json:"doc,omitempty"`
	Fields map[string]string `json:"fields,omitempty"` // by their names in Go
	Values []string          `json:"values,omitempty"` // the constants of a text
}

// commentsJSON is what `go test ./server/openapi -update` reads from the sources,
// which are not there when the program runs.
//
//go:embed comments.json
var commentsJSON []byte

var comments = sync.OnceValue(func() map[string]typeWords {
	var all map[string]typeWords
	if err := json.Unmarshal(commentsJSON, &all); err != nil {
		panic(err)
	}
	return all
})

func wordsOf(t reflect.Type) typeWords { return comments()[nameOf(t)] }
