package jobs_test

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func TestTokenOK(t *testing.T) {
	firm := events.ID{0xab, 15: 1}
	secret := bytes.Repeat([]byte{7}, 32)
	text, hash, err := jobs.NewToken(firm, bytes.NewReader(secret))
	if err != nil {
		t.Fatal(err)
	}
	if want := "rl_ab000000000000000000000000000001_" + strings.Repeat("07", 32); text != want {
		t.Errorf("text = %s, want %s", text, want)
	}
	if hash != sha256.Sum256(secret) {
		t.Errorf("hash = %s, want that of the secret", hash)
	}
	gotFirm, gotHash, err := jobs.ParseToken(text)
	if err != nil || gotFirm != firm || gotHash != hash {
		t.Errorf("ParseToken = %s %s %v, want what was made", gotFirm, gotHash, err)
	}
}

func TestParseTokenWrong(t *testing.T) {
	text, _, err := jobs.NewToken(events.ID{1}, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for name, wrong := range map[string]string{
		"Empty":      "",
		"Prefix":     "xx" + text[2:],
		"Short":      text[:len(text)-1],
		"Long":       text + "0",
		"NotHex":     text[:len(text)-1] + "g",
		"FirmNotHex": "rl_" + "g" + text[4:],
		"Parts":      strings.Replace(text, "_", "-", 1),
	} {
		t.Run(name, func(t *testing.T) {
			if _, _, err := jobs.ParseToken(wrong); err == nil {
				t.Errorf("ParseToken(%q) takes it", wrong)
			}
		})
	}
}
