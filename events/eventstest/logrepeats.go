package eventstest

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// What is said twice, and what contradicts what was said before.

func logRepeatedBatch(t *testing.T, l *logTest) {
	batch := l.make.Notes(l.job, 3)
	first := l.append(batch...)
	again := l.append(batch...)
	wantOutcomes(t, again, "repeated 1", "repeated 2", "repeated 3")
	if diff := cmp.Diff(first.Head, again.Head); diff != "" {
		t.Errorf("head after a repeat (-first +again):\n%s", diff)
	}
	l.wantWhole(l.firm, l.job)
}

func logPartlyRepeated(t *testing.T, l *logTest) {
	old := l.make.Notes(l.job, 2)
	l.append(old...)
	receipt := l.append(l.make.Note(l.job), old[1], l.make.Note(l.job), old[0])
	wantOutcomes(t, receipt, "stored 3", "repeated 2", "stored 4", "repeated 1")
	l.wantWhole(l.firm, l.job)
}

func logRepeatInBatch(t *testing.T, l *logTest) {
	e := l.make.Note(l.job)
	receipt := l.append(e, l.make.Note(l.job), e)
	wantOutcomes(t, receipt, "stored 1", "stored 2", "repeated 1")
	l.wantWhole(l.firm, l.job)
}

func logOtherBytes(t *testing.T, l *logTest) {
	first := l.make.Note(l.job)
	l.append(first)
	other := l.make.EventID(first.Event.ID, l.job, events.KindNote, `{"text":"something else"}`)
	receipt := l.append(l.make.Note(l.job), other)
	wantOutcomes(t, receipt, "stored 2", "quarantined 0")
	if got := string(l.wantWhole(l.firm, l.job)[0].Raw); got != string(first.Raw) {
		t.Errorf("the first version is now %s", got)
	}
	want := []events.Quarantined{{
		Firm: l.firm, Job: l.job, EventID: first.Event.ID, Device: l.make.Device, DeviceSeq: other.Event.DeviceSeq,
		At: RecordedAt.UTC(), Reason: receipt.Results[1].Reason, Raw: other.Raw,
	}}
	if diff := cmp.Diff(want, l.quarantined(l.firm)); diff != "" {
		t.Errorf("quarantined (-want +got):\n%s", diff)
	}
	wantOutcomes(t, l.append(other), "quarantined 0")
	if got := len(l.quarantined(l.firm)); got != 1 {
		t.Errorf("%d kept after a repeat, want 1", got)
	}
	// The same but for white space is other bytes as well.
	spaced := l.make.Raw(string(first.Raw) + " ")
	wantOutcomes(t, l.append(spaced), "quarantined 0")
	wantOutcomes(t, l.append(first), "repeated 1")
}

func logOtherBytesInBatch(t *testing.T, l *logTest) {
	first := l.make.Note(l.job)
	other := l.make.EventID(first.Event.ID, l.job, events.KindNote, `{"text":"something else"}`)
	wantOutcomes(t, l.append(first, other, l.make.Note(l.job), first), "stored 1", "quarantined 0", "stored 2", "repeated 1")
	if got := string(l.wantWhole(l.firm, l.job)[0].Raw); got != string(first.Raw) {
		t.Errorf("stored %s", got)
	}
	if got := len(l.quarantined(l.firm)); got != 1 {
		t.Errorf("%d quarantined, want 1", got)
	}
}

func logOtherJobNamed(t *testing.T, l *logTest) {
	elsewhere := l.newJob(l.firm)
	wantOutcomes(t, l.append(l.make.Note(elsewhere), l.make.Note(l.job)), "quarantined 0", "stored 1")
	l.wantWhole(l.firm, l.job)
	if got := l.quarantined(l.firm); len(got) != 1 || got[0].Job != elsewhere {
		t.Errorf("quarantined %+v, want one that names %s", got, elsewhere)
	}
	if seq := l.head(l.firm, elsewhere).Seq; seq != 0 {
		t.Errorf("the job it names is at %d", seq)
	}
}

func logSameIDInTwoJobs(t *testing.T, l *logTest) {
	second := l.newJob(l.firm)
	e := l.make.Note(l.job)
	l.append(e)
	receipt := l.appendBatch(BatchOf(l.firm, second, l.make.EventID(e.Event.ID, second, events.KindNote, `{}`)))
	wantOutcomes(t, receipt, "stored 1")
	l.wantWhole(l.firm, l.job)
	l.wantWhole(l.firm, second)
}

func logQuarantine(t *testing.T, l *logTest) {
	older := events.Quarantined{
		Firm: l.firm, Job: NewFirm(t), EventID: NewFirm(t), Device: NewFirm(t), DeviceSeq: 7,
		At: RecordedAt, Reason: "no such job", Raw: []byte(`{"a":"\u0000"}`),
	}
	unreadable := events.Quarantined{
		Firm: l.firm, At: RecordedAt.Add(1e9), Reason: "not a readable envelope: \"\xff\x00\"", Raw: []byte("\x00\xff not json"),
	}
	otherReason := older
	otherReason.Reason = "the job is closed"
	otherReason.At = RecordedAt.Add(2e9)
	repeat := older
	repeat.At = RecordedAt.Add(3e9)
	for _, q := range []events.Quarantined{older, unreadable, otherReason, repeat} {
		if err := l.log.Quarantine(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	got := l.quarantined(l.firm)
	ignoreReason := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Reason" }, cmp.Ignore())
	if diff := cmp.Diff([]events.Quarantined{otherReason, unreadable, older}, got, ignoreReason); diff != "" {
		t.Errorf("quarantined (-want +got):\n%s", diff)
	}
	if newest, err := l.log.Quarantined(t.Context(), l.firm, 1); err != nil || len(newest) != 1 || newest[0].Reason != otherReason.Reason {
		t.Errorf("limit 1: %+v, %v", newest, err)
	}
}

func logQuarantineFirms(t *testing.T, l *logTest) {
	q := events.Quarantined{Firm: l.firm, Job: l.job, At: RecordedAt, Reason: "unreadable", Raw: []byte("x")}
	if err := l.log.Quarantine(t.Context(), q); err != nil {
		t.Fatal(err)
	}
	if got := l.quarantined(NewFirm(t)); len(got) != 0 {
		t.Errorf("another firm sees %+v", got)
	}
}
