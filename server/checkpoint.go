package server

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/events/proof"
	"relevel/levelling"
	"relevel/server/signing"
)

// checkpointRoutes are what anybody needs to check a job's log without the server.
func (s *Server) checkpointRoutes(r *mux.Router, api firmRoutes) {
	api.get("/jobs/{job}/checkpoint", s.getCheckpoint)
	api.get("/jobs/{job}/checkpoints/{size}", s.getCheckpointAt)
	api.get("/jobs/{job}/proof/inclusion", s.getInclusion)
	api.get("/jobs/{job}/proof/consistency", s.getConsistency)
	api.get("/checkpoint", s.getFirmCheckpoint)
	api.get("/checkpoints", s.getFirmLog)
	r.Handle("/keys", s.answer(s.getKeys)).Methods(http.MethodGet, http.MethodHead)
}

var (
	errNotSigned = refuse(http.StatusNotFound, "Nothing is signed here yet.")
	// errDisagrees answers who asks for a proof that there is not.
	errDisagrees = refuse(http.StatusConflict, "The record does not agree with what was signed: there is no such proof. The office sees it on the page of the job.")
)

// sendText sends plain text.
func sendText(w http.ResponseWriter, text []byte) error {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Write(text) // a reader that has gone away is no error
	return nil
}

// getCheckpoint is GET jobs/{job}/checkpoint: the last one, as a signed note.
func (s *Server) getCheckpoint(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := s.knownJob(r, firm)
	if err != nil {
		return err
	}
	k, err := s.checkpointAt(r.Context(), key, 0)
	if err != nil {
		return err
	}
	w.Header().Set("Last-Modified", k.At.UTC().Format(http.TimeFormat))
	return sendText(w, k.Note)
}

// getCheckpointAt is GET jobs/{job}/checkpoints/{size}.
func (s *Server) getCheckpointAt(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := s.knownJob(r, firm)
	if err != nil {
		return err
	}
	size, err := strconv.ParseInt(mux.Vars(r)["size"], 10, 64)
	if err != nil || size < 1 {
		return errNotSigned
	}
	k, err := s.checkpointAt(r.Context(), key, size)
	if err != nil {
		return err
	}
	return sendText(w, k.Note)
}

// knownJob is the job of the address, if the firm has it.
func (s *Server) knownJob(r *http.Request, firm events.ID) (jobKey, error) {
	key, err := keyOf(r, firm)
	if err == nil {
		_, err = s.config.Store.FindJob(r.Context(), firm, key.job)
	}
	return key, err
}

// checkpointAt finds a checkpoint by its size, the last where that is 0.
func (s *Server) checkpointAt(ctx context.Context, key jobKey, size int64) (k proof.Kept, err error) {
	switch {
	case s.signs == nil:
		return k, errNotSigned
	case size == 0:
		k, err = s.config.Checkpoints.LastCheckpoint(ctx, key.firm, key.job)
	default:
		k, err = s.config.Checkpoints.FindCheckpoint(ctx, key.firm, key.job, size)
	}
	if errors.Is(err, events.ErrNotFound) {
		return k, errNotSigned
	}
	return k, err
}

// getInclusion is GET jobs/{job}/proof/inclusion?seq=&size=: that a record is in what
// the checkpoint of that size was signed over.
func (s *Server) getInclusion(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	return s.sendProof(w, r, firm, "seq", "size", func(t *proof.Tree, seq, size int64) (proofText, error) {
		if seq < 1 || seq > size {
			return nil, levelling.Bad("seq", "the number of a record, from 1 to "+strconv.FormatInt(size, 10)+", how many the checkpoint has")
		}
		p, err := t.Include(seq, size)
		return func(note []byte) string { p.Checkpoint = note; return p.Text() }, err
	})
}

// getConsistency is GET jobs/{job}/proof/consistency?from=&to=: that the checkpoint of
// size to continues the log as it was at another size.
func (s *Server) getConsistency(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	return s.sendProof(w, r, firm, "from", "to", func(t *proof.Tree, from, to int64) (proofText, error) {
		if from > to {
			return nil, levelling.Bad("from", "no more than "+strconv.FormatInt(to, 10)+", how many records the checkpoint has")
		}
		p, err := t.Continue(from, to)
		return func(note []byte) string { p.Checkpoint = note; return p.Text() }, err
	})
}

// proofText writes a proof with the note that it is about.
type proofText func(note []byte) string

// sendProof makes a proof about a smaller number under a checkpoint of the size that is
// asked for, or under the last.
func (s *Server) sendProof(w http.ResponseWriter, r *http.Request, firm events.ID, small, large string, prove func(t *proof.Tree, small, large int64) (proofText, error)) error {
	key, err := s.knownJob(r, firm)
	if err != nil {
		return err
	}
	about, err := number(r, small, 0, 0, proof.MaxSize)
	if err != nil {
		return err
	}
	size, err := number(r, large, 0, 0, proof.MaxSize)
	if err != nil {
		return err
	}
	k, err := s.checkpointAt(r.Context(), key, size)
	if err != nil {
		return err
	}
	tree, err := s.signs.signer.Tree(r.Context(), key.firm, key.job, k)
	if errors.Is(err, signing.ErrDisagrees) {
		return errDisagrees
	}
	if err != nil {
		return err
	}
	text, err := prove(tree, about, k.Size)
	if err != nil {
		return err
	}
	return sendText(w, []byte(text(k.Note)))
}

// getFirmCheckpoint is GET checkpoint: the last of the firm's log.
func (s *Server) getFirmCheckpoint(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	if s.signs == nil {
		return errNotSigned
	}
	k, err := s.config.Checkpoints.LastFirmCheckpoint(r.Context(), firm)
	if errors.Is(err, events.ErrNotFound) {
		return errNotSigned
	}
	if err != nil {
		return err
	}
	w.Header().Set("Last-Modified", k.At.UTC().Format(http.TimeFormat))
	return sendText(w, k.Note)
}

// firmEntry is one line of the firm's log.
type firmEntry struct {
	Seq  int64       `json:"seq"`
	Job  events.ID   `json:"job"`
	Size int64       `json:"size"` // how many records of the job the checkpoint has
	Leaf events.Hash `json:"leaf"` // over the bytes of the note
	Note string      `json:"note"` // the checkpoint of the job, as it was signed
}

const mostEntries = 500

// getFirmLog is GET checkpoints?after=&limit=.
func (s *Server) getFirmLog(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	after, err := number(r, "after", 0, 0, proof.MaxSize)
	if err != nil {
		return err
	}
	limit, err := number(r, "limit", mostEntries, 1, mostEntries)
	if err != nil {
		return err
	}
	list := []firmEntry{}
	if s.signs != nil {
		entries, err := s.config.Checkpoints.ListEntries(r.Context(), firm, after, int(limit))
		if err != nil {
			return err
		}
		for _, e := range entries {
			list = append(list, firmEntry{e.Seq, e.Job, e.Size, e.Leaf, string(e.Note)})
		}
	}
	return reply(w, http.StatusOK, map[string]any{"entries": list})
}

// getKeys is GET /keys: the public keys, for anybody.
func (s *Server) getKeys(w http.ResponseWriter, r *http.Request) error {
	if s.signs == nil {
		return errNotSigned
	}
	keys, err := s.signs.signer.Keys(r.Context())
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "max-age="+strconv.Itoa(int(time.Minute/time.Second)))
	return sendText(w, []byte(proof.KeysText(keys)))
}
