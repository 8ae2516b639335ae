// Package bundle writes one job into one file that can be checked without us, and
// checks such a file.
//
// A bundle is a zip of a single form (container.go). Every byte of it follows from
// the job's log, its files and what the store says of the job, so that whoever has
// read the entries can write the whole again and compare. What holds a bundle
// together is the job's tree: the leaf of each record, made from its exact bytes,
// and the root of all leaves, which checkpoints sign.
package bundle

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
)

// Schema is the version of the form. A bundle of another one is not read.
const Schema = 1

// The names of the entries, in their order.
const (
	readmeName  = "README.txt"
	aboutName   = "bundle.json"
	logName     = "log.jsonl"
	eventFolder = "events/"
	treeFolder  = "tree/"
	planName    = "plan.json"
	stateName   = "state.json"
	photoFolder = "photos/"
	soundFolder = "sounds/"
	filesName   = "files.jsonl"
	sumsName    = "SHA256SUMS"
)

// Bounds of what is read. They are far above any job, and keep a hostile file from
// taking more memory than a job does.
const (
	maxName    = 120
	maxEvents  = 1_000_000
	maxSmall   = 1 << 20  // README.txt, bundle.json, what is in tree/
	maxEvent   = 2 << 20  // one record
	maxDerived = 32 << 20 // plan.json, state.json
	maxFile    = events.MaxPhotoBytes
	maxList    = 512 << 20 // log.jsonl, files.jsonl, SHA256SUMS
	maxRecords = 1 << 30   // all records together
)

// ErrUnreadable is a file that is no bundle, or one of another version.
var ErrUnreadable = errors.New("not a bundle that can be read")

// Photos says which photos and sounds a bundle carries.
type Photos string

// The originals are what records vouch for by their SHA-256. The smaller ones are
// made from those, without the place where they were taken, and nothing in the log
// vouches for them.
const (
	Originals Photos = "originals"
	Smaller   Photos = "smaller"
)

func eventName(seq int64) string { return fmt.Sprintf("%s%08d.json", eventFolder, seq) }

// extensions are those of the media that are taken in.
var extensions = map[string]string{
	events.MediaJPEG: ".jpg", events.MediaPNG: ".png", events.MediaWebP: ".webp",
	events.MediaWebM: ".webm", events.MediaMP4: ".m4a",
}

// fileName is where a photo or sound lies: by the digest that records name it by,
// and what its bytes are.
func fileName(file events.Digest, made bool, data []byte) string {
	media := events.Sniff(data)
	folder, size := photoFolder, ""
	if media == events.MediaWebM || media == events.MediaMP4 {
		folder = soundFolder
	}
	if made {
		size = "-smaller"
	}
	return folder + file.String() + size + extensions[media]
}

// fileOf is the digest in the name of a photo or sound.
func fileOf(name string) (file events.Digest, made bool) {
	name = strings.TrimPrefix(strings.TrimPrefix(name, photoFolder), soundFolder)
	digits, rest, _ := strings.Cut(name, ".")
	digits, made = strings.CutSuffix(digits, "-smaller")
	if rest == "" && strings.HasSuffix(name, ".") {
		return events.Digest{}, false
	}
	file, err := events.ParseDigest(digits)
	if err != nil {
		return events.Digest{}, false
	}
	return file, made
}

func isFile(name string) bool {
	return strings.HasPrefix(name, photoFolder) || strings.HasPrefix(name, soundFolder)
}

// sums is SHA256SUMS: what `sha256sum -c` reads, a line for every entry before it.
type sums struct {
	names   []string
	digests []events.Digest
}

func (s *sums) add(name string, data []byte) {
	s.names, s.digests = append(s.names, name), append(s.digests, sha256.Sum256(data))
}

func (s *sums) line(i int) string { return s.digests[i].String() + "  " + s.names[i] + "\n" }

func (s *sums) bytes() []byte {
	var b strings.Builder
	for i := range s.names {
		b.WriteString(s.line(i))
	}
	return []byte(b.String())
}

// ReadKeys reads public keys, one a line, each as it is or with the days behind it on
// which it was in use.
func ReadKeys(text string) (all []note.Verifier, err error) {
	for line := range strings.Lines(text) {
		key, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		if key == "" {
			continue
		}
		v, err := proof.ParseVerifier(key)
		if err != nil {
			return nil, fmt.Errorf("%.80q: %w", key, err)
		}
		all = append(all, v)
	}
	return all, nil
}

// plainName is a name as it can be shown to somebody, whatever it holds.
func plainName(name string) string {
	for _, c := range []byte(name) {
		if c < ' ' || c > '~' {
			return fmt.Sprintf("%.80q", name)
		}
	}
	return name
}

// hexBytes are bytes as hexadecimal digits.
type hexBytes []byte

// MarshalText writes lower-case digits.
func (h hexBytes) MarshalText() ([]byte, error) { return []byte(hex.EncodeToString(h)), nil }

// UnmarshalText reads digits of either case.
func (h *hexBytes) UnmarshalText(text []byte) (err error) {
	*h, err = hex.DecodeString(string(text))
	return err
}
