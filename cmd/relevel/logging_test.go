package main

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

func TestPostgresLog(t *testing.T) {
	var out bytes.Buffer
	flags := logFlags{quiet: true}
	w := &lineWriter{log: flags.logger(&out)}
	fmt.Fprint(w, "LOG:  database system is ready\nPAN")
	fmt.Fprint(w, "IC:  could not write\nFATAL:  terminating connection due to administrator command\nERROR:  duplicate key value violates unique constraint \"event_id_key\"\nhalf a li")
	if got := out.String(); strings.Count(got, "\n") != 1 || !strings.Contains(got, `says="PANIC:  could not write"`) {
		t.Errorf("logged %q, want the panic alone", got)
	}
}
