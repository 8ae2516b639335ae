package bundle

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
)

// Check is what a bundle is held against, beside itself.
type Check struct {
	Trusted []note.Verifier // keys that whoever checks vouches for
	Against [][]byte        // signed checkpoints that somebody kept
	Tell    func(bytes int64)
}

// Visitor is given the parts of a bundle while it is checked, to put them elsewhere.
// Nothing of it may be believed before the check has ended well.
type Visitor struct {
	File func(f File, data []byte) error
}

// Verify reads a bundle from its front to its end, once, and says what holds. The
// error is ErrUnreadable for what is no bundle of this schema, or the reader's own;
// whatever else is wrong with a bundle is in the report. In memory are the records,
// and one photo at a time.
func Verify(r io.Reader, c Check) (Report, error) {
	v, err := read(r, c, Visitor{})
	if err != nil {
		return Report{}, err
	}
	return v.report, nil
}

func read(r io.Reader, c Check, to Visitor) (*verifier, error) {
	v := &verifier{
		check: c, visitor: to, in: unpacker{r: bufio.NewReaderSize(r, 256<<10)},
		faulty: map[string]bool{}, seen: map[string]bool{}, raws: map[int64][]byte{}, files: map[events.Digest]File{},
	}
	if err := v.entries(); err != nil {
		return nil, err
	}
	v.end()
	return v, nil
}

// verifier is a bundle as far as it was read.
type verifier struct {
	check   Check
	visitor Visitor
	in      unpacker
	last    rank // of the entry before
	cut     bool // the rest of the container cannot be told apart

	report Report
	faulty map[string]bool // entries that a fault was found in
	seen   map[string]bool

	about   About
	sure    bool // about was read
	log     []Line
	raws    map[int64][]byte
	total   int64
	records []events.Stored // once all were read
	told    []erasure
	shown   []File                 // the files that records speak of
	place   map[events.Digest]int  // of each among shown
	files   map[events.Digest]File // what the bundle has of each
	parts   Tree
	figures Figures
	plan    events.Plan
	follow  string // that the figures follow from the records
	ready   bool   // records were put together
	sums    sums
	listed  []byte // SHA256SUMS as it is
	list    []File // files.jsonl
}

// fault notes what does not hold. Of one entry the first is enough.
func (v *verifier) fault(entry string, at rank, seq int64, format string, args ...any) {
	if v.faulty[entry] {
		return
	}
	v.faulty[entry] = true
	says := fmt.Sprintf(format, args...)
	v.report.Faults = append(v.report.Faults, Fault{Entry: entry, Seq: seq, Says: entry + ": " + says, rank: at})
}

func (v *verifier) open(format string, args ...any) {
	v.report.Open = append(v.report.Open, fmt.Sprintf(format, args...))
}

func (v *verifier) holds(format string, args ...any) {
	v.report.Held = append(v.report.Held, fmt.Sprintf(format, args...))
}

// entries reads the whole container.
func (v *verifier) entries() error {
	for n := 0; ; n++ {
		r, err := v.in.next()
		if err == io.EOF {
			err = v.in.close()
		} else if err == nil {
			err = v.entry(r)
			if err == nil {
				continue
			}
		}
		var c crooked
		switch {
		case errors.As(err, &c) && (n == 0 || !v.seen[readmeName]):
			return fmt.Errorf("%w: it does not begin with %s (%s)", ErrUnreadable, readmeName, c.what)
		case errors.As(err, &c):
			v.cut = !v.seen[sumsName]
			v.fault(c.entry, rank{nowhere, 0}, seqOf(c.entry), "%s%s", c.what, v.expected())
			return nil
		}
		return err
	}
}

// entry reads one entry and looks at it.
func (v *verifier) entry(r record) error {
	at, known := v.rankOf(r.name)
	data, err := v.in.data(r, bounds[at.section])
	if err != nil {
		return err
	}
	if v.check.Tell != nil {
		v.check.Tell(int64(v.in.offset))
	}
	name := plainName(r.name)
	switch {
	case !known:
		v.fault(name, at, 0, "it is not listed: no bundle of this job has it%s", v.expected())
	case v.seen[name]:
		v.fault(name+" ", at, seqOf(name), "it is there twice")
	case at.compare(v.last) < 0:
		v.fault(name, at, seqOf(name), "it is not in its place: the order was changed")
	}
	if known && !v.seen[name] {
		v.last = at
		if err := v.look(name, at, data); err != nil {
			return err
		}
	}
	if v.in.crc != r.crc {
		v.fault(name, at, seqOf(name), "its bytes are not those that the zip was written with")
	}
	v.seen[name] = true
	if at.section != atSums {
		v.sums.add(name, data)
	}
	return nil
}

// expected says in words which entry comes after the last one that was in its place.
func (v *verifier) expected() string {
	if v.seen[sumsName] {
		return ""
	}
	next := v.next()
	return "; what comes here is " + next
}

func (v *verifier) next() string {
	at := v.last
	switch {
	case !v.seen[readmeName]:
		return readmeName
	case at.section <= atAbout:
		return needed[at.section+1]
	case at.section <= atEvents:
		for seq := at.place + 1; seq <= int64(len(v.log)); seq++ {
			if !v.log[seq-1].Erased {
				return eventName(seq)
			}
		}
		return checkpointName + " or " + planName
	case at.section < atPlan:
		return keysName + ", " + loggedName + ", " + firmName + " or " + planName
	case at.section == atPlan:
		return stateName
	case at.section == atList:
		return sumsName
	}
	after := at.place + 1
	if at.section == atState {
		after = 0
	}
	for _, f := range v.shown[min(after, int64(len(v.shown))):] {
		if f.Kept != IsErased {
			return string(f.Type) + "s/" + f.SHA256.String() + " or " + filesName
		}
	}
	return filesName
}

// rankOf says where an entry of this name belongs.
func (v *verifier) rankOf(name string) (at rank, known bool) {
	if section, ok := single[name]; ok {
		return rank{section, 0}, true
	}
	if seq := seqOf(name); seq > 0 && seq <= int64(len(v.log)) && !v.log[seq-1].Erased {
		return rank{atEvents, seq}, true
	}
	if !isFile(name) {
		return rank{nowhere, 0}, false
	}
	v.together()
	file, _ := fileOf(name)
	i, known := v.place[file]
	return rank{atFiles, int64(i)}, known
}

func (v *verifier) look(name string, at rank, data []byte) error {
	switch at.section {
	case atReadme:
		if string(data) != readme {
			v.fault(name, at, 0, "it is not the text that every bundle has")
		}
	case atAbout:
		return v.lookAbout(data)
	case atLog:
		v.lookLog(data)
	case atEvents:
		return v.lookEvent(name, at, data)
	case atCheckpoint:
		v.parts.Checkpoint = data
	case atKeys:
		v.parts.Keys = data
	case atLogged:
		v.parts.Logged = data
	case atFirm:
		v.parts.Firm = data
	case atPlan:
		v.together()
		if v.sure && !bytes.Equal(data, encoded(v.plan)) {
			v.lookDerived(name, at, data)
		}
	case atState:
		v.together()
		v.lookState(name, at, data)
	case atFiles:
		return v.lookFile(name, at, data)
	case atList:
		v.lookList(data)
	case atSums:
		v.listed = data
	}
	return nil
}

// lookAbout reads what the bundle is about. The schema comes first: another one may
// have any other form.
func (v *verifier) lookAbout(data []byte) error {
	var version struct{ Schema int }
	if err := json.Unmarshal(data, &version); err == nil && version.Schema != Schema {
		return fmt.Errorf("%w: %s says that it is of version %d, and this program reads version %d", ErrUnreadable, aboutName, version.Schema, Schema)
	}
	if err := decode(data, &v.about); err != nil {
		v.fault(aboutName, rank{atAbout, 0}, 0, "%v", err)
		return nil
	}
	v.sure = true
	v.report.Firm, v.report.Job, v.report.Place = v.about.Firm.Name, v.about.Job.Name, v.about.Job.Place
	if v.about.Photos != Originals && v.about.Photos != Smaller {
		v.fault(aboutName, rank{atAbout, 0}, 0, "it does not say which photos are here")
	}
	return nil
}

func (v *verifier) lookLog(data []byte) {
	var err error
	at := rank{atLog, 0}
	if v.log, err = decodeLines[Line](data, maxEvents); err != nil {
		v.fault(logName, at, 0, "%v", err)
	}
	for i, l := range v.log {
		switch {
		case l.Seq != int64(i)+1:
			v.fault(logName, at, l.Seq, "line %d is of record %d: records were removed, added or moved", i+1, l.Seq)
		case l.Erased != (len(l.Salt) == 0):
			v.fault(logName, at, l.Seq, "line %d has a salt only if its record is here", i+1)
		}
	}
	if v.sure && v.about.Seq != int64(len(v.log)) {
		v.fault(logName, at, 0, "it has %d records, and %s says %d", len(v.log), aboutName, v.about.Seq)
	}
}

// lookEvent holds one record against its line.
func (v *verifier) lookEvent(name string, at rank, data []byte) error {
	l := v.log[at.place-1]
	if v.total += int64(len(data)); v.total > maxRecords {
		return fmt.Errorf("%w: its records are larger than those of any job", ErrUnreadable)
	}
	v.raws[l.Seq] = data
	var e events.Event
	switch err := json.Unmarshal(data, &e); {
	case v.sure && !l.gives(v.about.Firm.ID, v.about.Job.ID, data):
		v.fault(name, at, l.Seq, "record %d (%s) is not as it was sealed: its bytes, or its line in %s, were changed", l.Seq, l.Kind, logName)
	case err != nil || e.ID != l.ID || e.Kind != l.Kind || e.V != l.V || v.sure && e.Job != v.about.Job.ID:
		v.fault(name, at, l.Seq, "record %d (%s) is not what %s says of it", l.Seq, l.Kind, logName)
	}
	return nil
}

// together puts the records together once all of them were read, and says what they
// come to.
func (v *verifier) together() {
	if v.ready {
		return
	}
	v.ready = true
	for _, l := range v.log {
		v.records = append(v.records, l.stored(v.about.Job.ID, v.raws[l.Seq]))
	}
	v.raws = nil
	v.told = erasures(v.records)
	v.shown, v.place = filesOf(v.records), map[events.Digest]int{}
	for i, f := range v.shown {
		v.place[f.SHA256] = i
	}
	v.figures, v.plan = reckoned(v.about.Job.ID, v.records)
}

// lookFile holds one photo or sound against the records that show it.
func (v *verifier) lookFile(name string, at rank, data []byte) error {
	f := v.shown[at.place]
	file, made := fileOf(name)
	seq := f.Records[0]
	is := events.Digest(sha256.Sum256(data)) == file
	f.Kept, f.Name = IsOriginal, name
	switch {
	case made && v.about.Photos == Smaller && !is:
		f.Kept = IsMade
	case made || !is:
		v.fault(name, at, seq, "the %s of record %d was changed: it is not what the record was sealed with", f.Type, seq)
	}
	if name != fileName(file, made, data) {
		v.fault(name, at, seq, "the %s of record %d is not of the type that its name says", f.Type, seq)
	}
	if _, twice := v.files[file]; twice {
		v.fault(name, at, seq, "it is there in two sizes")
	}
	v.files[file] = f
	if v.visitor.File != nil {
		return v.visitor.File(f, data)
	}
	return nil
}

// lookList holds files.jsonl against what was found.
func (v *verifier) lookList(data []byte) {
	v.together()
	at := rank{atList, 0}
	list, err := decodeLines[File](data, maxEvents)
	if err != nil {
		v.fault(filesName, at, 0, "%v", err)
	}
	v.list = list
	for i, f := range v.shown {
		if i >= len(list) {
			v.fault(filesName, at, f.Records[0], "it does not list %s %s, which record %d shows", f.Type, f.SHA256, f.Records[0])
			return
		}
		v.listLine(f, list[i], at)
	}
	if len(list) > len(v.shown) {
		v.fault(filesName, at, 0, "it lists more than the records show")
	}
}

// listLine holds one line against a file that records show.
func (v *verifier) listLine(f, line File, at rank) {
	has, here := v.files[f.SHA256]
	switch {
	case here:
		f = has
	case line.SHA256 == f.SHA256 && line.Name != "":
		v.fault(plainName(line.Name), rank{atFiles, int64(v.place[f.SHA256])}, f.Records[0], "the %s of record %d is missing from the bundle", f.Type, f.Records[0])
		return
	case f.Kept != IsErased && (line.Kept == IsMissing || line.Kept == IsLeftOut && v.about.Photos == Smaller && f.Type == events.Sound):
		f.Kept = line.Kept
	}
	if !slices.Equal(lines([]File{f}), lines([]File{line})) {
		v.fault(filesName, at, f.Records[0], "its line for %s %s, of record %d, is not what is here", f.Type, f.SHA256, f.Records[0])
	}
}

// lookDerived is a plan that is not what the records come to. Another version of the
// fold may have another; that is told with the figures.
func (v *verifier) lookDerived(name string, at rank, data []byte) {
	var p events.Plan
	if err := decode(data, &p); err != nil {
		v.fault(name, at, 0, "%v", err)
		return
	}
	v.fault(name, at, 0, "it is not the plan that the records come to")
}

// lookState compares the figures.
func (v *verifier) lookState(name string, at rank, data []byte) {
	var was Figures
	if err := decode(data, &was); err != nil {
		v.fault(name, at, 0, "%v", err)
		return
	}
	now := v.figures
	now.FoldVersion = was.FoldVersion
	switch same := bytes.Equal(encoded(now), encoded(was)); {
	case !v.sure:
	case same:
		v.follow = fmt.Sprintf("The heights in %s follow from the records: %s, %s.", stateName,
			counted(len(was.Supports), "support", "supports"), counted(len(was.Spots), "spot", "spots"))
	case was.FoldVersion != v.figures.FoldVersion:
		v.open("The figures in %s were reckoned by version %d of the program, and this is version %d, which reckons them otherwise%s. Whether the program or somebody changed them cannot be told.",
			stateName, was.FoldVersion, v.figures.FoldVersion, firstOther(was, now))
	default:
		v.fault(name, at, 0, "the figures are not those that the records come to%s", firstOther(was, now))
	}
}

// firstOther names the first support whose figures differ.
func firstOther(was, now Figures) string {
	for i, s := range now.Supports {
		if i >= len(was.Supports) || !bytes.Equal(encoded(was.Supports[i]), encoded(s)) {
			return ", at " + s.ID
		}
	}
	return ""
}

// known are the keys to check signatures with: those that whoever checks vouches for,
// and those of the bundle that are not named as one of them is.
func (v *verifier) known() []note.Verifier {
	all := slices.Clone(v.check.Trusted)
	for _, k := range v.keys() {
		if !v.trusts(proof.SignedBy(k)) {
			all = append(all, k)
		}
	}
	return all
}

// keys are those of the bundle.
func (v *verifier) keys() []note.Verifier {
	if len(v.parts.Keys) == 0 {
		return nil
	}
	keys, err := proof.ParseKeys(string(v.parts.Keys))
	if err != nil {
		v.fault(keysName, rank{atKeys, 0}, 0, "%v", err)
		return nil
	}
	all, err := proof.Verifiers(keys)
	if err != nil {
		v.fault(keysName, rank{atKeys, 0}, 0, "%v", err)
	}
	return all
}
