package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"relevel/events"
	"relevel/levelling"
)

// Whatever is set in the environment, a server starts with it or says what is wrong
// without telling a secret.
func FuzzSettings(f *testing.F) {
	f.Add("10.0.0.0/8, ::1 1.2.3.4", "smtps://name:%s@mail.example", "https://levels.example/", "https://s3.example:9000", "yes", "127.0.0.0/8")
	f.Add("1.2.3.4/99", "smtp+plain://n:%s@m", "levels.example", "s3.example", "", "x")
	f.Add("", "%s", "http://[", "ftp://x", "no", "")
	f.Fuzz(func(t *testing.T, proxies, mail, url, s3, plain, nets string) {
		const secret = "wattle-stump-level"
		_, err := readSettings(t.TempDir(), environment{
			envProxies: proxies, envMail: strings.ReplaceAll(mail, "%s", secret), envMailFrom: "office@example.com", envURL: url,
			envS3Endpoint: s3, envS3Bucket: "b", envS3Key: "k", envS3Secret: secret, envHookPlain: plain, envHookNets: nets,
		})
		_, errACME := readACME(environment{envACME: url})
		for _, err := range []error{err, errACME} {
			var bad *levelling.InputError
			if err != nil && (!errors.As(err, &bad) || bad.Field == "" || bad.Cure == "" || strings.Contains(err.Error(), secret)) {
				t.Errorf("%v", err)
			}
		}
	})
}

// Whatever is given as the numbers of what to erase, few of them are taken, and soon.
func FuzzErase(f *testing.F) {
	for _, text := range []string{"3,7-9", "1-", "-1", " , ", "12:1,13:2", "0:0", "9223372036854775807", "9223372036854775800-9223372036854775807", "1-1000000000"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		parts := strings.Count(text, ",") + 1
		numbers, err := parseNumbers(text)
		if err == nil && len(numbers) > parts*events.MaxErased {
			t.Errorf("%d numbers of %q", len(numbers), text)
		}
		for _, n := range numbers {
			if n < 1 {
				t.Errorf("%q has the number %d", text, n)
			}
		}
		if files, err := parseFiles(text); err == nil && len(files) > parts {
			t.Errorf("%d files of %q", len(files), text)
		}
		parseOptionalID(text)
	})
}

// Whatever lies in the file that says how to reach a server is read or named as broken,
// without what it holds.
func FuzzAccess(f *testing.F) {
	f.Add(`{"url":"https://levels.example","token":"rl_1_2"}`)
	f.Add(`{"url":7}`)
	f.Add(`[`)
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "access.json")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := readAccess(path); err != nil && len(text) > 20 && strings.Contains(err.Error(), text) {
			t.Errorf("the error tells what the file holds: %v", err)
		}
	})
}
