package jobs_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling/frozentest"
)

// What a release recorded still counts as it did, for the same places and with the
// same figures; only the words may become better ones.
func TestReleasedFold(t *testing.T) {
	now := map[string]string{}
	s, kinds := fixtureJob(t)
	on := s.log[slices.Index(kinds, "setup-1")].ID
	for i, name := range []string{"B1-1", "B1-2", "B1-4"} {
		s.readOn(events.FloorFace, "carpet", on, name, 1290+7*float64(i))
		kinds = append(kinds, "reading of "+name)
	}
	s.jack("B1-2", 4)
	kinds = append(kinds, "a jack again")
	state := jobs.Refold(s.job, s.log)
	for i, e := range s.log {
		l := state.Line(e)
		standing := "counts"
		switch {
		case l.Voided != "":
			standing = "voided"
		case l.Aside != "":
			standing = "set aside"
		}
		now[kinds[i]] = fmt.Sprintf("%s points=%q staff=%s height=%s move=%s", standing, l.Points, micro(l.Staff), micro(l.Height), micro(l.Move))
	}
	for _, v := range state.Picture(s.clock).Supports {
		now["support "+v.ID] = fmt.Sprintf("%s present=%s found=%s target=%s", v.State, figure(v.Present), figure(v.AsFound), micro(v.Target))
	}
	frozentest.Hold(t, "testdata/released/fold", now)
}

// micro is a length to a millionth of a millimetre.
func micro(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.6f", *v)
}

func figure(f *jobs.Figure) string {
	if f == nil {
		return "-"
	}
	return micro(&f.MM)
}

// fixtureJob records the fixture of every kind and version once, in the order in
// which they speak of each other, under the ids that they name each other by. The one
// that erases others comes last, and erases nothing that is there.
func fixtureJob(t *testing.T) (s *site, names []string) {
	t.Helper()
	s = newSite(t)
	ids := map[string]byte{"first finding": 0x11, "setup-1": 0x15, "reading-1": 0x17, "stop-1": 0x27, "change-1": 0x29}
	late := map[string]bool{"void-1": true, "erased-1": true}
	first := []string{"plan-1", "first finding", "finding-1", "aim-1", "stop-1", "floor-cut-1", "setup-1", "reading-1"}
	order := append(first, "change-1")
	files, err := filepath.Glob("../events/testdata/kinds/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no fixtures: %v", err)
	}
	for _, last := range []bool{false, true} {
		for _, path := range files {
			if stem := strings.TrimSuffix(filepath.Base(path), ".json"); late[stem] == last && !slices.Contains(order, stem) {
				order = append(order, stem)
			}
		}
	}
	for _, stem := range order {
		kind, v, raw := fixture(t, stem)
		s.record(kind, raw)
		e := &s.log[len(s.log)-1]
		e.V = v
		if low, named := ids[stem]; named {
			e.ID = events.ID{0x01, 0x90, 0xc5, 0xa2, 0x3b, 0x10, 0x7a, 0, 0x80, 15: low}
		}
		names = append(names, stem)
	}
	return s, names
}

// fixture reads what is recorded under a name.
func fixture(t *testing.T, stem string) (kind events.Kind, v int, body json.RawMessage) {
	t.Helper()
	switch stem {
	case "first finding": // that the fixture follows up
		return events.KindFinding, 1, json.RawMessage(`{"what":"damp below the bath","suspected":["water"]}`)
	case "erased-1":
		return events.KindErased, 1, json.RawMessage(`{"records":[999],"why":"asked for"}`)
	}
	body, err := os.ReadFile("../events/testdata/kinds/" + stem + ".json")
	if err != nil {
		t.Fatal(err)
	}
	dash := strings.LastIndex(stem, "-")
	if v, err = strconv.Atoi(stem[dash+1:]); err != nil {
		t.Fatal(err)
	}
	return events.Kind(stem[:dash]), v, body
}

// Whatever was handed out by a release still opens what it opened.
func TestReleasedSecrets(t *testing.T) {
	firm, share := events.ID{0xab, 15: 1}, events.ID{0xcd, 15: 2}
	random := func() *bytes.Reader { return bytes.NewReader(bytes.Repeat([]byte{7}, 64)) }
	now := map[string]string{}
	ofFirm := func(name string, make func() (string, events.Digest, error), parse func(string) (events.ID, events.Digest, error)) {
		text, hash, err := make()
		if err != nil {
			t.Fatal(err)
		}
		if f, h, err := parse(text); err != nil || f != firm || h != hash {
			t.Errorf("%s: %s is read as %s %s, %v", name, text, f, h, err)
		}
		now[name] = text + " " + hash.String()
	}
	ofFirm("token", func() (string, events.Digest, error) { return jobs.NewToken(firm, random()) }, jobs.ParseToken)
	ofFirm("session", func() (string, events.Digest, error) { return jobs.NewSession(firm, random()) }, jobs.ParseSession)
	ofFirm("invitation", func() (string, events.Digest, error) { return jobs.NewInvitation(firm, random()) }, jobs.ParseInvitation)

	code, hash, err := jobs.NewPairingCode(random())
	if again, bad := jobs.ParsePairingCode(code); err != nil || bad != nil || again != hash {
		t.Errorf("pairing code %s: %v, %v", code, err, bad)
	}
	now["pairing code"] = code + " " + hash.String()
	secret, hash, err := jobs.NewShareSecret(random())
	if err != nil || jobs.ParseShareSecret(jobs.ShareCode(secret)) != hash {
		t.Errorf("the secret of an owner's link %s: %v", secret, err)
	}
	now["owner's link"] = secret + " " + jobs.ShareCode(secret) + " " + hash.String()
	visit, hash, err := jobs.NewShareVisit(random())
	if err != nil || jobs.ParseShareVisit(visit) != hash {
		t.Errorf("an owner's visit %s: %v", visit, err)
	}
	now["owner's visit"] = visit + " " + hash.String()
	address := jobs.Share{Firm: firm, ID: share}.Address()
	if f, one, err := jobs.ParseShareAddress(address); err != nil || f != firm || one != share {
		t.Errorf("the address %s is read as %s %s, %v", address, f, one, err)
	}
	now["owner's address"] = address
	frozentest.Hold(t, "testdata/released/secrets", now)
}
