package eventstest

import (
	"errors"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
)

// EraseRecord removes the bytes of a record that has some, as the role eraser does.
type EraseRecord func(firm, job events.ID, seq int64) error

// LogModel draws what is done to a log, and holds each answer against a plain list.
// Firms, ids and jobs are new for each sequence, so that one store serves all.
func LogModel(t *testing.T, log events.Log, erase EraseRecord) {
	t.Helper()
	rapid.Check(t, func(r *rapid.T) {
		m := &logModel{T: r, log: log, erase: erase, maker: NewMaker(t), lists: map[place][]record{}, apart: map[events.ID]map[string]bool{}}
		first, second := NewFirm(t), NewFirm(t)
		job, other := NewFirm(t), NewFirm(t)
		m.places = []place{{first, job}, {first, other}, {second, job}} // the same job under two firms is two
		m.nowhere = place{second, other}
		for _, p := range m.places {
			if err := log.Create(t.Context(), p.firm, p.job); err != nil {
				r.Fatal(err)
			}
			m.lists[p] = nil
		}
		r.Repeat(map[string]func(*rapid.T){
			"append": m.append, "read": m.read, "leaves": m.leaves, "head": m.head,
			"create": m.create, "eraseRecord": m.eraseOne, "quarantined": m.quarantined,
		})
	})
}

// place is a job of a firm.
type place struct{ firm, job events.ID }

// record is what the model knows of an event.
type record struct {
	events.Incoming
	leaf   events.Hash
	erased bool
}

type logModel struct {
	*rapid.T
	log     events.Log
	erase   EraseRecord
	maker   *Maker
	places  []place
	nowhere place // without a log
	lists   map[place][]record
	apart   map[events.ID]map[string]bool // by firm
}

func (m *logModel) place(r *rapid.T) place { return rapid.SampledFrom(m.places).Draw(r, "place") }

// append draws a batch of what is new, what is there, what is there with other bytes and
// what belongs elsewhere, at times decided on a number that is right or not.
func (m *logModel) append(r *rapid.T) {
	p := rapid.SampledFrom(append(slices.Clone(m.places), m.nowhere)).Draw(r, "place")
	var batch []events.Incoming
	for range rapid.IntRange(1, 5).Draw(r, "events") {
		batch = append(batch, m.event(r, p, batch))
	}
	b := BatchOf(p.firm, p.job, batch...)
	if rapid.IntRange(0, 3).Draw(r, "decided") == 0 {
		onto := max(0, int64(len(m.lists[p])-rapid.IntRange(0, 1).Draw(r, "late")))
		b.Onto = &onto
	}
	receipt, err := m.log.Append(m.Context(), b)
	if p == m.nowhere {
		if !errors.Is(err, events.ErrNotFound) {
			r.Fatalf("a job without a log: %v", err)
		}
		return
	}
	list, results, apart := m.arrange(p, batch)
	if b.Onto != nil && *b.Onto != int64(len(m.lists[p])) && len(list) > len(m.lists[p]) {
		if !errors.Is(err, events.ErrConflict) {
			r.Fatalf("onto %d of %d: %v, want ErrConflict", *b.Onto, len(m.lists[p]), err)
		}
		return
	}
	if err != nil {
		r.Fatal(err)
	}
	for i := range results {
		if results[i].Outcome == events.WasQuarantined && receipt.Results[i].Reason != "" {
			results[i].Reason = receipt.Results[i].Reason // any reason, if there is one
		}
	}
	if diff := cmp.Diff(results, receipt.Results); diff != "" || receipt.Head.Seq != int64(len(list)) {
		r.Fatalf("%d events after it, want %d (-plain +log):\n%s", receipt.Head.Seq, len(list), diff)
	}
	m.lists[p] = list
	for _, raw := range apart {
		if m.apart[p.firm] == nil {
			m.apart[p.firm] = map[string]bool{}
		}
		m.apart[p.firm][raw] = true
	}
}

// event draws one for a batch that has others.
func (m *logModel) event(r *rapid.T, p place, batch []events.Incoming) events.Incoming {
	var known []events.Incoming
	for _, e := range m.lists[p] {
		known = append(known, e.Incoming)
	}
	known = append(known, batch...)
	switch what := rapid.IntRange(0, 5).Draw(r, "what"); {
	case what == 0:
		return m.maker.Note(NewFirm(m.maker.t)) // of another job
	case what == 1 && len(known) > 0:
		return rapid.SampledFrom(known).Draw(r, "same")
	case what == 2 && len(known) > 0:
		id := rapid.SampledFrom(known).Draw(r, "changed").Event.ID
		return m.maker.EventID(id, p.job, events.KindNote, `{"text":"changed"}`)
	}
	return m.maker.Note(p.job)
}

// arrange says what the plain list does with a batch.
func (m *logModel) arrange(p place, batch []events.Incoming) (list []record, results []events.Result, apart []string) {
	list = slices.Clone(m.lists[p])
	for _, e := range batch {
		at := slices.IndexFunc(list, func(r record) bool { return r.Event.ID == e.Event.ID })
		result := events.Result{ID: e.Event.ID, Outcome: events.WasStored, Seq: int64(at + 1)}
		switch {
		case e.Event.Job != p.job, at >= 0 && !list[at].erased && string(list[at].Raw) != string(e.Raw):
			result.Outcome, result.Seq = events.WasQuarantined, 0
			apart = append(apart, string(e.Raw))
		case at >= 0 && list[at].erased:
			result.Outcome = events.WasErased
		case at >= 0:
			result.Outcome = events.WasRepeated
		default:
			list = append(list, record{Incoming: e})
			result.Seq = int64(len(list))
		}
		results = append(results, result)
	}
	return list, results, apart
}

// page draws a part of a list.
func (m *logModel) page(r *rapid.T, p place) (after int64, limit int, part []record) {
	list := m.lists[p]
	after = int64(rapid.IntRange(0, len(list)+1).Draw(r, "after"))
	limit = rapid.IntRange(0, 6).Draw(r, "limit")
	from := min(after, int64(len(list)))
	return after, limit, list[from:min(from+int64(limit), int64(len(list)))]
}

func (m *logModel) read(r *rapid.T) {
	p := m.place(r)
	after, limit, want := m.page(r, p)
	got, err := m.log.Read(m.Context(), p.firm, p.job, after, limit)
	if err != nil || len(got) != len(want) {
		r.Fatalf("%d events after %d, %v, want %d", len(got), after, err, len(want))
	}
	for i, s := range got {
		w := want[i]
		if s.Seq != after+int64(i)+1 || s.ID != w.Event.ID || s.Erased != w.erased || (!w.erased && string(s.Raw) != string(w.Raw)) {
			r.Fatalf("number %d is %+v, want %s", after+int64(i)+1, s, w.Raw)
		}
	}
}

// leaves never change once they were there, also when bytes are erased.
func (m *logModel) leaves(r *rapid.T) {
	p := m.place(r)
	after, limit, want := m.page(r, p)
	got, err := m.log.Leaves(m.Context(), p.firm, p.job, after, limit)
	if err != nil || len(got) != len(want) {
		r.Fatalf("%d leaves after %d, %v, want %d", len(got), after, err, len(want))
	}
	for i, leaf := range got {
		if want[i].leaf != (events.Hash{}) && want[i].leaf != leaf {
			r.Fatalf("leaf %d is another now", after+int64(i)+1)
		}
		want[i].leaf = leaf // want is a part of the list
	}
}

// head is the tree over all leaves.
func (m *logModel) head(r *rapid.T) {
	p := m.place(r)
	head, err := m.log.Head(m.Context(), p.firm, p.job)
	if err != nil || head.Seq != int64(len(m.lists[p])) {
		r.Fatalf("%d events, %v, want %d", head.Seq, err, len(m.lists[p]))
	}
	leaves, err := m.log.Leaves(m.Context(), p.firm, p.job, 0, len(m.lists[p]))
	if err != nil {
		r.Fatal(err)
	}
	var grown events.Frontier
	for i, leaf := range leaves {
		grown = grown.Grow(int64(i), leaf)
	}
	if grown.Root() != head.Root || head.Frontier.Root() != head.Root {
		r.Fatalf("the root is %s, its leaves give %s", head.Root, grown.Root())
	}
}

// create finds a log that is there.
func (m *logModel) create(r *rapid.T) {
	p := m.place(r)
	if err := m.log.Create(m.Context(), p.firm, p.job); err != nil {
		r.Fatal(err)
	}
}

func (m *logModel) eraseOne(r *rapid.T) {
	p := m.place(r)
	list := m.lists[p]
	if len(list) == 0 {
		return
	}
	at := rapid.IntRange(0, len(list)-1).Draw(r, "number")
	if list[at].erased {
		return
	}
	if err := m.erase(p.firm, p.job, int64(at)+1); err != nil {
		r.Fatal(err)
	}
	list[at].erased = true
}

// quarantined is everything that was kept apart under a firm.
func (m *logModel) quarantined(r *rapid.T) {
	firm := m.place(r).firm
	kept, err := m.log.Quarantined(m.Context(), firm, 10_000)
	if err != nil {
		r.Fatal(err)
	}
	got := map[string]bool{}
	for _, q := range kept {
		got[string(q.Raw)] = true
	}
	want := m.apart[firm]
	if want == nil {
		want = map[string]bool{}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		r.Fatalf("the quarantine (-plain +log):\n%s", diff)
	}
}
