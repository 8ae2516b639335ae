package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Erasing is what an erasure works on.
type Erasing struct {
	Log     events.Log
	Store   jobs.Store
	Eraser  events.Eraser
	Objects events.Objects
	Now     time.Time
	Random  io.Reader
}

// Erasure is what somebody asked to have erased: everything that a person recorded,
// or records and files of one job.
type Erasure struct {
	Firm    events.ID
	Person  events.ID       // all that this one recorded, in every job
	Job     events.ID       // of the records and files
	Records []int64         // by their numbers
	Files   []events.FileOf // photos and sounds of records that stay
	Why     string          // on what ground; it stays, so it names nobody
	By      events.ID       // who erases
}

// Check reports, as an InputError, what an erasure lacks.
func (e Erasure) Check() error {
	one := len(e.Records)+len(e.Files) > 0
	switch {
	case e.Person.IsZero() && (e.Job.IsZero() || !one):
		return levelling.Bad("erase", "say what: a person, or records or photos of a job")
	case !e.Person.IsZero() && (one || !e.Job.IsZero()):
		return levelling.Bad("erase", "a person's records in all jobs, or records of one job: not both at once")
	}
	body := events.Erased{Records: []int64{1}, Why: e.Why}
	return body.Check()
}

// Erased says what an erasure removed.
type Erased struct {
	Jobs    int // whose logs say so
	Records int
	Apart   int             // things in quarantine
	Files   int             // that nothing shows any more
	Shown   []events.Digest // files that stay, since other records show them
}

// Erase erases. First each job's log says so, which takes what is erased out of every
// reckoning; then the photos go that no other record shows, what was kept apart, and at
// last the bytes, by which the same call finds what another one, that broke off, left.
// Nothing is recorded twice.
func Erase(ctx context.Context, on Erasing, e Erasure) (Erased, error) {
	if err := e.Check(); err != nil {
		return Erased{}, err
	}
	list, err := on.Store.ListJobs(ctx, e.Firm)
	if err != nil {
		return Erased{}, fmt.Errorf("erase: %w", err)
	}
	device, err := events.NewID(on.Now, on.Random)
	if err != nil {
		return Erased{}, err
	}
	w := erasing{Erasing: on, what: e, device: device, doubtful: map[events.Digest]bool{}, ids: map[events.ID]bool{}, apart: map[events.Digest]bool{}}
	known := false
	for _, j := range list {
		if !e.Job.IsZero() && j.ID != e.Job {
			continue
		}
		known = true
		if err := w.job(ctx, jobKey{e.Firm, j.ID}); err != nil {
			return w.done, fmt.Errorf("erase in %s: %w", j.ID, err)
		}
	}
	if !e.Job.IsZero() && !known {
		return Erased{}, fmt.Errorf("erase: %w", events.ErrNotFound)
	}
	for _, step := range []func(context.Context) error{w.findApart, func(ctx context.Context) error { return w.files(ctx, list) }, w.eraseApart, w.bytes} {
		if err := step(ctx); err != nil {
			return w.done, err
		}
	}
	return w.done, nil
}

type erasing struct {
	Erasing
	what     Erasure
	device   events.ID // a device of its own, in no order with any other
	counter  int64
	doubtful map[events.Digest]bool // files that may be shown by nothing any more
	ids      map[events.ID]bool     // of erased records
	apart    map[events.Digest]bool // what they were made from
	todo     []jobPart
	done     Erased
}

// jobPart is what of a job's bytes is to go.
type jobPart struct {
	key     jobKey
	numbers []int64
}

// job says in one job's log what is erased.
func (w *erasing) job(ctx context.Context, key jobKey) error {
	all, err := readAll(ctx, w.Log, key, -1)
	if err != nil {
		return err
	}
	p := w.pick(all)
	if err := w.outOfRange(all); err != nil {
		return err
	}
	if len(p.records) == 0 && len(p.files) == 0 && len(p.left) == 0 {
		return nil
	}
	if err := dropPacks(ctx, w.Store, w.Objects, key, 0); err != nil { // they tell what is erased
		return err
	}
	if err := w.say(ctx, key, int64(len(all)), p); err != nil {
		return err
	}
	w.todo = append(w.todo, jobPart{key, slices.Concat(p.records, p.left)})
	w.done.Jobs++
	return nil
}

// bytes removes the bytes of records, and makes anew what was derived of them.
func (w *erasing) bytes(ctx context.Context) error {
	for _, part := range w.todo {
		n, err := w.Eraser.EraseRecords(ctx, part.key.firm, part.key.job, part.numbers)
		w.done.Records += n
		if err == nil {
			err = rebuildJob(ctx, w.Log, w.Store, part.key)
		}
		if err != nil {
			return fmt.Errorf("erase in %s: %w", part.key.job, err)
		}
	}
	return nil
}

// outOfRange refuses numbers that the job does not have.
func (w *erasing) outOfRange(all []events.Stored) error {
	for _, n := range w.what.Records {
		if n < 1 || n > int64(len(all)) {
			return levelling.Bad("records", fmt.Sprintf("the job has records 1 to %d, not %d", len(all), n))
		}
		if all[n-1].Kind == events.KindErased {
			return levelling.Bad("records", fmt.Sprintf("record %d says what was erased, and stays", n))
		}
	}
	for _, f := range w.what.Files {
		if f.Record < 1 || f.Record > int64(len(all)) || f.No < 1 || f.No > len(all[f.Record-1].Files) {
			return levelling.Bad("files", fmt.Sprintf("record %d has no file %d", f.Record, f.No))
		}
	}
	return nil
}

// picked is what of a job is to be erased: what no record says yet, and the records
// that one says already and whose bytes are still there.
type picked struct {
	records, left []int64
	files         []events.FileOf
}

func (w *erasing) pick(all []events.Stored) (p picked) {
	records, files := jobs.Erasures(all)
	for _, e := range all {
		asked := slices.Contains(w.what.Records, e.Seq) || !w.what.Person.IsZero() && e.By == w.what.Person && e.Kind != events.KindErased
		switch {
		case e.Erased || !asked && !records[e.Seq] || e.Kind == events.KindErased:
			continue
		case records[e.Seq]:
			p.left = append(p.left, e.Seq)
		default:
			p.records = append(p.records, e.Seq)
		}
		w.note(e, shownBy(e))
	}
	for _, f := range w.what.Files {
		if f.Record < 1 || f.Record > int64(len(all)) || f.No < 1 || f.No > len(all[f.Record-1].Files) {
			continue
		}
		w.doubtful[all[f.Record-1].Files[f.No-1].SHA256] = true
		if !files[f] {
			p.files = append(p.files, f)
		}
	}
	return p
}

// note keeps what goes along with a record.
func (w *erasing) note(e events.Stored, files []events.Digest) {
	w.ids[e.ID] = true
	if !e.From.IsZero() {
		w.apart[e.From] = true
	}
	for _, f := range files {
		w.doubtful[f] = true
	}
}

// shownBy are the files that a record shows, the picture behind a plan among them.
func shownBy(e events.Stored) (files []events.Digest) {
	for _, f := range e.Files {
		files = append(files, f.SHA256)
	}
	if e.Kind != events.KindPlan || e.Erased {
		return files
	}
	if body, err := events.Open(e.Kind, e.V, e.Body); err == nil {
		if under := body.(*events.Plan).Underlay; under != nil {
			files = append(files, under.SHA256)
		}
	}
	return files
}

// say records in the job's log what is erased.
func (w *erasing) say(ctx context.Context, key jobKey, seen int64, p picked) error {
	for len(p.records)+len(p.files) > 0 {
		n, m := min(len(p.records), events.MaxErased), min(len(p.files), events.MaxErased)
		body, err := json.Marshal(events.Erased{Records: p.records[:n], Files: p.files[:m], Why: w.what.Why})
		if err != nil {
			return err
		}
		p.records, p.files = p.records[n:], p.files[m:]
		if err := w.append(ctx, key, seen, body); err != nil {
			return err
		}
	}
	return nil
}

func (w *erasing) append(ctx context.Context, key jobKey, seen int64, body []byte) error {
	id, err := events.NewID(w.Now, w.Random)
	if err != nil {
		return err
	}
	w.counter++
	offset := int64(0)
	raw, err := json.Marshal(events.Event{
		ID: id, Job: key.job, Kind: events.KindErased, V: 1, At: w.Now.UTC().Truncate(time.Millisecond), OffsetMS: &offset,
		Device: w.device, DeviceSeq: w.counter, SeenSeq: seen, By: w.what.By, Body: body,
	})
	if err != nil {
		return err
	}
	in, err := events.Receive(raw)
	if err != nil {
		return err
	}
	_, err = w.Log.Append(ctx, events.Batch{Firm: key.firm, Job: key.job, RecordedAt: w.Now, Events: []events.Incoming{in}})
	if err != nil {
		return fmt.Errorf("record what is erased: %w", err)
	}
	return nil
}

// findApart finds what a person sent that was kept apart, and what erased records
// were made from or have the id of.
func (w *erasing) findApart(ctx context.Context) error {
	kept, err := w.Log.Quarantined(ctx, w.what.Firm, everything)
	if err != nil {
		return fmt.Errorf("look through what was kept apart: %w", err)
	}
	for _, q := range kept {
		was := q.Read()
		if w.ids[q.EventID] || !w.what.Person.IsZero() && was.By == w.what.Person {
			w.apart[q.Key()] = true
			for _, f := range was.Files {
				w.doubtful[f.SHA256] = true
			}
		}
	}
	return nil
}

func (w *erasing) eraseApart(ctx context.Context) (err error) {
	if len(w.apart) == 0 {
		return nil
	}
	w.done.Apart, err = w.Eraser.EraseApart(ctx, w.what.Firm, slices.Collect(maps.Keys(w.apart)))
	return err
}

// everything is more than any quarantine holds.
const everything = 1 << 30

// files erases the files that nothing shows any more, of any job of the firm.
func (w *erasing) files(ctx context.Context, list []jobs.Job) error {
	if len(w.doubtful) == 0 {
		return nil
	}
	shown := map[events.Digest]bool{}
	for _, j := range list {
		all, err := readAll(ctx, w.Log, jobKey{w.what.Firm, j.ID}, -1)
		if errors.Is(err, events.ErrNotFound) {
			continue // its log was never begun
		}
		if err != nil {
			return fmt.Errorf("look who shows the files: %w", err)
		}
		collectShown(all, shown)
	}
	kept, err := w.Log.Quarantined(ctx, w.what.Firm, everything)
	if err != nil {
		return fmt.Errorf("look who shows the files: %w", err)
	}
	for _, q := range kept {
		if w.apart[q.Key()] {
			continue
		}
		for _, f := range q.Read().Files {
			shown[f.SHA256] = true
		}
	}
	for file := range w.doubtful {
		if shown[file] {
			w.done.Shown = append(w.done.Shown, file)
			continue
		}
		if err := w.file(ctx, file); err != nil {
			return err
		}
	}
	return nil
}

// collectShown adds the files that records show which are still there.
func collectShown(all []events.Stored, shown map[events.Digest]bool) {
	records, files := jobs.Erasures(all)
	for _, e := range all {
		if records[e.Seq] {
			continue
		}
		for i, f := range shownBy(e) {
			if i >= len(e.Files) || !files[events.FileOf{Record: e.Seq, No: i + 1}] {
				shown[f] = true
			}
		}
	}
}

// file removes one file in all its sizes. The ledger goes last: while it has the file,
// the same call finds it again.
func (w *erasing) file(ctx context.Context, file events.Digest) error {
	for _, size := range []events.Size{events.Small, events.Large, events.Original} {
		if err := w.Objects.Delete(ctx, events.Key{Firm: w.what.Firm, SHA256: file, Size: size}); err != nil {
			return fmt.Errorf("erase a file: %w", err)
		}
	}
	n, err := w.Eraser.EraseKept(ctx, w.what.Firm, []events.Digest{file})
	w.done.Files += n
	return err
}
