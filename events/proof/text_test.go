package proof_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"relevel/events/proof"
)

// The example of C2SP's tlog-checkpoint (c2sp.org/tlog-checkpoint).
const checkpointText = "example.com/behind-the-sofa\n" +
	"20852163\n" +
	"CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"

const checkpointNote = checkpointText + "\n" +
	"— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"

// The example of a request for a signature in C2SP's tlog-witness
// (c2sp.org/tlog-witness).
const witnessText = "old 20852014\n" +
	"PlRNCrwHpqhGrupue0L7gxbjbMiKA9temvuZZDDpkaw=\n" +
	"jrJZDmY8Y7SyJE0MWLpLozkIVMSMZcD5kvuKxPC3swk=\n" +
	"5+pKlUdi2LeF/BcMHBn+Ku6yhPGNCswZZD1X/6QgPd8=\n" +
	"/6WVhPs2CwSsb5rYBH5cjHV/wSmA79abXAwhXw3Kj/0=\n" +
	"\n" +
	checkpointNote +
	"— example.com/behind-the-sofa opLqBQsREYCgu6xQkYQwJr9fo45a62DN9EdmHXnZdXNqlcVGlCum2Wks+49/V6267UEjw6QUXTS5Rovnzv++qbSzm9Q=\n"

// The example of C2SP's tlog-proof (c2sp.org/tlog-proof), with the checkpoint of
// tlog-checkpoint: that of the example is cut short.
const proofText = "c2sp.org/tlog-proof@v1\n" +
	"index 73894\n" +
	"gSKyXoYZUgZ6jduWYrkDOARinOMGJveXjgMkBTcdPlQ=\n" +
	"B95lDa8R83lS8n0eG+o0buTxRKQTYFi//1U8anccXmA=\n" +
	"EKNzoDWG8LGC0Yp9o+sv3qllpMP9uHQ9B20KNL+Q1zs=\n" +
	"RoopEkOdqkYqMB4MJXrbt/hMjOxsVn0IrWjpz1ZMMes=\n" +
	"AHCioX9nLjsrse6YhjRRmk1WUEirVOLLRoOQ6vfO5vk=\n" +
	"\n" +
	checkpointNote

// A note that a public log signed and its key, as github.com/transparency-dev/formats
// has them in log/checkpoint_test.go: text, signature and key come from elsewhere.
const (
	publicNote = "go.sum database tree\n" +
		"6476701\n" +
		"mb8QLQIs0Z0yP5Cstq6guj87oXWeC9gEM8oVikmm9Wk=\n" +
		"\n" +
		"— sum.golang.org Az3grsLX85Gz+s1SiTbgkuqxgItqFq7gsMUEyVnrsa9LM7Us9S+1xbFIGu95949rj4nPRYfvimWEPWL+o3GeoWwOoAw=\n"
	publicKey = "sum.golang.org+033de0ae+Ac4zctda0e5eza+HJyk9SxEdh+s3Ux18htTTAD8OuAn8"
)

func TestCheckpointOfC2SP(t *testing.T) {
	c, err := proof.ParseCheckpoint(checkpointText)
	if err != nil {
		t.Fatal(err)
	}
	if c.Origin != "example.com/behind-the-sofa" || c.Size != 20852163 || c.Extensions != nil {
		t.Errorf("read %+v", c)
	}
	s, err := proof.Peek([]byte(checkpointNote))
	if err != nil {
		t.Fatal(err)
	}
	want := []proof.Signature{{Name: "example.com/behind-the-sofa", ID: 0x033de0ae}}
	if s.Text() != checkpointText || s.By != nil || !slices.Equal(s.Unknown, want) {
		t.Errorf("read %+v", s)
	}
	if _, err := proof.Open([]byte(checkpointNote)); !errors.Is(err, proof.ErrUnsigned) ||
		!strings.Contains(err.Error(), "example.com/behind-the-sofa+033de0ae") {
		t.Errorf("with no key known: %v", err)
	}
}

func TestExtensionLinesAreKept(t *testing.T) {
	text := checkpointText + "first line\nsecond line\n"
	c, err := proof.ParseCheckpoint(text)
	if err != nil || len(c.Extensions) != 2 || c.Text() != text {
		t.Errorf("read %+v, %v", c, err)
	}
}

func TestProofsOfC2SP(t *testing.T) {
	in, err := proof.ParseInclusion(proofText)
	if err != nil || in.Index != 73894 || len(in.Path) != 5 || in.Text() != proofText {
		t.Errorf("read %+v, %v", in, err)
	}
	con, err := proof.ParseConsistency(witnessText)
	if err != nil || con.Old != 20852014 || len(con.Path) != 4 || con.Text() != witnessText {
		t.Errorf("read %+v, %v", con, err)
	}
}

func known(t testing.TB, keys ...string) []note.Verifier {
	t.Helper()
	var all []note.Verifier
	for _, key := range keys {
		v, err := proof.ParseVerifier(key)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	return all
}

func TestNoteOfAPublicLog(t *testing.T) {
	s, err := proof.Open([]byte(publicNote), known(t, publicKey)...)
	if err != nil {
		t.Fatal(err)
	}
	if s.Size != 6476701 || len(s.By) != 1 || s.By[0].String() != "sum.golang.org+033de0ae" || s.Unknown != nil {
		t.Errorf("read %+v", s)
	}
}

// What base64 and the decoders take, and what is not the text in its one form.
func TestOtherFormsAreRefused(t *testing.T) {
	for name, change := range map[string]struct{ was, is string }{
		"unused bits of the signature": {"oWwOoAw=", "oWwOoAx="},
		"a line end inside base64":     {"oWwOoAw=", "oWwO\roAw="},
		"unused bits of the root":      {"ikmm9Wk=", "ikmm9Wl="},
		"a leading zero":               {"6476701", "06476701"},
		"a sign":                       {"6476701", "+6476701"},
		"too many leaves":              {"6476701", "9007199254740993"},
		"a space after the size":       {"6476701", "6476701 "},
		"no origin":                    {"go.sum database tree", ""},
		"an empty line":                {"ikmm9Wk=\n", "ikmm9Wk=\n\nmore\n"},
		"a carriage return":            {"tree\n", "tree\r\n"},
		"a broken letter":              {"go.sum", "go\xffsum"},
		"no final line end":            {"oWwOoAw=\n", "oWwOoAw="},
		"a line more":                  {"oWwOoAw=\n", "oWwOoAw=\n\n"},
		"a hyphen for the dash":        {"— ", "- "},
		"two spaces":                   {"org Az3", "org  Az3"},
	} {
		t.Run(name, func(t *testing.T) {
			changed := strings.Replace(publicNote, change.was, change.is, 1)
			if changed == publicNote {
				t.Fatal("nothing was changed")
			}
			if s, err := proof.Open([]byte(changed), known(t, publicKey)...); !errors.Is(err, proof.ErrMalformed) {
				t.Errorf("read as %+v, %v", s, err)
			}
		})
	}
	lines := strings.SplitAfter(publicNote, "\n")
	twice := publicNote + lines[len(lines)-2]
	if _, err := proof.Open([]byte(twice), known(t, publicKey)...); !errors.Is(err, proof.ErrMalformed) {
		t.Errorf("the same signature twice: %v", err)
	}
}

// Whatever single byte of a signed note is changed, it does not open.
func TestEveryByteOfANoteCounts(t *testing.T) {
	keys := known(t, publicKey)
	for i := range len(publicNote) {
		for _, flip := range []byte{1, 2, 4, 8, 16, 32, 64, 128} {
			changed := []byte(publicNote)
			changed[i] ^= flip
			if _, err := proof.Open(changed, keys...); err == nil {
				t.Errorf("byte %d xor %d: still opens", i, flip)
			}
		}
	}
}

func TestOtherFormsOfProofsAreRefused(t *testing.T) {
	for name, change := range map[string]struct{ was, is string }{
		"another heading":              {"proof@v1", "proof@v2"},
		"extra data":                   {"index", "extra YWdl\nindex"},
		"a leading zero":               {"index 7", "index 07"},
		"unused bits":                  {"dPlQ=", "dPlR="},
		"a hash too short":             {"gSKyXoYZUgZ6jduWYrkDOARinOMGJveXjgMkBTcdPlQ=", "gSKyXg=="},
		"an empty line more":           {"index 73894\n", "index 73894\n\n"},
		"a checkpoint that is not one": {"20852163\n", "many\n"},
	} {
		changed := strings.Replace(proofText, change.was, change.is, 1)
		if p, err := proof.ParseInclusion(changed); !errors.Is(err, proof.ErrMalformed) || changed == proofText {
			t.Errorf("%s: read as %+v, %v", name, p, err)
		}
	}
	for name, change := range map[string]struct{ was, is string }{
		"another heading": {"old ", "new "},
		"a leading zero":  {"old 2", "old 02"},
		"unused bits":     {"Dpkaw=", "Dpkax="},
		"a hash cut":      {"PlRNCrwHpqhG", "PlRN"},
		"no old size":     {"old 20852014\n", ""},
	} {
		changed := strings.Replace(witnessText, change.was, change.is, 1)
		if p, err := proof.ParseConsistency(changed); !errors.Is(err, proof.ErrMalformed) || changed == witnessText {
			t.Errorf("%s: read as %+v, %v", name, p, err)
		}
	}
	long := strings.Replace(witnessText, "\n", "\n"+strings.Repeat("PlRNCrwHpqhGrupue0L7gxbjbMiKA9temvuZZDDpkaw=\n", 60), 1)
	if _, err := proof.ParseConsistency(long); !errors.Is(err, proof.ErrMalformed) {
		t.Errorf("64 hashes: %v", err)
	}
}
