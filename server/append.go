package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/watch"
)

const (
	// maxAppendBody is a full batch and what stands around its events.
	maxAppendBody = events.MaxBatchBytes + 64<<10
	// maxUnreadable bounds what is kept of a body that is no batch at all.
	maxUnreadable = 64 << 10
	// figuresTimeout is how long the figures of an answer may take. The events
	// are stored by then, and are acknowledged with or without them.
	figuresTimeout = 10 * time.Second
)

// appended answers POST jobs/{job}/events.
type appended struct {
	Results  []result       `json:"results"` // in the order of the request
	Seq      int64          `json:"seq"`
	Root     events.Hash    `json:"root"`
	Supports []jobs.Support `json:"supports"` // those the events touched, as they are now
}

// result says what became of one event.
type result struct {
	ID      events.ID      `json:"id"`
	Outcome events.Outcome `json:"outcome"`
	Seq     int64          `json:"seq,omitempty"`
	Reason  string         `json:"reason,omitempty"`
}

// errCameBetween answers what was decided on a job that has moved on.
var errCameBetween = refuse(http.StatusConflict, "Something was recorded in between: look at the job again, then decide.")

// postEvents is POST jobs/{job}/events.
func (s *Server) postEvents(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxAppendBody))
	if err != nil {
		return fmt.Errorf("read events: %w", err)
	}
	var batch struct {
		Events   []json.RawMessage `json:"events"`
		Expected *int64            `json:"expected_seq"`
	}
	if err := json.Unmarshal(body, &batch); err != nil {
		if err := s.keepUnreadable(r.Context(), key, body); err != nil {
			return err
		}
		return notABatch(err)
	}
	answer, err := s.recordOnto(r.Context(), key, batch.Events, batch.Expected)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, answer)
}

func notABatch(err error) error {
	if _, wrongType := errors.AsType[*json.UnmarshalTypeError](err); wrongType {
		return levelling.Bad("events", "a list of events")
	}
	return refuse(http.StatusBadRequest, "Not JSON: "+err.Error())
}

// keepUnreadable keeps a body that holds no events, so that a phone with a bug
// loses nothing.
func (s *Server) keepUnreadable(ctx context.Context, key jobKey, body []byte) error {
	if len(body) == 0 {
		return nil
	}
	return s.quarantine(ctx, key, events.Incoming{Raw: body[:min(len(body), maxUnreadable)]}, "what was sent is not a list of events")
}

// record takes events in, each by its exact bytes. It answers for every one of
// them: stored, stored before, or kept in quarantine with the reason.
func (s *Server) record(ctx context.Context, key jobKey, raws []json.RawMessage) (appended, error) {
	return s.recordOnto(ctx, key, raws, nil)
}

// recordOnto does the same for what was decided after so many events of the job;
// where the job has others nothing is stored, and the answer is ErrConflict.
func (s *Server) recordOnto(ctx context.Context, key jobKey, raws []json.RawMessage, onto *int64) (appended, error) {
	start, told := time.Now(), watch.Append{Events: len(raws)}
	ctx, span := s.config.Tracer.Start(ctx, "append", slog.String(watch.Job, key.job.String()), slog.Int("events", len(raws)))
	answer, err := s.take(ctx, key, raws, onto, &told)
	told.Took, told.Failed = time.Since(start), errors.Is(err, events.ErrUnavailable)
	s.config.Meter.Appended(told)
	span.End(err)
	return answer, err
}

// take is recordOnto, and says on the way what it comes to.
func (s *Server) take(ctx context.Context, key jobKey, raws []json.RawMessage, onto *int64, told *watch.Append) (appended, error) {
	if err := checkBatch(raws); err != nil {
		return appended{}, err
	}
	results := make([]result, len(raws))
	var good []events.Incoming
	var places []int // of the good ones in results
	for i, raw := range raws {
		in, reason := receive(key.job, raw)
		if reason == "" {
			good, places = append(good, in), append(places, i)
			continue
		}
		if err := s.quarantine(ctx, key, in, reason); err != nil {
			return appended{}, err
		}
		results[i] = result{ID: in.Event.ID, Outcome: events.WasQuarantined, Reason: reason}
	}
	batch := events.Batch{Firm: key.firm, Job: key.job, RecordedAt: s.config.Now().UTC().Truncate(time.Millisecond), Events: good, Onto: onto}
	start := time.Now()
	receipt, err := s.store(ctx, batch)
	told.Commit = time.Since(start)
	if errors.Is(err, events.ErrConflict) {
		return appended{}, errCameBetween
	}
	if err != nil {
		return appended{}, err
	}
	// From here on the events are stored. Nothing may turn that into an error.
	s.phones.hearBatch(batch)
	for i, r := range receipt.Results {
		results[places[i]] = result(r)
		switch r.Outcome {
		case events.WasStored:
			told.Stored++
		case events.WasRepeated:
			told.Repeated++
		case events.WasQuarantined:
			s.config.Meter.Quarantined()
		}
	}
	answer := appended{Results: results, Seq: receipt.Head.Seq, Root: receipt.Head.Root}
	answer.Supports = s.afterCommit(ctx, key, inLog(batch, receipt))
	return answer, nil
}

func checkBatch(raws []json.RawMessage) error {
	size := 0
	for _, raw := range raws {
		size += len(raw)
	}
	switch {
	case len(raws) == 0:
		return levelling.Bad("events", "missing: at least one event")
	case len(raws) > events.MaxBatchEvents, size > events.MaxBatchBytes:
		return fmt.Errorf("%d events of %d bytes: %w", len(raws), size, events.ErrTooLarge)
	}
	return nil
}

// receive reads one envelope and says why it has no place in a job's log.
func receive(job events.ID, raw []byte) (in events.Incoming, reason string) {
	in, err := events.Receive(raw)
	switch {
	case err != nil:
		return in, err.Error()
	case in.Event.Job != job:
		return in, "job: the event names another job than the address it was sent to"
	case in.Event.Kind.OfCommand():
		return in, "kind: nobody can send this one; the server's own command records it where it erases something"
	}
	return in, ""
}

// store appends a batch. When this firm has no such job everything is kept in
// quarantine under the firm that sent it, and the answer is ErrNotFound.
func (s *Server) store(ctx context.Context, batch events.Batch) (events.Receipt, error) {
	if len(batch.Events) == 0 {
		head, err := s.config.Log.Head(ctx, batch.Firm, batch.Job)
		return events.Receipt{Head: head}, err
	}
	receipt, err := s.config.Log.Append(ctx, batch)
	if !errors.Is(err, events.ErrNotFound) {
		return receipt, err
	}
	key := jobKey{batch.Firm, batch.Job}
	_, missing := s.config.Store.FindJob(ctx, key.firm, key.job)
	switch {
	case missing == nil:
		// The job was created and its log was not: a crash came between.
		if err := s.config.Log.Create(ctx, key.firm, key.job); err != nil {
			return events.Receipt{}, err
		}
		return s.config.Log.Append(ctx, batch)
	case !errors.Is(missing, events.ErrNotFound):
		return events.Receipt{}, missing
	}
	for _, in := range batch.Events {
		if err := s.quarantine(ctx, key, in, "this firm has no such job"); err != nil {
			return events.Receipt{}, err
		}
	}
	return events.Receipt{}, err
}

func (s *Server) quarantine(ctx context.Context, key jobKey, in events.Incoming, reason string) error {
	q := events.Quarantined{
		Firm: key.firm, Job: key.job, EventID: in.Event.ID, Device: in.Event.Device, DeviceSeq: in.Event.DeviceSeq,
		At: s.config.Now().UTC().Truncate(time.Millisecond), Reason: reason, Raw: in.Raw,
	}
	if !in.Event.Job.IsZero() {
		q.Job = in.Event.Job
	}
	if err := s.config.Log.Quarantine(ctx, q); err != nil {
		return fmt.Errorf("quarantine an event: %w", err)
	}
	s.config.Meter.Quarantined()
	s.hooks.mark(jobKey{firm: q.Firm})
	s.phones.hear(jobs.Heard{Firm: q.Firm, Device: q.Device, Seen: jobs.NumbersOf(q.DeviceSeq), At: q.At})
	return nil
}

// logged is what of a batch is in the log now, all that the fold looks at: not
// the leaves, not the salts.
type logged struct {
	fresh []events.Stored // by this request
	all   []events.Stored // by this one or an earlier one whose answer was lost
}

func inLog(batch events.Batch, receipt events.Receipt) (l logged) {
	l.all = make([]events.Stored, 0, len(receipt.Results))
	known := receipt.Head.Seq // before this request
	for i, r := range receipt.Results {
		switch r.Outcome {
		case events.WasStored:
			known--
			fallthrough
		case events.WasRepeated:
			in := batch.Events[i]
			l.all = append(l.all, events.Stored{Event: in.Event, Seq: r.Seq, RecordedAt: batch.RecordedAt, Raw: in.Raw})
		}
	}
	l.fresh = l.all
	if slices.ContainsFunc(l.all, func(e events.Stored) bool { return e.Seq <= known }) {
		l.fresh = slices.DeleteFunc(slices.Clone(l.all), func(e events.Stored) bool { return e.Seq <= known })
	}
	return l
}

// afterCommit folds what was stored, tells whoever listens, and returns the
// supports it touched. A failure is logged; the answer then comes without them.
func (s *Server) afterCommit(ctx context.Context, key jobKey, l logged) []jobs.Support {
	touched := []jobs.Support{}
	if len(l.all) == 0 {
		return touched
	}
	if n := len(l.fresh); n > 0 {
		s.hub.publish(key, l.fresh[n-1].Seq)
		// Once the figures are there: what works behind the requests takes turns at the
		// state with this one, which somebody waits for.
		defer s.markGrown(key)
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), figuresTimeout)
	defer cancel()
	ctx, span := s.config.Tracer.Start(ctx, "fold", slog.Int("events", len(l.fresh)))
	figures, err := s.states.figures(ctx, key, l, s.config.Now())
	span.End(err)
	if err != nil {
		s.config.Logger.ErrorContext(ctx, "events were stored, their figures failed", "job", key.job.String(), "err", err)
		return touched
	}
	return append(touched, figures...)
}

// markGrown asks for what is made behind the requests of a job whose log has grown.
func (s *Server) markGrown(key jobKey) {
	s.summaries.mark(key)
	s.books.mark(key)
	s.hooks.mark(key)
	s.signs.mark(key)
}
