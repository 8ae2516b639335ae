package seam_test

import (
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"

	"relevel/cmd/verifywasm/seam"
	"relevel/levelling/depstest"
)

type said struct {
	Error, Heading, Verdict string
}

func ask(t *testing.T, in io.Reader, keys string) (s said) {
	t.Helper()
	if err := json.Unmarshal(seam.Answer(in, keys, nil, nil), &s); err != nil {
		t.Fatal(err)
	}
	return s
}

// What cannot be read is said in words, and nothing ends the worker.
func TestAnswerOfNoBundle(t *testing.T) {
	if s := ask(t, strings.NewReader("a letter"), ""); !strings.Contains(s.Error, "not a bundle") || s.Verdict != "" {
		t.Errorf("%+v", s)
	}
	if s := ask(t, strings.NewReader(""), "no key"); !strings.Contains(s.Error, "key") {
		t.Errorf("%+v", s)
	}
	if s := ask(t, panics{}, ""); !strings.Contains(s.Error, "broke off") {
		t.Errorf("%+v", s)
	}
	if s := ask(t, fails{}, ""); !strings.Contains(s.Error, "the disk is gone") {
		t.Errorf("%+v", s)
	}
}

type panics struct{}

func (panics) Read([]byte) (int, error) { panic("a fault") }

type fails struct{}

func (fails) Read([]byte) (int, error) { return 0, errors.New("the disk is gone") }

// The browser's program reaches no network and no database.
func TestRunsInBrowser(t *testing.T) { depstest.RunsOnPhone(t, "relevel/cmd/verifywasm/seam") }
