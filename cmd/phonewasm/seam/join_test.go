//go:build !js

package seam_test

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// pack does some of what `make phonewasm` does to a WebAssembly file, in place.
func pack(t testing.TB, file string, steps ...string) {
	t.Helper()
	if out, err := packing(file, steps...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", strings.Join(steps, " and "), err, out)
	}
}

func packing(file string, steps ...string) *exec.Cmd {
	const script = `const fs = require("node:fs"), [file, ...steps] = process.argv.slice(1);
		const step = (wasm, name) => require("../" + name + ".cjs")[name](wasm);
		fs.writeFileSync(file, steps.reduce(step, fs.readFileSync(file)));`
	return exec.Command("node", append([]string{"-e", script, file}, steps...)...)
}

// What the memory holds when the program starts is the same, all else is untouched, and
// what was joined once stays as it is.
func TestJoinKeepsMemory(t *testing.T) {
	seg := func(address, data string) string {
		return "\x00\x41" + address + "\x0b" + string(rune(len(data))) + data
	}
	section := "\x04" + // of 64, 80 and 1000 (where the third is), and one out of turn
		seg("\xc0\x00", "abc") + seg("\xd0\x00", "d") + seg("\xe8\x07", "far") + seg("\xc8\x00", "turn")
	head := "\x00asm\x01\x00\x00\x00" + "\x0a\x03\x01\x02\x03"
	file := t.TempDir() + "/some.wasm"
	given := []byte(head + "\x0b" + string(rune(len(section))) + section)
	write(t, file, given)
	pack(t, file, "join")
	joined := read(t, file)
	want := head + "\x0b\x21\x02" + "\x00\x41\xc0\x00\x0b\x11abc\x00\x00\x00\x00\x00turn\x00\x00\x00\x00d" + "\x00\x41\xe8\x07\x0b\x03far"
	if string(joined) != want {
		t.Fatalf("joined:\n%q, want\n%q", joined, want)
	}
	pack(t, file, "join")
	if !bytes.Equal(read(t, file), joined) {
		t.Error("joined again it is another")
	}
}

// The phone's own program comes with few segments, however many the linker made.
func TestPhoneHasFewSegments(t *testing.T) {
	if n := segments(t, read(t, phoneBuild(t))); n > 1000 {
		t.Errorf("%d segments of data: an address for each is sent to every phone", n)
	}
}

// segments is how many segments of data a module has.
func segments(t testing.TB, wasm []byte) uint64 {
	t.Helper()
	for rest := wasm[8:]; len(rest) > 0; {
		size, n := binary.Uvarint(rest[1:])
		if rest[0] == 11 {
			count, _ := binary.Uvarint(rest[1+n:])
			return count
		}
		rest = rest[1+n+int(size):]
	}
	t.Fatal("no data")
	return 0
}

func write(t testing.TB, file string, b []byte) {
	t.Helper()
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, file string) []byte {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
