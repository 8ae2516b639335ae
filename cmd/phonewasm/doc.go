//go:build !js || !wasm

// Command phonewasm is built for the browser alone: GOOS=js GOARCH=wasm. See
// package seam for what it answers.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "phonewasm runs in a browser: build it with make phonewasm")
	os.Exit(2)
}
