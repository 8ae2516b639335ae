// Package bitstest checks, for the tests of the packages that run on the server
// and on the phone, that both reckon the same to the last bit. A test plays many
// random inputs from fixed seeds and compares a digest of all that comes out
// with the one in its testdata; `make bits` runs it on several kinds of machine.
package bitstest

import (
	"crypto/sha256"
	"encoding/binary"
	"flag"
	"fmt"
	"hash"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"
)

// update writes the digests anew: to be used when the arithmetic, or what it
// says in words, changes on purpose.
var update = flag.Bool("update", false, "write the digests of testdata anew")

// lines is how many lines a file has, each a digest of all up to there, so that
// a difference is found to within a tenth.
const lines = 10

// Same plays n cases of a name, a multiple of ten, and compares their digests
// with those in the file. A case is told its number, from 0, and returns what
// came out of it.
func Same(t *testing.T, file, name string, n int, play func(number uint64) any) {
	t.Helper()
	got := digests(name, n, play)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("other bits than in %s; if that is on purpose, run the test with -args -update:\n%s", file, got)
	}
}

func digests(name string, n int, play func(number uint64) any) string {
	var b strings.Builder
	sum := sha256.New()
	for i := range n {
		digest(sum, reflect.ValueOf(play(uint64(i))))
		if (i+1)%(n/lines) == 0 {
			fmt.Fprintf(&b, "%d %s %x\n", i+1, name, sum.Sum(nil))
		}
	}
	return b.String()
}

// digest takes in all that a value holds: of a float its bits, of a time its
// instant and zone.
func digest(h hash.Hash, v reflect.Value) {
	if v.Kind() == reflect.Interface {
		v = v.Elem()
	}
	switch v.Kind() {
	case reflect.Float64:
		number(h, math.Float64bits(v.Float()))
	case reflect.Int, reflect.Int64:
		number(h, uint64(v.Int()))
	case reflect.Uint8:
		number(h, v.Uint())
	case reflect.Bool:
		fmt.Fprint(h, v.Bool())
	case reflect.String:
		number(h, uint64(v.Len()))
		fmt.Fprint(h, v.String())
	case reflect.Pointer:
		fmt.Fprint(h, v.IsNil())
		if !v.IsNil() {
			digest(h, v.Elem())
		}
	case reflect.Slice, reflect.Array:
		number(h, uint64(v.Len()))
		for i := range v.Len() {
			digest(h, v.Index(i))
		}
	case reflect.Struct:
		digestFields(h, v)
	default:
		panic("no digest of a " + v.Kind().String())
	}
}

func digestFields(h hash.Hash, v reflect.Value) {
	if at, ok := v.Interface().(time.Time); ok {
		fmt.Fprint(h, at.Format(time.RFC3339Nano))
		return
	}
	for i := range v.NumField() {
		digest(h, v.Field(i))
	}
}

func number(h hash.Hash, n uint64) { h.Write(binary.BigEndian.AppendUint64(nil, n)) }
