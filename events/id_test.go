package events_test

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"testing"
	"testing/iotest"
	"time"

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
	} {
		if _, err := events.ParseID(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
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
