package main

import (
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Every setting of a server can lie in a file that NAME_FILE names, as help says.
func TestSettingsInFiles(t *testing.T) {
	plain := environment{
		envDatabase: "postgres://relevel_app:a@db/relevel", envWorker: "postgres://relevel_worker:b@db/relevel",
		envHookNets: "10.1.0.0/16", envHookPlain: "yes", envURL: "https://levels.example", envPrivate: "127.0.0.1:9090", envBackups: "/mnt/backup",
		envDrain: "15s", envSigning: "/srv/keys", envMail: "smtps://n:s@mail.example", envMailFrom: "office@example.com", envProxies: "10.0.0.0/8",
		envACME: "https://acme.example/directory", envACMEMail: "office@levels.example",
		envS3Endpoint: "https://s3.example", envS3Bucket: "photos", envS3Region: "eu", envS3Key: "k", envS3Secret: "s",
	}
	dir := t.TempDir()
	want, err := readSettings(dir, maps.Clone(plain))
	if err != nil {
		t.Fatal(err)
	}
	for name, value := range plain {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(value+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		one := maps.Clone(plain)
		delete(one, name)
		one[name+"_FILE"] = path
		got, err := readSettings(dir, one)
		if err != nil {
			t.Errorf("%s in a file: %v", name, err)
		}
		if diff := cmp.Diff(want, got, cmp.Exporter(func(reflect.Type) bool { return true })); diff != "" {
			t.Errorf("%s in a file is another than as it is (-want +got):\n%s", name, diff)
		}
		one[name] = value
		if _, err := readSettings(dir, one); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s both ways: %v", name, err)
		}
	}
	for _, v := range serverVariables {
		for _, name := range settingName.FindAllString(v.name, -1) {
			if _, tried := plain[name]; !tried {
				t.Errorf("%s is a setting that is not tried here", name)
			}
		}
	}
}

// Help explains a setting once, whichever lists of a command have it.
func TestHelpNamesOnce(t *testing.T) {
	for _, c := range commands() {
		var text strings.Builder
		c.print(&text)
		for _, v := range c.env {
			if n := strings.Count(text.String(), "\n  "+v.name+"\n"); n != 1 {
				t.Errorf("relevel help %s explains %s %d times", c.name, v.name, n)
			}
		}
	}
}
