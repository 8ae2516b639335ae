package main

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

// A role's password is what its own address says, and nothing else is.
func TestReadPasswords(t *testing.T) {
	got, err := readPasswords(environment{
		envOwner:     "postgres://relevel_owner:o%2Fwn@db/relevel",
		envDatabase:  "postgresql://relevel_app:app@a,b/relevel?target_session_attrs=read-write",
		envWorker:    "postgres://relevel_worker@db/relevel",
		envEraser:    "host=db user=relevel_eraser password=elsewhere",
		"PGPASSWORD": "of the superuser",
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(map[string]string{"relevel_owner": "o/wn", "relevel_app": "app"}, got); diff != "" {
		t.Errorf("passwords (-want +got):\n%s", diff)
	}
}

// What is wrong is named by its variable, with its cure and without the password.
func TestReadPasswordsRefuses(t *testing.T) {
	for name, dsn := range map[string]string{
		"AnotherRole": "postgres://postgres:secret@db/relevel",
		"NoAddress":   "postgres://relevel_app:secret%zz@db/relevel",
	} {
		_, err := readPasswords(environment{envDatabase: dsn})
		bad, ok := errors.AsType[*levelling.InputError](err)
		if !ok || bad.Field != envDatabase || !strings.Contains(bad.Cure, "relevel_app") || strings.Contains(err.Error(), "secret") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
