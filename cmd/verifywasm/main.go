//go:build js && wasm

// Command verifywasm checks a bundle in a browser, with the code of relevel verify.
// It sets one function on the worker's global, relevelVerify(read, size, keys, against,
// tell): read(offset, length) gives bytes of the file at once, so that no more of it is
// in memory than is being looked at. What it answers is in package seam.
package main

import (
	"io"
	"syscall/js"

	"relevel/cmd/verifywasm/seam"
)

func main() {
	js.Global().Set("relevelVerify", js.FuncOf(func(_ js.Value, args []js.Value) any {
		in := &file{read: args[0], size: int64(args[1].Float())}
		var against []string
		for i := range args[3].Length() {
			against = append(against, args[3].Index(i).String())
		}
		tell := func(bytes int64) { args[4].Invoke(float64(bytes)) }
		return string(seam.Answer(in, args[2].String(), against, tell))
	}))
	select {} // until the worker ends
}

// file is one that somebody chose, read from its front.
type file struct {
	read     js.Value
	at, size int64
}

func (f *file) Read(b []byte) (int, error) {
	if f.at >= f.size {
		return 0, io.EOF
	}
	got := f.read.Invoke(float64(f.at), float64(min(int64(len(b)), f.size-f.at)))
	n := js.CopyBytesToGo(b, got)
	f.at += int64(n)
	if n == 0 {
		return 0, io.ErrUnexpectedEOF
	}
	return n, nil
}
