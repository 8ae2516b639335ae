package events_test

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"testing"
	"testing/iotest"
	"time"

	"pgregory.net/rapid"

	"relevel/events"
)

// RFC 9562, section 5.7: the first 48 bits are milliseconds, the version is 7,
// the variant is 10.
func TestNewID(t *testing.T) {
	at := time.UnixMilli(0x0123456789AB)
	id, err := events.NewID(at, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if got := id.String(); got[:13] != "01234567-89ab" || got[14] != '7' {
		t.Errorf("%s does not begin with its time and version", got)
	}
	if id[8]>>6 != 0b10 {
		t.Errorf("the variant of %s is %b", id, id[8]>>6)
	}
	later, _ := events.NewID(at.Add(time.Millisecond), rand.Reader)
	if later.String() <= id.String() {
		t.Errorf("%s is later than %s and sorts before it", later, id)
	}
	if _, err := events.NewID(at, iotest.ErrReader(errors.New("no randomness"))); err == nil {
		t.Error("an id without randomness")
	}
}

func TestParseID(t *testing.T) {
	id := events.ID{0xab, 15: 0x0f}
	for _, s := range []string{id.String(), "AB000000-0000-0000-0000-00000000000F"} {
		if got, err := events.ParseID(s); err != nil || got != id {
			t.Errorf("%s: %v, %v", s, got, err)
		}
	}
	for _, bad := range []string{
		"", "ab", "ab00000000000000000000000000000f", "{ab000000-0000-0000-0000-00000000000f}",
		"ab000000-0000-0000-0000-00000000000g", "ab000000-0000-0000-0000-00000000000f0", "ab000000_0000_0000_0000_00000000000f",
		"urn:uuid:ab000000-0000-0000-0000-00000000000f", " ab000000-0000-0000-0000-00000000000f", "ab000000-0000-0000-0000-00000000000f ",
		"ab00000-00000-0000-0000-00000000000f", "ab000000-0000-0000-0000-0000000000-0", "+b000000-0000-0000-0000-00000000000f",
		"ab000000-0000-0000-0000-0000000000\u00e9",
	} {
		if _, err := events.ParseID(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

// Every id is read back from its text, by both ways in.
func TestIDRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := events.ID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id"))
		if got, err := events.ParseID(id.String()); err != nil || got != id {
			t.Fatalf("%s: %v, %v", id, got, err)
		}
		text, err := id.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		got := events.ID{0xff}
		if err := got.UnmarshalText(text); err != nil || got != id {
			t.Fatalf("%q: %v, %v", text, got, err)
		}
	})
	kept := events.ID{7}
	if err := kept.UnmarshalText([]byte("no id")); err == nil || kept != (events.ID{7}) {
		t.Errorf("%v, %v: want an error and the id as it was", kept, err)
	}
}

// Ids sort by their time, whatever is random in them; the version and the
// variant stand whatever the random bits are.
func TestNewIDSorts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.SliceOfN(rapid.Int64Range(0, 1<<48-1), 2, 2).Draw(t, "ms")
		var made [2]events.ID
		for i := range made {
			random := rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "random")
			id, err := events.NewID(time.UnixMilli(ms[i]), bytes.NewReader(random))
			if err != nil {
				t.Fatal(err)
			}
			if id[6]>>4 != 7 || id[8]>>6 != 0b10 {
				t.Fatalf("%s is not of version 7, variant 10", id)
			}
			made[i] = id
		}
		if order := cmp.Compare(ms[0], ms[1]); order != 0 && bytes.Compare(made[0][:], made[1][:]) != order {
			t.Fatalf("%s and %s do not sort by their times", made[0], made[1])
		}
	})
}

func TestIDInJSON(t *testing.T) {
	type pair struct{ A, B events.ID }
	p := pair{A: events.ID{1}}
	raw, err := json.Marshal(p)
	if err != nil || string(raw) != `{"A":"01000000-0000-0000-0000-000000000000","B":""}` {
		t.Fatalf("%s, %v", raw, err)
	}
	var again pair
	if err := json.Unmarshal(raw, &again); err != nil || again != p || !again.B.IsZero() {
		t.Errorf("%+v, %v", again, err)
	}
}
