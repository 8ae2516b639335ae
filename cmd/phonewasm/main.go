//go:build js && wasm

// Command phonewasm is the fold and the calculators for the phone. It sets one
// function on the worker's global, relevel(name, request), which takes and gives
// JSON text; relevel.d.ts types it. What it answers is in package seam.
package main

import (
	"runtime/debug"
	"syscall/js"

	"relevel/cmd/phonewasm/seam"
)

// garbage is by how much the heap may grow before it is swept, percent. Every
// answer is garbage as soon as it is given, and one thread does both.
const garbage = 200

func main() {
	debug.SetGCPercent(garbage)
	s := seam.New()
	js.Global().Set("relevel", js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 2 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
			return `{"error":{"detail":"relevel takes a name and a request, both text"}}`
		}
		return string(s.Call(args[0].String(), []byte(args[1].String())))
	}))
	select {} // until the worker ends
}
