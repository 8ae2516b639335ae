package jobs_test

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

func TestShareSecret(t *testing.T) {
	text, hash, err := jobs.NewShareSecret(rand.Reader)
	if err != nil || len(text) != 52 {
		t.Fatalf("%q, %v: want 256 bits in the letters of a pairing code", text, err)
	}
	code := jobs.ShareCode(text)
	if groups := strings.Split(code, "-"); len(groups) != 13 || strings.ReplaceAll(code, "-", "") != text {
		t.Errorf("the code of %s is %s", text, code)
	}
	for name, typed := range map[string]string{
		"AsItStands": text, "TheCode": code, "Small": strings.ToLower(code), "Spaced": " " + strings.ReplaceAll(code, "-", " ") + "\r\n",
		"TheWholeLink": "https://office.example/s/0-1#" + text,
	} {
		if got := jobs.ParseShareSecret(typed); got != hash {
			t.Errorf("%s: %q has another hash", name, typed)
		}
	}
	for name, typed := range map[string]string{"Empty": "", "Shorter": text[:51], "Longer": text + "A", "AnotherLetter": "0" + text[1:], "NotUTF8": "\xff"} {
		if got := jobs.ParseShareSecret(typed); got == hash {
			t.Errorf("%s: %q opens it", name, typed)
		}
	}
	if jobs.ParseShareSecret("") == (sha256.Sum256(nil)) {
		t.Error("what is no secret has the hash of one")
	}
	if _, _, err := jobs.NewShareSecret(bytes.NewReader(nil)); err == nil {
		t.Error("a secret was made of no randomness")
	}
}

func TestShareVisitSecret(t *testing.T) {
	text, hash, err := jobs.NewShareVisit(rand.Reader)
	if err != nil || jobs.ParseShareVisit(text) != hash {
		t.Errorf("%q, %v: its hash is another", text, err)
	}
	for _, other := range []string{"", text[1:], text + "00", "x" + text[1:]} {
		if jobs.ParseShareVisit(other) == hash {
			t.Errorf("%q opens it", other)
		}
	}
}

func TestShareAddress(t *testing.T) {
	s := jobs.Share{Firm: events.ID{1, 2}, ID: events.ID{3, 4}}
	firm, id, err := jobs.ParseShareAddress(s.Address())
	if err != nil || firm != s.Firm || id != s.ID {
		t.Errorf("%s reads %v, %v, %v", s.Address(), firm, id, err)
	}
	for _, text := range []string{"", "-", s.Address()[1:], s.Address() + "0", strings.Replace(s.Address(), "-", "", 1), "x" + s.Address()[1:], s.Address()[:64] + "x"} {
		if _, _, err := jobs.ParseShareAddress(text); err == nil {
			t.Errorf("%q is taken for an address", text)
		}
	}
}

func TestShareCheck(t *testing.T) {
	at := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	good := jobs.Share{Name: "the owner", CreatedAt: at, ExpiresAt: at.Add(jobs.ShareLasts)}
	if err := good.Check(); err != nil || !good.OpenAt(at) || good.OpenAt(good.ExpiresAt) {
		t.Errorf("%v, open %v, and after its time %v", err, good.OpenAt(at), good.OpenAt(good.ExpiresAt))
	}
	for field, spoil := range map[string]func(*jobs.Share){
		"name":       func(s *jobs.Share) { s.Name = " " },
		"expires_at": func(s *jobs.Share) { s.ExpiresAt = at },
		"up_to":      func(s *jobs.Share) { s.UpTo = -1 },
	} {
		s := good
		spoil(&s)
		bad, ok := errors.AsType[*levelling.InputError](s.Check())
		if !ok || bad.Field != field {
			t.Errorf("%s: %v", field, s.Check())
		}
	}
	good.ExpiresAt = at.Add(jobs.ShareMost + 1)
	if good.Check() == nil {
		t.Error("a link that opens for ever")
	}
}
