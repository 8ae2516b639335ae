package bundle_test

import (
	"archive/zip"
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/proof"
	"relevel/jobs"
	"relevel/jobs/bundle"
)

const (
	plan = `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":1.8,"y":0}],"spots":[{"id":"S1","x":0.9,"y":1}],
		"datums":[{"id":"D1","x":-2,"y":0,"height":0,"off_building":true}],"bearers":[{"id":"B1","supports":["B1-1","B1-2"]}]}`
	setup = `{"instrument":"laser 1","datums":[{"datum":"D1","staff":1000}]}`
)

// site is an invented job in memory, with the key that signs its log.
type site struct {
	t         testing.TB
	log       *eventstest.MemLog
	maker     *eventstest.Maker
	firm, job events.ID
	photos    map[events.Digest][]byte
	secret    string
	keys      []proof.PublicKey
	tree      bundle.Tree
}

func newSite(t testing.TB) *site {
	t.Helper()
	s := &site{t: t, log: eventstest.NewMemLog(), maker: eventstest.NewMaker(t), firm: eventstest.NewFirm(t), job: eventstest.NewFirm(t), photos: map[events.Digest][]byte{}}
	must(t, s.log.Create(t.Context(), s.firm, s.job))
	s.newKey()
	return s
}

func (s *site) newKey() {
	secret, verifier, err := proof.GenerateKey(rand.Reader, "levels.example")
	must(s.t, err)
	s.secret = secret
	s.keys = append(s.keys, proof.PublicKey{Verifier: verifier, From: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)})
}

// photo keeps a picture and returns the list of files of a record that shows it.
func (s *site) photo(words string) string {
	data := append([]byte("\xff\xd8\xff"), words...)
	sum := events.Digest(sha256.Sum256(data))
	s.photos[sum] = data
	return fmt.Sprintf(`"files":[{"type":"photo","sha256":%q,"bytes":%d,"media_type":"image/jpeg"}]`, sum, len(data))
}

func (s *site) add(kind events.Kind, body string, more ...string) events.ID {
	s.t.Helper()
	in := s.maker.Event(s.job, kind, body)
	if len(more) > 0 {
		in = s.maker.Raw(strings.TrimSuffix(string(in.Raw), "}") + "," + more[0] + "}")
	}
	_, err := s.log.Append(s.t.Context(), eventstest.BatchOf(s.firm, s.job, in))
	must(s.t, err)
	return in.Event.ID
}

// survey is a small job with two photos.
func survey(t testing.TB) *site {
	s := newSite(t)
	s.add(events.KindPlan, plan)
	on := s.add(events.KindSetup, setup)
	for point, staff := range map[string]int{"B1-1": 1012, "B1-2": 1031} {
		s.add(events.KindReading, fmt.Sprintf(`{"setup":%q,"point":%q,"face":"bearer","staff":%d}`, on, point, staff))
	}
	s.add(events.KindNote, `{"text":"before"}`, s.photo("before"))
	s.add(events.KindNote, `{"text":"after"}`, s.photo("after"))
	s.sign()
	return s
}

func (s *site) records() []events.Stored {
	s.t.Helper()
	all, err := s.log.Read(s.t.Context(), s.firm, s.job, 0, 1000)
	must(s.t, err)
	return all
}

// sign signs the log as it is.
func (s *site) sign() {
	s.t.Helper()
	head, err := s.log.Head(s.t.Context(), s.firm, s.job)
	must(s.t, err)
	c := proof.Checkpoint{Origin: proof.JobOrigin("levels.example", s.firm, s.job), Size: head.Seq, Root: head.Root}
	s.tree = bundle.Tree{Checkpoint: s.note(c), Keys: []byte(proof.KeysText(s.keys))}
}

func (s *site) note(c proof.Checkpoint) []byte {
	s.t.Helper()
	signer, err := note.NewSigner(s.secret)
	must(s.t, err)
	signed, err := proof.Sign(c, signer)
	must(s.t, err)
	return signed
}

// logged puts the checkpoint into a firm's log of three.
func (s *site) logged() {
	s.t.Helper()
	leaves := []events.Hash{{1}, bundle.LoggedLeaf(s.tree.Checkpoint), {3}}
	tree := proof.NewTree(leaves)
	root, err := tree.Root(3)
	must(s.t, err)
	p, err := tree.Include(2, 3)
	must(s.t, err)
	p.Checkpoint = s.note(proof.Checkpoint{Origin: proof.FirmOrigin("levels.example", s.firm), Size: 3, Root: root})
	s.tree.Logged, s.tree.Firm = s.tree.Checkpoint, []byte(p.Text())
}

func (s *site) contents() bundle.Contents {
	s.t.Helper()
	all := s.records()
	head, err := s.log.Head(s.t.Context(), s.firm, s.job)
	must(s.t, err)
	return bundle.Contents{
		About: bundle.About{
			Schema: bundle.Schema, Firm: bundle.Firm{ID: s.firm, Name: "Level Best", Words: jobs.Australia, Units: "mm"},
			Job:    bundle.Job{ID: s.job, Name: "4 Wattle Street", Zone: "UTC", CreatedAt: eventstest.RecordedAt},
			People: []bundle.Person{{ID: s.maker.By, Name: "Mere Kohu", Role: jobs.SiteLead}},
			Seq:    int64(len(all)), Root: events.Digest(head.Root), Photos: bundle.Originals,
		},
		Records: all, Tree: s.tree,
	}
}

func (s *site) open(file events.Digest, _ events.FileType) ([]byte, error) {
	data, ok := s.photos[file]
	if !ok {
		return nil, events.ErrNotFound
	}
	return data, nil
}

func (s *site) bundle() []byte { return s.written(s.contents()) }

func (s *site) written(c bundle.Contents) []byte {
	s.t.Helper()
	var b bytes.Buffer
	must(s.t, bundle.Write(&b, c, s.open, nil))
	return b.Bytes()
}

func verified(t testing.TB, data []byte, c bundle.Check) bundle.Report {
	t.Helper()
	r, err := bundle.Verify(bytes.NewReader(data), c)
	must(t, err)
	return r
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A bundle is what it was made from, twice the same, and any program that reads zips
// reads it.
func TestBundle(t *testing.T) {
	s := survey(t)
	s.logged()
	data := s.bundle()
	if !bytes.Equal(data, s.bundle()) {
		t.Error("the same job comes to other bytes")
	}
	r := verified(t, data, bundle.Check{})
	if r.Verdict != bundle.Holds {
		t.Fatal(r.Text())
	}
	for _, want := range []string{"6 records are as they were sealed", "2 photos and sounds are what the records were sealed with", "2 supports, 1 spot", "not known to you", "number 2 of 3"} {
		if !strings.Contains(r.Text(), want) {
			t.Errorf("%q is not in\n%s", want, r.Text())
		}
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		in, err := f.Open()
		must(t, err)
		if _, err := io.Copy(io.Discard, in); err != nil {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	if got := strings.Join(names, " "); !strings.HasPrefix(got, "README.txt bundle.json log.jsonl events/00000001.json ") || !strings.HasSuffix(got, "files.jsonl SHA256SUMS") {
		t.Error(got)
	}
}

// Keys that somebody vouches for are named as such, and a checkpoint that none of them
// signed does not hold.
func TestTrustedKeys(t *testing.T) {
	s := survey(t)
	key, err := proof.ParseVerifier(s.keys[0].Verifier)
	must(t, err)
	if r := verified(t, s.bundle(), bundle.Check{Trusted: []note.Verifier{key}}); r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "a key that you know") {
		t.Error(r.Text())
	}
	_, other, err := proof.GenerateKey(rand.Reader, "levels.example")
	must(t, err)
	key, err = proof.ParseVerifier(other)
	must(t, err)
	if r := verified(t, s.bundle(), bundle.Check{Trusted: []note.Verifier{key}}); r.Verdict != bundle.Changed || r.Faults[0].Entry != "tree/checkpoint.txt" {
		t.Error(r.Text())
	}
}

// What could not be checked is told, and is no change.
func TestPartly(t *testing.T) {
	for name, test := range map[string]struct {
		change func(*site)
		says   string
	}{
		"NothingSigned": {func(s *site) { s.tree = bundle.Tree{} }, "No checkpoint is here"},
		"LaterRecords":  {func(s *site) { s.add(events.KindNote, `{"text":"later"}`) }, "1 record came after the checkpoint"},
		"MissingPhoto":  {func(s *site) { clear(s.photos) }, "is not in this bundle"},
		"Shortened":     {func(s *site) {}, "it is older than the checkpoint, or was cut short"},
	} {
		t.Run(name, func(t *testing.T) {
			s := survey(t)
			test.change(s)
			var c bundle.Check
			if name == "Shortened" {
				c.Against = [][]byte{s.note(proof.Checkpoint{Origin: proof.JobOrigin("levels.example", s.firm, s.job), Size: 7})}
			}
			if r := verified(t, s.bundle(), c); r.Verdict != bundle.Partly || !strings.Contains(r.Text(), test.says) {
				t.Error(r.Text())
			}
		})
	}
}

// A checkpoint that somebody kept shows a history that was written anew, however well
// the new one was signed.
func TestFork(t *testing.T) {
	s := survey(t)
	held := s.tree.Checkpoint
	s.add(events.KindNote, `{"text":"later"}`)
	s.sign()
	if r := verified(t, s.bundle(), bundle.Check{Against: [][]byte{held}}); r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "continues the history") {
		t.Fatal(r.Text())
	}
	was := s.log
	s.log = eventstest.NewMemLog()
	must(t, s.log.Create(t.Context(), s.firm, s.job))
	all, err := was.Read(t.Context(), s.firm, s.job, 0, 100)
	must(t, err)
	for i, e := range all {
		if i == 2 {
			e.Raw = bytes.Replace(e.Raw, []byte(`"staff":1`), []byte(`"staff":2`), 1)
		}
		_, err := s.log.Append(t.Context(), eventstest.BatchOf(s.firm, s.job, s.maker.Raw(string(e.Raw))))
		must(t, err)
	}
	s.sign()
	data := s.bundle()
	if r := verified(t, data, bundle.Check{}); r.Verdict != bundle.Holds {
		t.Fatalf("by itself it holds: %s", r.Text())
	}
	r := verified(t, data, bundle.Check{Against: [][]byte{held}})
	if r.Verdict != bundle.Changed || !strings.Contains(r.Heading(), "a fork: the first 6 records here are not the 6 that were signed") {
		t.Error(r.Text())
	}
}

// What was erased is told, and the rest holds. Content that is gone without a record
// that says so does not.
func TestErased(t *testing.T) {
	s := survey(t)
	s.add(events.KindErased, `{"records":[5],"files":[{"record":6,"no":1}],"why":"asked for"}`)
	s.log.Erase(s.firm, s.job, 5)
	s.sign()
	for file, data := range s.photos {
		if strings.HasSuffix(string(data), "after") {
			delete(s.photos, file)
		}
	}
	r := verified(t, s.bundle(), bundle.Check{})
	if r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "1 record was erased at somebody's request, as record 7 says") || !strings.Contains(r.Text(), "1 photo or sound was erased") {
		t.Error(r.Text())
	}
	s.log.Erase(s.firm, s.job, 4)
	if r := verified(t, s.bundle(), bundle.Check{}); r.Verdict != bundle.Changed || r.Faults[0].Seq != 4 {
		t.Error(r.Text())
	}
}

// Smaller photos are said to be what they are.
func TestSmaller(t *testing.T) {
	s := survey(t)
	c := s.contents()
	c.About.Photos = bundle.Smaller
	var b bytes.Buffer
	must(t, bundle.Write(&b, c, func(events.Digest, events.FileType) ([]byte, error) { return []byte("\xff\xd8\xffsmall"), nil }, nil))
	r := verified(t, b.Bytes(), bundle.Check{})
	if r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "2 photos are smaller ones, made from the originals.") || strings.Contains(r.Text(), "sealed with, as taken") {
		t.Error(r.Text())
	}
}

// A store that is away ends the writing: a bundle says "missing" of nothing that is kept.
func TestStoreAway(t *testing.T) {
	s := survey(t)
	err := bundle.Write(io.Discard, s.contents(), func(events.Digest, events.FileType) ([]byte, error) { return nil, events.ErrUnavailable }, nil)
	if err == nil {
		t.Error("a bundle was written")
	}
}
