package eventstest

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
)

// Log checks that a store keeps the contract of events.Log. Open gives a log
// for one test; it may hold other firms' jobs.
func Log(t *testing.T, open func(t *testing.T) events.Log) {
	tests := map[string]func(*testing.T, *logTest){
		"Create":            logCreate,
		"NumbersInOrder":    logNumbersInOrder,
		"Pages":             logPages,
		"EmptyBatch":        logEmptyBatch,
		"RepeatedBatch":     logRepeatedBatch,
		"PartlyRepeated":    logPartlyRepeated,
		"RepeatInBatch":     logRepeatInBatch,
		"Onto":              logOnto,
		"OtherBytes":        logOtherBytes,
		"OtherBytesInBatch": logOtherBytesInBatch,
		"OtherJobNamed":     logOtherJobNamed,
		"SameIDInTwoJobs":   logSameIDInTwoJobs,
		"Limits":            logLimits,
		"NotFound":          logNotFound,
		"FirmsApart":        logFirmsApart,
		"ExactBytes":        logExactBytes,
		"RecordedAt":        logRecordedAt,
		"Tree":              logTree,
		"Leaves":            logLeaves,
		"Seqs":              logSeqs,
		"Quarantine":        logQuarantine,
		"QuarantineFirms":   logQuarantineFirms,
		"Decide":            logDecide,
		"DecideWrongly":     logDecideWrongly,
		"DecideAtOnce":      logDecideAtOnce,
		"EndedContext":      logEndedContext,
		"ManyAppenders":     logManyAppenders,
		"SameBatchAtOnce":   logSameBatchAtOnce,
		"ReadersMissNone":   logReadersMissNone,
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			l := &logTest{T: t, log: open(t), make: NewMaker(t), firm: NewFirm(t)}
			l.job = l.newJob(l.firm)
			test(t, l)
		})
	}
}

// logTest is a log with one firm that has one empty job.
type logTest struct {
	*testing.T
	log       events.Log
	make      *Maker
	firm, job events.ID
}

func (l *logTest) newJob(firm events.ID) events.ID {
	l.Helper()
	job := NewFirm(l.T)
	if err := l.log.Create(l.Context(), firm, job); err != nil {
		l.Fatal(err)
	}
	return job
}

func (l *logTest) append(list ...events.Incoming) events.Receipt {
	l.Helper()
	return l.appendBatch(BatchOf(l.firm, l.job, list...))
}

func (l *logTest) appendBatch(b events.Batch) events.Receipt {
	l.Helper()
	receipt, err := l.log.Append(l.Context(), b)
	if err != nil {
		l.Fatal(err)
	}
	if head := l.head(b.Firm, b.Job); head.Seq < receipt.Head.Seq {
		l.Errorf("head is at %d after a receipt for %d", head.Seq, receipt.Head.Seq)
	}
	return receipt
}

func (l *logTest) head(firm, job events.ID) events.Head {
	l.Helper()
	head, err := l.log.Head(l.Context(), firm, job)
	if err != nil {
		l.Fatal(err)
	}
	return head
}

func (l *logTest) read(firm, job events.ID) []events.Stored {
	l.Helper()
	var all []events.Stored
	for {
		page, err := l.log.Read(l.Context(), firm, job, int64(len(all)), 200)
		if err != nil {
			l.Fatal(err)
		}
		all = append(all, page...)
		if len(page) < 200 {
			return all
		}
	}
}

func (l *logTest) quarantined(firm events.ID) []events.Quarantined {
	l.Helper()
	list, err := l.log.Quarantined(l.Context(), firm, 1000)
	if err != nil {
		l.Fatal(err)
	}
	return list
}

func wantOutcomes(t *testing.T, r events.Receipt, want ...string) {
	t.Helper()
	var got []string
	for _, result := range r.Results {
		got = append(got, fmt.Sprintf("%s %d", result.Outcome, result.Seq))
		if (result.Reason != "") != (result.Outcome == events.WasQuarantined) {
			t.Errorf("%s with the reason %q", result.Outcome, result.Reason)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("outcomes (-want +got):\n%s", diff)
	}
}

// wantWhole checks everything that must hold of a job's log at any time: no
// gap, each id once, each leaf that of its bytes, the root that of the leaves.
func (l *logTest) wantWhole(firm, job events.ID) []events.Stored {
	l.Helper()
	all := l.read(firm, job)
	CheckWhole(l.T, firm, job, l.head(firm, job), all)
	return all
}

// CheckWhole recomputes a job's tree from its events and compares it with the
// head, by a second implementation of the tree.
func CheckWhole(t testing.TB, firm, job events.ID, head events.Head, all []events.Stored) {
	t.Helper()
	var nodes memNodes
	seen := make(map[events.ID]int64)
	for i, s := range all {
		if s.Seq != int64(i)+1 {
			t.Fatalf("event %d of the log has number %d", i+1, s.Seq)
		}
		if before, twice := seen[s.ID]; twice {
			t.Errorf("%s is stored as %d and as %d", s.ID, before, s.Seq)
		}
		seen[s.ID] = s.Seq
		if leaf := leafOf(firm, job, s); !s.Erased && leaf != s.Leaf {
			t.Errorf("event %d: leaf %v, computed %v", s.Seq, s.Leaf, leaf)
		}
		if err := nodes.add(s.Leaf); err != nil {
			t.Fatal(err)
		}
	}
	root, err := tlog.TreeHash(int64(len(all)), &nodes)
	if err != nil {
		t.Fatal(err)
	}
	if head.Seq != int64(len(all)) || head.Root != root || head.Frontier.Root() != root {
		t.Errorf("head: seq %d root %v frontier's %v; computed %d %v", head.Seq, head.Root, head.Frontier.Root(), len(all), root)
	}
}

func leafOf(firm, job events.ID, s events.Stored) events.Hash {
	return events.Leaf{
		Firm: firm, Job: job, Seq: s.Seq, ID: s.ID, Kind: s.Kind,
		RecordedAt: s.RecordedAt, Commitment: events.Commit(s.Salt, s.Raw),
	}.Hash()
}

// memNodes keeps the nodes of a tree in the order of package tlog.
type memNodes []tlog.Hash

func (m *memNodes) add(leaf tlog.Hash) error {
	size := int64(0)
	for n := int64(0); tlog.StoredHashIndex(0, n) < int64(len(*m)); n++ {
		size = n + 1
	}
	hashes, err := tlog.StoredHashesForRecordHash(size, leaf, m)
	*m = append(*m, hashes...)
	return err
}

// ReadHashes implements tlog.HashReader.
func (m *memNodes) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	hashes := make([]tlog.Hash, len(indexes))
	for i, at := range indexes {
		hashes[i] = (*m)[at]
	}
	return hashes, nil
}

func logCreate(t *testing.T, l *logTest) {
	l.append(l.make.Note(l.job))
	if err := l.log.Create(t.Context(), l.firm, l.job); err != nil {
		t.Errorf("create a second time: %v", err)
	}
	if got := len(l.wantWhole(l.firm, l.job)); got != 1 {
		t.Errorf("%d events after a second create, want 1", got)
	}
}

func logNumbersInOrder(t *testing.T, l *logTest) {
	var want []events.ID
	for _, n := range []int{1, 3, 2, 100} {
		batch := l.make.Notes(l.job, n)
		receipt := l.append(batch...)
		for i, result := range receipt.Results {
			want = append(want, batch[i].Event.ID)
			if result.Seq != int64(len(want)) || result.ID != batch[i].Event.ID || result.Outcome != events.WasStored {
				t.Errorf("result %+v, want %s stored as %d", result, batch[i].Event.ID, len(want))
			}
		}
		if receipt.Head.Seq != int64(len(want)) {
			t.Errorf("receipt's head is at %d, want %d", receipt.Head.Seq, len(want))
		}
	}
	var got []events.ID
	for _, s := range l.wantWhole(l.firm, l.job) {
		got = append(got, s.ID)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("order (-want +got):\n%s", diff)
	}
}

func logPages(t *testing.T, l *logTest) {
	l.append(l.make.Notes(l.job, 10)...)
	tests := []struct {
		after       int64
		limit       int
		first, many int64
	}{
		{0, 10, 1, 10}, {0, 100, 1, 10}, {0, 4, 1, 4}, {4, 4, 5, 4}, {8, 4, 9, 2}, {10, 4, 0, 0}, {99, 4, 0, 0}, {-1, 2, 1, 2}, {3, 0, 0, 0},
	}
	for _, test := range tests {
		page, err := l.log.Read(t.Context(), l.firm, l.job, test.after, test.limit)
		if err != nil {
			t.Fatal(err)
		}
		if int64(len(page)) != test.many || (len(page) > 0 && page[0].Seq != test.first) {
			t.Errorf("after %d, limit %d: %d events, want %d from %d", test.after, test.limit, len(page), test.many, test.first)
		}
	}
}

func logEmptyBatch(t *testing.T, l *logTest) {
	l.append(l.make.Notes(l.job, 3)...)
	receipt := l.append()
	if len(receipt.Results) != 0 || receipt.Head.Seq != 3 {
		t.Errorf("an empty batch answers %+v", receipt)
	}
}

func logLimits(t *testing.T, l *logTest) {
	wantTooLarge := func(list ...events.Incoming) {
		t.Helper()
		if _, err := l.log.Append(t.Context(), BatchOf(l.firm, l.job, list...)); !errors.Is(err, events.ErrTooLarge) {
			t.Errorf("%d events: %v, want ErrTooLarge", len(list), err)
		}
	}
	wantTooLarge(l.make.Notes(l.job, events.MaxBatchEvents+1)...)
	long := func(n int) events.Incoming {
		return l.make.Event(l.job, events.KindNote, `{"text":"`+strings.Repeat("x", n)+`"}`)
	}
	wantTooLarge(long(events.MaxBatchBytes))
	wantTooLarge(long(events.MaxBatchBytes/2), long(events.MaxBatchBytes/2))
	if seq := l.head(l.firm, l.job).Seq; seq != 0 {
		t.Errorf("head is at %d after what was too large", seq)
	}
	l.append(l.make.Notes(l.job, events.MaxBatchEvents)...)
	l.append(long(events.MaxBatchBytes - 1000))
	l.wantWhole(l.firm, l.job)
}

func logNotFound(t *testing.T, l *logTest) {
	nobodys := NewFirm(t)
	if _, err := l.log.Append(t.Context(), BatchOf(l.firm, nobodys, l.make.Note(nobodys))); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Append: %v, want ErrNotFound", err)
	}
	if _, err := l.log.Append(t.Context(), BatchOf(l.firm, nobodys)); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Append of nothing: %v, want ErrNotFound", err)
	}
	if _, err := l.log.Read(t.Context(), l.firm, nobodys, 0, 10); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Read: %v, want ErrNotFound", err)
	}
	if _, err := l.log.Head(t.Context(), l.firm, nobodys); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Head: %v, want ErrNotFound", err)
	}
}

func logSeqs(t *testing.T, l *logTest) {
	l.append(l.make.Notes(l.job, 2)...)
	empty, other := l.newJob(l.firm), NewFirm(t)
	theirs := l.newJob(other)
	for firm, want := range map[events.ID]map[events.ID]int64{
		l.firm:     {l.job: 2, empty: 0},
		other:      {theirs: 0},
		NewFirm(t): {},
	} {
		if got, err := l.log.Seqs(t.Context(), firm, []events.ID{l.job, empty, theirs, NewFirm(t)}); err != nil || !cmp.Equal(want, got) {
			t.Errorf("Seqs = %v, %v, want %v", got, err, want)
		}
	}
	if got, err := l.log.Seqs(t.Context(), l.firm, nil); err != nil || len(got) > 0 {
		t.Errorf("Seqs of nothing = %v, %v", got, err)
	}
}

func logFirmsApart(t *testing.T, l *logTest) {
	l.append(l.make.Notes(l.job, 2)...)
	other := NewFirm(t)
	if _, err := l.log.Append(t.Context(), BatchOf(other, l.job, l.make.Note(l.job))); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("append to another firm's job: %v, want ErrNotFound", err)
	}
	if _, err := l.log.Read(t.Context(), other, l.job, 0, 10); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("read another firm's job: %v, want ErrNotFound", err)
	}
	// The same job id under another firm is another job.
	if err := l.log.Create(t.Context(), other, l.job); err != nil {
		t.Fatal(err)
	}
	if seq := l.head(other, l.job).Seq; seq != 0 {
		t.Errorf("the other firm's new job is at %d", seq)
	}
	l.appendBatch(BatchOf(other, l.job, l.make.Note(l.job)))
	if got := len(l.wantWhole(l.firm, l.job)); got != 2 {
		t.Errorf("the first firm's job has %d events, want 2", got)
	}
	if got := len(l.wantWhole(other, l.job)); got != 1 {
		t.Errorf("the other firm's job has %d events, want 1", got)
	}
}

func logExactBytes(t *testing.T, l *logTest) {
	const envelope = `"job":%q,"kind":"note","v":1,"at":"2026-03-02T10:15:00.000+11:00","device":%q,"device_seq":1,"seen_seq":0,"by":%q`
	bodies := map[string]string{
		"Spaces":         "{ \"text\" :\t\"a\"\n,\r\n \"n\": 1.50 }",
		"DuplicateKeys":  `{"text":"first","text":"second"}`,
		"KeyOrder":       `{"z":1,"a":2}`,
		"NulEscape":      `{"text":"a\u0000b"}`,
		"LoneSurrogate":  `{"text":"\ud800"}`,
		"EscapedPair":    `{"text":"\ud83d\ude00"}`,
		"InvalidUTF8":    "{\"text\":\"\xff\xfe\"}",
		"BigNumber":      `{"n":1e400000,"m":123456789012345678901234567890.000}`,
		"NegativeZero":   `{"n":-0.0}`,
		"Deep":           `{"a":` + strings.Repeat(`[`, 5000) + strings.Repeat(`]`, 5000) + `}`,
		"LongKey":        `{"` + strings.Repeat("k", 70_000) + `":1}`,
		"RightToLeft":    `{"text":"שלום"}`,
		"EscapedQuotes":  `{"text":"\"\\\/\b\f\n\r\t"}`,
		"EmptyKey":       `{"":{}}`,
		"NulInKey":       `{"a\u0000":1}`,
		"SmallestNumber": `{"n":1e-400000}`,
	}
	for name, body := range bodies {
		t.Run(name, func(t *testing.T) {
			raw := fmt.Sprintf(`{"id":%q,`+envelope+`,"body":%s}`, NewFirm(t), l.job, l.make.Device, l.make.By, body)
			in := l.make.Raw(" " + raw + "\n")
			receipt := l.append(in)
			page, err := l.log.Read(t.Context(), l.firm, l.job, receipt.Head.Seq-1, 1)
			if err != nil || len(page) != 1 {
				t.Fatalf("read %d events, %v", len(page), err)
			}
			if got := string(page[0].Raw); got != string(in.Raw) {
				t.Errorf("kept %q, sent %q", got, in.Raw)
			}
			if diff := cmp.Diff(in.Event, page[0].Event); diff != "" {
				t.Errorf("envelope (-want +got):\n%s", diff)
			}
			again := l.append(in)
			wantOutcomes(t, again, fmt.Sprintf("repeated %d", receipt.Head.Seq))
		})
	}
	l.wantWhole(l.firm, l.job)
}

func logRecordedAt(t *testing.T, l *logTest) {
	b := BatchOf(l.firm, l.job, l.make.Note(l.job))
	b.RecordedAt = time.Date(2026, 3, 2, 21, 15, 0, 123_987_654, time.FixedZone("", 11*3600))
	l.appendBatch(b)
	want := time.Date(2026, 3, 2, 10, 15, 0, 123_000_000, time.UTC)
	got := l.wantWhole(l.firm, l.job)[0].RecordedAt
	if !got.Equal(want) || got.Location() != time.UTC {
		t.Errorf("recorded at %v, want %v", got, want)
	}
}

func logTree(t *testing.T, l *logTest) {
	roots := make(map[events.Hash]bool)
	for range 40 {
		receipt := l.append(l.make.Note(l.job))
		if receipt.Head.Root != receipt.Head.Frontier.Root() || roots[receipt.Head.Root] {
			t.Errorf("root %v after %d", receipt.Head.Root, receipt.Head.Seq)
		}
		roots[receipt.Head.Root] = true
		if diff := cmp.Diff(l.head(l.firm, l.job), receipt.Head); diff != "" {
			t.Errorf("receipt's head (-stored +receipt):\n%s", diff)
		}
	}
	l.wantWhole(l.firm, l.job)
}
