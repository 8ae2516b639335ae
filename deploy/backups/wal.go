package backups

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"relevel/events"
)

// A run of WAL is a folder with the changes of one cluster on one timeline, without a
// gap. Whenever something was missed a new run begins.
const (
	sumsName     = "SHA256SUMS" // of complete segments, as sha256sum writes it
	receivedName = "received"   // how far the last segment had come
	partial      = ".partial"
	segmentBytes = 16 << 20 // as initdb makes it
)

// walRun is the folder of a run.
type walRun struct {
	name string // "" is none
	path string

	awaited, noted position // the end of a record that is on its way, and that was noted last
}

func runOf(dir, name string) walRun {
	return walRun{name: name, path: filepath.Join(dir, walFolder, name)}
}

// newestRun is the last that was begun of a cluster's present timeline.
func newestRun(dir string, c cluster) (walRun, error) {
	found, err := filepath.Glob(filepath.Join(dir, walFolder, fmt.Sprintf("%s-%d-*", c.system, c.timeline)))
	if err != nil || len(found) == 0 {
		return walRun{}, err
	}
	slices.Sort(found)
	return runOf(dir, filepath.Base(found[len(found)-1])), nil
}

// newRun begins one.
func newRun(dir string, c cluster, now time.Time) (walRun, error) {
	r := runOf(dir, fmt.Sprintf("%s-%d-%s", c.system, c.timeline, now.UTC().Format(nameForm)))
	err := os.MkdirAll(filepath.Dir(r.path), 0o700)
	if err == nil {
		err = os.Mkdir(r.path, 0o700)
	}
	if err != nil {
		return r, fmt.Errorf("make the folder of WAL: %w", err)
	}
	return r, nil
}

// isSegment tells a segment's name: timeline, high and low part, eight digits each.
func isSegment(name string) bool {
	if len(name) != 24 {
		return false
	}
	for _, c := range name {
		if !strings.ContainsRune("0123456789ABCDEF", c) {
			return false
		}
	}
	return true
}

// following is the name of the segment after another.
func following(name string) string {
	high, _ := strconv.ParseUint(name[8:16], 16, 32)
	low, _ := strconv.ParseUint(name[16:], 16, 32)
	const perHigh = (1 << 32) / segmentBytes
	if low++; low == perHigh {
		high, low = high+1, 0
	}
	return fmt.Sprintf("%s%08X%08X", name[:8], high, low)
}

// segments lists the names of those that are complete, ascending, and the one that is
// not, "" where there is none.
func (r walRun) segments() (complete []string, last string, err error) {
	entries, err := os.ReadDir(r.path)
	if err != nil {
		return nil, "", err
	}
	for _, e := range entries {
		name, isPart := strings.CutSuffix(e.Name(), partial)
		switch {
		case !isSegment(name):
		case isPart:
			last = name
		default:
			complete = append(complete, name)
		}
	}
	slices.Sort(complete)
	return complete, last, nil
}

// seal hashes what was completed since it was called last.
func (r walRun) seal() error {
	known, err := r.sums()
	if err != nil {
		return err
	}
	complete, _, err := r.segments()
	if err != nil {
		return err
	}
	var lines strings.Builder
	for _, name := range complete {
		if _, sealed := known[name]; sealed {
			continue
		}
		sum, _, err := hashFile(filepath.Join(r.path, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&lines, "%s  %s\n", sum, name)
	}
	if lines.Len() == 0 {
		return nil
	}
	f, err := os.OpenFile(filepath.Join(r.path, sumsName), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(lines.String())
	return errors.Join(err, f.Sync(), f.Close())
}

// sums reads the digests of complete segments. A last line that a crash cut is passed
// over: seal writes it again.
func (r walRun) sums() (map[string]events.Digest, error) {
	known := map[string]events.Digest{}
	f, err := os.Open(filepath.Join(r.path, sumsName))
	if errors.Is(err, fs.ErrNotExist) {
		return known, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	for scan := bufio.NewScanner(f); scan.Scan(); {
		text, name, _ := strings.Cut(scan.Text(), "  ")
		sum, err := events.ParseDigest(text)
		if err == nil && isSegment(name) {
			known[name] = sum
		}
	}
	return known, nil
}

// position is a place in WAL (LSN).
type position uint64

func parsePosition(text string) (position, error) {
	high, low, _ := strings.Cut(strings.TrimSpace(text), "/")
	h, err := strconv.ParseUint(high, 16, 32)
	l, err2 := strconv.ParseUint(low, 16, 32)
	if err := errors.Join(err, err2); err != nil {
		return 0, fmt.Errorf("%q is no place in WAL", text)
	}
	return position(h<<32 | l), nil
}

func (p position) String() string { return fmt.Sprintf("%X/%X", uint64(p)>>32, uint32(p)) }

// segment is the name of the segment that holds a place.
func (p position) segment(timeline int) string {
	n := uint64(p) / segmentBytes
	const perHigh = (1 << 32) / segmentBytes
	return fmt.Sprintf("%08X%08X%08X", timeline, n/perHigh, n%perHigh)
}

// wholly is a place where a record ends: one right behind the heading of a page is the
// end of the page before (24 bytes, or 40 at the beginning of a segment).
func (p position) wholly() position {
	const page = 8 << 10
	if behind := p % page; behind == 24 || behind == 40 {
		return p - behind
	}
	return p
}

// reached notes how far the last segment has come. What was received may end within a
// record, so the server's own ends are noted, once they were received.
func (r *walRun) reached(s *slot) error {
	at := r.awaited
	if s.inserted <= s.at {
		at = s.inserted
	}
	if at == 0 || at > s.at { // still on its way, or the first look
		if r.awaited == 0 {
			r.awaited = s.inserted
		}
		return nil
	}
	r.awaited = s.inserted
	if at = at.wholly(); at <= r.noted {
		return nil
	}
	r.noted = at
	return r.note(at)
}

// note keeps how far the last segment has come.
func (r walRun) note(at position) error {
	path := filepath.Join(r.path, receivedName)
	if err := os.WriteFile(path+".new", []byte(at.String()+"\n"), 0o600); err != nil {
		return err
	}
	return errors.Join(syncPath(path+".new"), os.Rename(path+".new", path))
}

// received is what note kept, 0 where nothing was.
func (r walRun) received() (position, error) {
	text, err := os.ReadFile(filepath.Join(r.path, receivedName))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return parsePosition(string(text))
}

// pruneWAL removes the runs that no kept backup begins in, but the newest, and of the
// others what came before the oldest backup that is kept.
func (p *Place) pruneWAL(kept []Manifest) error {
	oldest := map[string]string{}
	for i := len(kept) - 1; i >= 0; i-- {
		if kept[i].WAL != "" {
			oldest[kept[i].WAL] = kept[i].Start
		}
	}
	runs, err := os.ReadDir(filepath.Join(p.dir, walFolder))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, e := range runs {
		r := runOf(p.dir, e.Name())
		start, needed := oldest[r.name]
		if !needed {
			if r.name != p.receiving {
				err = errors.Join(err, os.RemoveAll(r.path))
			}
			continue
		}
		complete, _, listed := r.segments()
		err = errors.Join(err, listed)
		for _, name := range complete {
			if name < start {
				err = errors.Join(err, os.Remove(filepath.Join(r.path, name)))
			}
		}
	}
	return err
}
