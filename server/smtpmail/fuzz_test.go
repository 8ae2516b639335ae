package smtpmail_test

import (
	"errors"
	"strings"
	"testing"

	"relevel/levelling"
	"relevel/server/smtpmail"
)

// Whatever is set as the address of a mail server, what is wrong with it is told
// without its secret.
func FuzzParseURL(f *testing.F) {
	for _, rest := range []string{"@mail.example", "@mail.example:99999", "@[::1", "@", "%zz@mail.example", "@mail.example:x", "\x7f@m"} {
		for _, scheme := range []string{"smtps://name:", "smtp://", "smtp+plain://n:", "mailto:"} {
			f.Add(scheme, rest, "office@example.com")
		}
	}
	f.Add("smtps://", "@mail.example", "not an address")
	f.Fuzz(func(t *testing.T, before, after, from string) {
		const secret = "wattle-stump-level"
		c, err := smtpmail.ParseURL(before+secret+after, from)
		var bad *levelling.InputError
		if err != nil {
			if !errors.As(err, &bad) || strings.Contains(err.Error(), secret) {
				t.Errorf("%v", err)
			}
			return
		}
		if c.Host == "" || c.Port < 0 || c.Port > 65535 || c.Security == smtpmail.Plain && c.Password != "" {
			t.Errorf("%q is read as %+v", before+secret+after, c)
		}
	})
}
