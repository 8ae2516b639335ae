package bundle_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs/bundle"
)

// stretch is where an entry lies in a bundle, from its header to its last byte.
type stretch struct {
	name     string
	from, to int64
}

// stretches lists the entries as another program finds them.
func stretches(t testing.TB, data []byte) []stretch {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var all []stretch
	for _, f := range z.File {
		at, err := f.DataOffset()
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, stretch{f.Name, at - 30 - int64(len(f.Name)), at + int64(f.CompressedSize64)})
	}
	return all
}

func entryAt(all []stretch, at int64) string {
	for _, s := range all {
		if at >= s.from && at < s.to {
			return s.name
		}
	}
	return "" // the table of contents
}

// found checks that a change in one entry is found, and that the entry is named.
func found(data []byte, entry string) error {
	if strings.HasPrefix(entry, "photos/") {
		entry, _, _ = strings.Cut(entry, ".")
	}
	r, err := bundle.Verify(bytes.NewReader(data), bundle.Check{})
	if err != nil {
		if errors.Is(err, bundle.ErrUnreadable) && strings.Contains(err.Error(), entry) {
			return nil
		}
		return fmt.Errorf("%s: %w", entry, err)
	}
	if r.Verdict != bundle.Changed {
		return fmt.Errorf("a change in %s was not found:\n%s", entry, r.Text())
	}
	if !strings.Contains(r.Text(), entry) {
		return fmt.Errorf("a change in %s was found and the entry not named:\n%s", entry, r.Text())
	}
	return nil
}

// Each byte of a small bundle, changed by itself, is found and its entry named.
func TestEveryByte(t *testing.T) {
	s := newSite(t)
	s.add(events.KindPlan, plan)
	s.add(events.KindNote, `{"text":"one"}`, s.photo("one"))
	s.sign()
	s.logged()
	data := s.bundle()
	all := stretches(t, data)
	for i := range data {
		changed := bytes.Clone(data)
		changed[i] ^= byte(1 << (i % 8))
		if err := found(changed, entryAt(all, int64(i))); err != nil {
			t.Fatalf("byte %d of %d: %v", i, len(data), err)
		}
	}
}

// Any byte of any file, set to anything.
func TestRandomBytes(t *testing.T) {
	s := survey(t)
	s.logged()
	data := s.bundle()
	all := stretches(t, data)
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.SampledFrom(all).Draw(t, "entry")
		at := rapid.Int64Range(one.from, one.to-1).Draw(t, "byte")
		changed := bytes.Clone(data)
		changed[at] ^= byte(rapid.IntRange(1, 255).Draw(t, "by"))
		if err := found(changed, one.name); err != nil {
			t.Fatal(err)
		}
	})
}

// rezipped writes the entries anew, as an honest zip, so that nothing but their content
// and order can tell.
func rezipped(t testing.TB, data []byte, change func(names []string, content map[string][]byte) []string) []byte {
	t.Helper()
	var names []string
	content := map[string][]byte{}
	for _, s := range stretches(t, data) {
		names = append(names, s.name)
		content[s.name] = data[s.from+30+int64(len(s.name)) : s.to]
	}
	return bundle.Pack(change(names, content), content)
}

// What is done to whole entries is found, also where everything that can be written
// anew without the log was.
func TestEntries(t *testing.T) {
	s := survey(t)
	data := s.bundle()
	const third, fifth = "events/00000003.json", "events/00000005.json"
	without := func(names []string, name string) []string {
		return slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == name })
	}
	for name, test := range map[string]struct {
		change func(names []string, content map[string][]byte) []string
		entry  string
	}{
		"Removed":      {func(n []string, _ map[string][]byte) []string { return without(n, third) }, third},
		"RemovedPhoto": {func(n []string, _ map[string][]byte) []string { return without(n, photoOf(n)) }, photoOf(namesOf(t, data))},
		"NoCheckpoint": {func(n []string, _ map[string][]byte) []string { return without(n, "tree/checkpoint.txt") }, "tree/checkpoint.txt"},
		"NoSums":       {func(n []string, _ map[string][]byte) []string { return without(n, "SHA256SUMS") }, "SHA256SUMS"},
		"NoLog":        {func(n []string, _ map[string][]byte) []string { return without(n, "log.jsonl") }, "log.jsonl"},
		"Twice":        {func(n []string, _ map[string][]byte) []string { return slices.Insert(slices.Clone(n), 5, n[5]) }, third},
		"Moved":        {func(n []string, _ map[string][]byte) []string { n = slices.Clone(n); n[5], n[7] = n[7], n[5]; return n }, third},
		"Unlisted": {func(n []string, c map[string][]byte) []string {
			c["extra.txt"] = []byte("x")
			return append(slices.Clone(n), "extra.txt")
		}, "extra.txt"},
		"SeventhRecord": {func(n []string, c map[string][]byte) []string {
			c["events/00000007.json"] = c[third]
			return slices.Insert(slices.Clone(n), 9, "events/00000007.json")
		}, "events/00000007.json"},
		"Exchanged":  {func(n []string, c map[string][]byte) []string { c[third], c[fifth] = c[fifth], c[third]; return n }, third},
		"OtherPhoto": {func(n []string, c map[string][]byte) []string { c[photoOf(n)] = []byte("\xff\xd8\xffother"); return n }, photoOf(namesOf(t, data))},
		"OtherFigures": {func(n []string, c map[string][]byte) []string {
			c["state.json"] = bytes.Replace(c["state.json"], []byte("-12"), []byte("-10"), 1)
			return n
		}, "state.json"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, listed := range []bool{false, true} {
				changed := rezipped(t, data, func(names []string, content map[string][]byte) []string {
					names = test.change(names, content)
					if listed && name != "NoSums" {
						content["SHA256SUMS"] = bundle.Sums(without(names, "SHA256SUMS"), content)
					}
					return names
				})
				if listed && name == "NoCheckpoint" { // then it is as if none had been signed
					if r := verified(t, changed, bundle.Check{}); r.Verdict != bundle.Partly {
						t.Error(r.Text())
					}
					continue
				}
				if err := found(changed, test.entry); err != nil {
					t.Error(err)
				}
			}
		})
	}
}

func namesOf(t testing.TB, data []byte) (names []string) {
	for _, s := range stretches(t, data) {
		names = append(names, s.name)
	}
	return names
}

func photoOf(names []string) string {
	return names[slices.IndexFunc(names, func(n string) bool { return strings.HasPrefix(n, "photos/") })]
}

// A record that was removed, put in or changed with everything that hangs on it, but
// for the signature, does not agree with what was signed.
func TestRewritten(t *testing.T) {
	s := survey(t)
	for name, change := range map[string]func(c *bundle.Contents){
		"LastRemoved": func(c *bundle.Contents) { c.Records = c.Records[:5] },
		"FirstRemoved": func(c *bundle.Contents) {
			c.Records = slices.Clone(c.Records[1:])
			for i := range c.Records {
				c.Records[i].Seq--
			}
		},
		"Reordered": func(c *bundle.Contents) {
			c.Records = slices.Clone(c.Records)
			c.Records[2], c.Records[3] = c.Records[3], c.Records[2]
			c.Records[2].Seq, c.Records[3].Seq = 3, 4
		},
		"Changed": func(c *bundle.Contents) {
			c.Records = slices.Clone(c.Records)
			c.Records[4].Raw = bytes.Replace(c.Records[4].Raw, []byte("before"), []byte("after!"), 1)
		},
	} {
		t.Run(name, func(t *testing.T) {
			c := s.contents()
			change(&c)
			var leaves events.Frontier
			for i, e := range c.Records {
				c.Records[i].Leaf = events.Leaf{Firm: s.firm, Job: s.job, Seq: e.Seq, ID: e.ID, Kind: e.Kind, RecordedAt: e.RecordedAt, Commitment: events.Commit(e.Salt, e.Raw)}.Hash()
				leaves = leaves.Grow(int64(i), c.Records[i].Leaf)
			}
			c.About.Seq, c.About.Root = int64(len(c.Records)), events.Digest(leaves.Root())
			r := verified(t, s.written(c), bundle.Check{})
			if r.Verdict != bundle.Changed || r.Faults[0].Entry != "tree/checkpoint.txt" {
				t.Error(r.Text())
			}
		})
	}
}

// What is no bundle is said to be none, and nothing takes more memory than it has bytes.
func TestNoBundle(t *testing.T) {
	s := survey(t)
	data := s.bundle()
	var other bytes.Buffer
	z := zip.NewWriter(&other)
	w, err := z.Create("README.txt")
	must(t, err)
	if _, err := w.Write([]byte("another")); err != nil {
		t.Fatal(err)
	}
	must(t, z.Close())
	for name, data := range map[string][]byte{
		"Nothing": nil, "Text": []byte("not a zip at all"), "AnotherZip": other.Bytes(), "Headless": data[1:],
		"Schema": bytes.Replace(data, []byte(`"schema": 1`), []byte(`"schema": 2`), 1),
	} {
		if _, err := bundle.Verify(bytes.NewReader(data), bundle.Check{}); !errors.Is(err, bundle.ErrUnreadable) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A file that ends too early is found wherever it ends.
func TestCutShort(t *testing.T) {
	data := survey(t).bundle()
	all := stretches(t, data)
	for n := int(all[1].from); n < len(data); n += 37 {
		if err := found(data[:n], ""); err != nil {
			t.Fatalf("%d of %d bytes: %v", n, len(data), err)
		}
	}
}

// Whatever somebody sends, it is read to its end or refused, and what holds has not a
// byte to spare.
func FuzzVerify(f *testing.F) {
	good := survey(f).bundle()
	f.Add(good)
	f.Add(good[:len(good)/2])
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := bundle.Verify(bytes.NewReader(data), bundle.Check{})
		if err != nil || r.Verdict == bundle.Changed {
			return
		}
		if r, err := bundle.Verify(bytes.NewReader(append(data, 0)), bundle.Check{}); err != nil || r.Verdict != bundle.Changed {
			t.Errorf("it holds with one more byte: %v %s", err, r.Text())
		}
	})
}

// What a report says holds is not said of what was changed.
func TestHeldIsWhatHolds(t *testing.T) {
	data := survey(t).bundle()
	for _, s := range stretches(t, data) {
		if s.name != "events/00000005.json" && !strings.HasPrefix(s.name, "photos/") {
			continue
		}
		changed := bytes.Clone(data)
		changed[s.to-2] ^= 4
		held := strings.Join(verified(t, changed, bundle.Check{}).Held, " ")
		if want := "1 photo or sound is what"; strings.HasPrefix(s.name, "photos/") && !strings.Contains(held, want) {
			t.Errorf("%s: %s", s.name, held)
		}
		if want := "5 records are as they were sealed"; s.name == "events/00000005.json" && !strings.Contains(held, want) {
			t.Errorf("%s: %s", s.name, held)
		}
	}
}
