package jobs_test

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Whatever is sent as a token, a session's cookie or a link, it is read as nothing or
// as what it says, and what cannot be read is told without being repeated.
func FuzzSecret(f *testing.F) {
	firm, secret := strings.Repeat("01", 16), strings.Repeat("ab", 32)
	for _, text := range []string{
		"rl_" + firm + "_" + secret, "rs_" + firm + "_" + secret, firm + "_" + secret, "https://levels.example/invitation#" + firm + "_" + secret,
		"rl_" + firm + "_" + strings.ToUpper(secret), "rl__", "rl_" + firm, "___", "#", "rl_" + strings.Repeat("é", 16) + "_" + secret,
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, parse := range []func(string) (events.ID, events.Digest, error){jobs.ParseToken, jobs.ParseSession, jobs.ParseInvitation} {
			firm, hash, err := parse(text)
			if err != nil {
				if len(text) > 8 && strings.Contains(err.Error(), text) {
					t.Errorf("the error repeats what was sent: %v", err)
				}
				if !firm.IsZero() || hash != (events.Digest{}) {
					t.Errorf("half of %q was read", text)
				}
				continue
			}
			if !strings.Contains(strings.ToLower(text), hex.EncodeToString(firm[:])) {
				t.Errorf("%q was read as of the firm %x", text, firm)
			}
		}
	})
}

// The address of a share is read back as it was written, and its secret has a hash
// whatever it is.
func FuzzShare(f *testing.F) {
	address := jobs.Share{Firm: events.ID{1}, ID: events.ID{2}}.Address()
	for _, text := range []string{address, "/s/" + address + "#ABCD-EFGH", "ABCD EFGH\u2009–", strings.Repeat("A", 52), strings.Repeat("a", 64), "-", "#\xff"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if firm, id, err := jobs.ParseShareAddress(text); err == nil {
			if again := (jobs.Share{Firm: firm, ID: id}).Address(); again != strings.ToLower(text) {
				t.Errorf("%q is written back as %q", text, again)
			}
		}
		for _, hash := range []events.Digest{jobs.ParseShareSecret(text), jobs.ParseShareVisit(text)} {
			if hash == (events.Digest{}) {
				t.Errorf("%q has no hash", text)
			}
		}
		if code := jobs.ShareCode(text); strings.ReplaceAll(code, "-", "") != strings.ReplaceAll(text, "-", "") {
			t.Errorf("%q is written as the code %q", text, code)
		}
	})
}

// Whatever somebody types as a pairing code or a sign-in name is read, or they are told
// how it has to look.
func FuzzTyped(f *testing.F) {
	for _, text := range []string{"ABCD-EFGH", "abcd efgh", "0O1I-LLLL", " Mere@Example.com ", "a@b.", "@", "é@ü.nz", "a@b.c\x00"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if code, err := jobs.ParsePairingCode(text); err != nil && code != (events.Digest{}) {
			t.Errorf("half of %q was read", text)
		}
		name, err := jobs.ParseSignInName(text)
		if err != nil {
			wantCure(t, err)
			return
		}
		if again, err := jobs.ParseSignInName(name); err != nil || again != name {
			t.Errorf("%q is the name %q, and that is %q, %v", text, name, again, err)
		}
	})
}

func wantCure(t *testing.T, err error) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field == "" || bad.Cure == "" {
		t.Errorf("an error without a field or a cure: %v", err)
	}
}
