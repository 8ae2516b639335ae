package backups

import (
	"bytes"
	"testing"
	"time"
)

// A manifest is read in its one form or not at all.
func FuzzManifest(f *testing.F) {
	m := Manifest{Format: format, Name: "20260302T101500Z", Kind: KindDump, MadeAt: time.Unix(1772446500, 0).UTC(), Missing: []string{}, Files: []File{{Name: dumpName, Bytes: 9}}}
	f.Add(m.encode())
	f.Add([]byte(`{"format":1}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := parse(text)
		if err == nil && !bytes.Equal(m.encode(), text) {
			t.Errorf("it reads otherwise when written anew: %s", text)
		}
	})
}

// FuzzPosition reads places in WAL and writes them as they were.
func FuzzPosition(f *testing.F) {
	for _, text := range []string{"0/0", "16/B374D848", "0/1D525D8", "/", "G/0", "100000000/0"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := parsePosition(text)
		if err != nil {
			return
		}
		again, err := parsePosition(p.String())
		if err != nil || again != p {
			t.Errorf("%q is %s, and then %s, %v", text, p, again, err)
		}
	})
}

// A segment's name and the one after it, as Postgres counts them (segments of 16 MB).
func TestSegments(t *testing.T) {
	for name, next := range map[string]string{
		"000000010000000000000001": "000000010000000000000002",
		"0000000100000000000000FF": "000000010000000100000000",
		"00000002000000AB000000FE": "00000002000000AB000000FF",
	} {
		if got := following(name); got != next || !isSegment(name) {
			t.Errorf("after %s comes %s", name, got)
		}
	}
	for _, name := range []string{"", "00000002.history", "00000001000000000000000g", "000000010000000000000001.partial"} {
		if isSegment(name) {
			t.Errorf("%s is a segment", name)
		}
	}
	at, err := parsePosition("1/FF000028")
	if err != nil || at.segment(3) != "0000000300000001000000FF" {
		t.Errorf("%s lies in %s", at, at.segment(3))
	}
	// Right behind the heading of a page the record before has ended with the page.
	for text, want := range map[string]string{"0/2000028": "0/2000000", "0/2002018": "0/2002000", "0/2002020": "0/2002020"} {
		if at, err := parsePosition(text); err != nil || at.wholly().String() != want {
			t.Errorf("%s ends at %s, want %s", text, at.wholly(), want)
		}
	}
}

// What a program of Postgres is given holds no password, and none of our own words.
func TestForProgram(t *testing.T) {
	address, env, err := forProgram("postgres://relevel_backup:se%20cret@db:5433/relevel?sslmode=verify-full&pool_max_conns=4&default_query_exec_mode=cache_describe")
	if err != nil || address != "postgres://relevel_backup@db:5433/relevel?sslmode=verify-full" || env[0] != "PGPASSWORD=se cret" {
		t.Errorf("%s %q %v", address, env, err)
	}
	address, env, err = forProgram("postgres://relevel_backup@/relevel?host=%2Frun%2Fpg&password=secret")
	if err != nil || address != "postgres://relevel_backup@/relevel?host=%2Frun%2Fpg" || env[0] != "PGPASSWORD=secret" {
		t.Errorf("%s %q %v", address, env, err)
	}
	if _, _, err := forProgram("host=db password=secret"); err == nil {
		t.Error("an address of the other form was taken")
	}
}
