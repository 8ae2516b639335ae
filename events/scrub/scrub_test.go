package scrub_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/eventstest"
	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
	"relevel/events/scrub"
)

var stored = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

const day = 24 * time.Hour

// store is photos of one firm and their bytes.
type store struct {
	*scrub.Scrubber
	objects events.Objects
	firm    events.ID
	bodies  map[events.Digest][]byte
	sums    []events.Digest // in the order they came
}

// fill keeps five photos, a minute after another.
func fill(t *testing.T, objects events.Objects) *store {
	t.Helper()
	s := &store{objects: objects, firm: eventstest.NewFirm(t), bodies: map[events.Digest][]byte{}}
	s.Scrubber = &scrub.Scrubber{Photos: &events.Photos{Objects: objects, Ledger: new(eventstest.MemLedger)}}
	for n := range 5 {
		body := append([]byte("\xff\xd8\xff\xe0 a photo "), byte('0'+n))
		sum := events.Digest(sha256.Sum256(body))
		s.bodies[sum], s.sums = body, append(s.sums, sum)
		s.put(t, s.Photos, sum, stored.Add(time.Duration(n)*time.Minute))
	}
	return s
}

func (s *store) put(t *testing.T, p *events.Photos, sum events.Digest, at time.Time) {
	t.Helper()
	_, err := p.Put(t.Context(), events.Upload{Firm: s.firm, SHA256: sum, Bytes: int64(len(s.bodies[sum])), Media: events.MediaJPEG, At: at, Body: bytes.NewReader(s.bodies[sum])})
	if err != nil {
		t.Fatal(err)
	}
}

func (s *store) key(n int) events.Key { return events.Key{Firm: s.firm, SHA256: s.sums[n]} }

// replace changes what is stored behind everybody's back.
func (s *store) replace(t *testing.T, k events.Key, body string) {
	t.Helper()
	o := events.Object{Key: k, Bytes: int64(len(body)), SHA256: sha256.Sum256([]byte(body)), Media: events.MediaJPEG}
	if _, err := s.objects.Put(t.Context(), o, strings.NewReader(body)); err != nil {
		t.Fatal(err)
	}
}

func (s *store) state(t *testing.T, n int) events.Kept {
	t.Helper()
	k, err := s.Photos.Ledger.Find(t.Context(), s.firm, s.sums[n])
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// all reads back what is in every safe state.
func (s *store) all(t *testing.T, now time.Time) scrub.Found {
	t.Helper()
	var found scrub.Found
	for _, state := range []events.FileState{events.FileStored, events.FileDurable} {
		more, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: state, Before: now}, now)
		if err != nil {
			t.Fatal(err)
		}
		found.Add(more)
	}
	return found
}

// Each kind of store is scrubbed likewise.
func eachStore(t *testing.T, test func(t *testing.T, objects events.Objects)) {
	t.Run("Memory", func(t *testing.T) { test(t, &eventstest.MemObjects{Synced: true}) })
	t.Run("Folder", func(t *testing.T) {
		s, err := dirphotos.Open(t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Close() })
		test(t, s)
	})
	t.Run("Bucket", func(t *testing.T) {
		s, err := s3photos.New(s3test.Start(t))
		if err != nil {
			t.Fatal(err)
		}
		test(t, s)
	})
}

// What was changed and what is gone is found and falls back; the rest is verified.
func TestFirm(t *testing.T) {
	eachStore(t, func(t *testing.T, objects events.Objects) {
		s := fill(t, objects)
		s.replace(t, s.key(1), "decayed")
		if err := objects.Delete(t.Context(), s.key(3)); err != nil {
			t.Fatal(err)
		}
		now := stored.Add(40 * day)
		found := s.all(t, now)
		if found.Read != 5 || len(found.Damaged) != 2 || len(found.Mended) != 0 {
			t.Errorf("%+v", found)
		}
		for n := range s.sums {
			k := s.state(t, n)
			if damaged := n == 1 || n == 3; damaged != (k.State == events.FileReceived) || damaged != (k.Reason != "") || !k.At.Equal(now) {
				t.Errorf("photo %d is %+v", n, k)
			}
		}
		if again := s.all(t, now); again.Read != 0 {
			t.Errorf("at once again: %+v", again)
		}
		// The phone sends it again.
		s.put(t, s.Photos, s.sums[1], now)
		if k := s.state(t, 1); !k.State.Safe() {
			t.Errorf("sent again it is %+v", k)
		}
	})
}

// The one that has waited longest comes first, and a turn ends at its limit.
func TestRotation(t *testing.T) {
	s := fill(t, &eventstest.MemObjects{Synced: true})
	var order []events.Digest
	for n := range 4 {
		now := stored.Add(time.Duration(40+n) * day)
		found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileDurable, Before: now.Add(-30 * day), Limit: 2}, now)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.sums {
			if k := s.state(t, i); k.At.Equal(now) {
				order = append(order, k.SHA256)
			}
		}
		if want := []int{2, 2, 1, 0}[n]; found.Read != want {
			t.Errorf("turn %d read %d, want %d", n, found.Read, want)
		}
	}
	if !slices.Equal(order, s.sums) {
		t.Errorf("they were read as %v, want %v", order, s.sums)
	}
}

// Many pages of entries are gone through, and a file that is only received, of which
// nothing was promised, does not keep it going.
func TestManyAndReceived(t *testing.T) {
	s := fill(t, &eventstest.MemObjects{Synced: true})
	for n := range 500 {
		body := []byte("\xff\xd8\xff\xe0 one of many " + strings.Repeat("x", n))
		sum := events.Digest(sha256.Sum256(body))
		s.bodies[sum] = body
		s.put(t, s.Photos, sum, stored)
	}
	for range 3 {
		sum := events.Digest(sha256.Sum256([]byte(eventstest.NewFirm(t).String())))
		k := events.Kept{Firm: s.firm, SHA256: sum, Type: events.Photo, Bytes: 9, Media: events.MediaJPEG, State: events.FileReceived, At: stored}
		if err := s.Photos.Ledger.Record(t.Context(), k); err != nil {
			t.Fatal(err)
		}
	}
	if found := s.all(t, stored.Add(40*day)); found.Read != 505 || len(found.Damaged) > 0 {
		t.Errorf("read %d, damaged %d", found.Read, len(found.Damaged))
	}
	found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileReceived, Before: stored.Add(day)}, stored.Add(40*day))
	if err != nil || found.Read != 0 || len(found.Damaged) > 0 {
		t.Errorf("%+v, %v", found, err)
	}
}

// Files that never came do not keep a turn from one that is there: what was looked at
// is last in line.
func TestReceivedGoOn(t *testing.T) {
	s := fill(t, &eventstest.MemObjects{Synced: true})
	never := events.Kept{Firm: s.firm, SHA256: sha256.Sum256(nil), Type: events.Photo, Bytes: 9, Media: events.MediaJPEG, State: events.FileReceived, At: stored.Add(-day)}
	if err := s.Photos.Ledger.Record(t.Context(), never); err != nil {
		t.Fatal(err)
	}
	was := s.state(t, 0)
	lapsed := was
	lapsed.State = events.FileReceived
	if err := s.Photos.Ledger.Change(t.Context(), was, lapsed); err != nil {
		t.Fatal(err)
	}
	read := 0
	for n := range 2 {
		now := stored.Add(time.Duration(n+1) * day)
		found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileReceived, Before: now, Limit: 1}, now)
		if err != nil {
			t.Fatal(err)
		}
		read += found.Read
	}
	if k := s.state(t, 0); read != 1 || k.State != events.FileDurable {
		t.Errorf("read %d in two turns of one file each, and it is %+v", read, k)
	}
}

// The pace is asked for every byte before it is read, and can end it.
func TestPace(t *testing.T) {
	s := fill(t, &eventstest.MemObjects{Synced: true})
	enough := errors.New("enough")
	var asked, want int64
	for _, body := range s.bodies {
		want += int64(len(body))
	}
	s.Pace = func(_ context.Context, n int64) error {
		if asked += n; asked > want-5 {
			return enough
		}
		return nil
	}
	now := stored.Add(40 * day)
	found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileDurable, Before: now}, now)
	if !errors.Is(err, enough) || found.Read != 4 || asked != want {
		t.Errorf("%d of %d bytes, %+v, %v", asked, want, found, err)
	}
}

// What is damaged is put back from another copy, if that is whole.
func TestMend(t *testing.T) {
	eachStore(t, func(t *testing.T, objects events.Objects) {
		s := fill(t, objects)
		s.Mend = func(_ context.Context, k events.Kept) (io.ReadCloser, error) {
			switch k.SHA256 {
			case s.sums[0]:
				return io.NopCloser(bytes.NewReader(s.bodies[k.SHA256])), nil
			case s.sums[1]:
				return io.NopCloser(strings.NewReader("decayed, too")), nil
			}
			return nil, events.ErrNotFound
		}
		for n := range 3 {
			if err := objects.Delete(t.Context(), s.key(n)); err != nil {
				t.Fatal(err)
			}
		}
		found := s.all(t, stored.Add(40*day))
		if len(found.Mended) != 1 || found.Mended[0].SHA256 != s.sums[0] || len(found.Damaged) != 2 {
			t.Errorf("%+v", found)
		}
		if k := s.state(t, 0); !k.State.Safe() {
			t.Errorf("mended it is %+v", k)
		}
		// What could not be mended then can be later.
		s.Mend = func(_ context.Context, k events.Kept) (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewReader(s.bodies[k.SHA256])), nil
		}
		later := stored.Add(41 * day)
		found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileReceived, Before: later}, later)
		if err != nil || len(found.Mended) != 2 || len(found.Damaged) != 0 {
			t.Errorf("later: %+v, %v", found, err)
		}
		if n, err := objects.Stat(t.Context(), s.key(0)); err != nil || n != int64(len(s.bodies[s.sums[0]])) {
			t.Errorf("mended it has %d bytes, %v", n, err)
		}
	})
}

// A smaller size that cannot be read goes; it is made again when somebody looks.
func TestSizes(t *testing.T) {
	s := fill(t, &eventstest.MemObjects{Synced: true})
	whole, decayed := s.key(0), s.key(1)
	whole.Size, decayed.Size = events.Small, events.Large
	s.replace(t, whole, "whole")
	s.replace(t, decayed, "decayed")
	s.Whole = func(r io.Reader, _ events.Size) error {
		if b, err := io.ReadAll(r); err != nil || string(b) != "whole" {
			return events.ErrDamaged
		}
		return nil
	}
	if found := s.all(t, stored.Add(40*day)); found.Sizes != 2 || found.Unmade != 1 {
		t.Errorf("%+v", found)
	}
	if _, err := s.objects.Stat(t.Context(), decayed); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("it is still there: %v", err)
	}
	if _, err := s.objects.Stat(t.Context(), whole); err != nil {
		t.Error(err)
	}
}

// What no ledger knows is told of, and left.
func TestStrays(t *testing.T) {
	eachStore(t, func(t *testing.T, objects events.Objects) {
		s := fill(t, objects)
		unknown := s.key(0)
		unknown.SHA256[0] ^= 1
		s.replace(t, unknown, "left over")
		small := unknown
		small.Size = events.Small
		s.replace(t, small, "its smaller size")
		sum, _, err := s.Photos.PutMade(t.Context(), s.firm, "application/pdf", func(w io.Writer) error {
			_, err := io.WriteString(w, "a pack")
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		strays := func() (names []string, all int) {
			all, err := s.Strays(t.Context(), func(l events.Listed, why string) { names = append(names, l.Key.Name()+": "+why) })
			if err != nil {
				t.Fatal(err)
			}
			slices.Sort(names)
			return names, all
		}
		names, all := strays()
		if all != 8 || len(names) != 2 || !strings.HasPrefix(names[0], unknown.Name()) {
			t.Errorf("of %d: %q", all, names)
		}
		s.replace(t, events.Key{Firm: s.firm, SHA256: sum, Size: events.Made}, "a park")
		if names, _ := strays(); len(names) != 3 || !strings.Contains(strings.Join(names, "\n"), "have it made again") {
			t.Errorf("%q", names)
		}
		if _, err := objects.Stat(t.Context(), unknown); err != nil {
			t.Errorf("it was removed: %v", err)
		}
	})
}

// A bucket that is away, or whose answers break off, is no decay: nothing changes.
func TestAway(t *testing.T) {
	c := s3test.Start(t)
	proxy := s3test.NewProxy(t, c.Endpoint)
	c.Endpoint, c.Timeout = proxy.Addr(), 2*time.Second
	objects, err := s3photos.New(c)
	if err != nil {
		t.Fatal(err)
	}
	s := fill(t, objects)
	now := stored.Add(40 * day)
	for name, fault := range map[string]s3test.Fault{"Refused": {Refuse: true}, "CutDown": {CutDown: 60}} {
		t.Run(name, func(t *testing.T) {
			proxy.Break(fault)
			defer proxy.Break(s3test.Fault{})
			found, err := s.Firm(t.Context(), events.KeptQuery{Firm: s.firm, State: events.FileStored, Before: now}, now)
			if !errors.Is(err, events.ErrUnavailable) || len(found.Damaged) > 0 {
				t.Errorf("%+v, %v", found, err)
			}
			if _, err := s.Strays(t.Context(), func(l events.Listed, why string) { t.Errorf("%s: %s", l.Name, why) }); !errors.Is(err, events.ErrUnavailable) {
				t.Errorf("%v", err)
			}
		})
	}
	if k := s.state(t, 0); k.State != events.FileStored {
		t.Errorf("it is %+v", k)
	}
	if found := s.all(t, now); found.Read != 5 || len(found.Damaged) > 0 {
		t.Errorf("back again: %+v", found)
	}
}
