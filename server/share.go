package server

import (
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// sharePath is where owners' links lead. What follows it is no secret; what stands
// behind the # is one, and comes to a server in the body of a form alone.
const sharePath = "/s/"

// shareRoutes add what the office and programs do about owners' links.
func (p *pages) shareRoutes(own, api firmRoutes) {
	api.get("/jobs/{job}/shares", p.getShares)
	api.post("/jobs/{job}/shares", p.postShare)
	api.post("/jobs/{job}/shares/{share}/revoke", p.postShareRevoke)
	own.get("/jobs/{job}/shares", p.getSharesPage)
	own.post("/jobs/{job}/shares", p.postSharesPage)
	own.post("/jobs/{job}/shares/{share}/revoke", p.postShareRevokePage)
}

// sharedJob is one owner's link as the API has it. Its secret is in no answer but the
// one to POST.
type sharedJob struct {
	ID        events.ID `json:"id"`
	Name      string    `json:"name"`            // whom it is for
	UpTo      int64     `json:"up_to,omitempty"` // the last line of the book that is seen; all where it is missing
	MadeBy    events.ID `json:"made_by,omitzero"`
	CreatedAt time.Time `json:"created_at,omitzero"`
	ExpiresAt time.Time `json:"expires_at,omitzero"`
	RevokedAt time.Time `json:"revoked_at,omitzero"`
	Opened    int       `json:"opened"` // how often
	OpenedAt  time.Time `json:"opened_at,omitzero"`
}

func sharedJobOf(s jobs.Share) sharedJob {
	return sharedJob{s.ID, s.Name, s.UpTo, s.MadeBy, s.CreatedAt, s.ExpiresAt, s.RevokedAt, s.Opened, s.OpenedAt}
}

// askedShare is what POST shares is sent.
type askedShare struct {
	Name      string    `json:"name"`                // whom it is for
	UpTo      int64     `json:"up_to,omitempty"`     // the last line of the book that is seen; all, and what comes, where it is missing
	ExpiresAt time.Time `json:"expires_at,omitzero"` // a year from now where it is missing
}

// madeShare answers POST shares, once.
type madeShare struct {
	sharedJob
	Link string `json:"link"`
	Code string `json:"code"` // what is typed where no script runs
}

// getShares is GET jobs/{job}/shares.
func (s *Server) getShares(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := s.ownJob(r, firm)
	if err != nil {
		return err
	}
	all, err := s.config.Store.ListShares(r.Context(), firm, key.job)
	if err != nil {
		return err
	}
	list := make([]sharedJob, len(all))
	for i, one := range all {
		list[i] = sharedJobOf(one)
	}
	return reply(w, http.StatusOK, map[string]any{"shares": list})
}

// ownJob is the job that an address names, if the firm has it.
func (s *Server) ownJob(r *http.Request, firm events.ID) (jobKey, error) {
	key, err := keyOf(r, firm)
	if err == nil {
		_, err = s.config.Store.FindJob(r.Context(), firm, key.job)
	}
	return key, err
}

// postShare is POST jobs/{job}/shares.
func (s *Server) postShare(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := s.ownJob(r, firm)
	if err != nil {
		return err
	}
	var asked askedShare
	if err := decode(w, r, &asked); err != nil {
		return err
	}
	made, secret, err := s.makeShare(r, jobs.Share{Firm: firm, Job: key.job, Name: asked.Name, UpTo: asked.UpTo, ExpiresAt: asked.ExpiresAt})
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, madeShare{sharedJobOf(made), s.shareLink(r, made, secret), jobs.ShareCode(secret)})
}

// makeShare keeps a share and returns its secret, of which only the hash is kept. It
// opens for a year where nobody says how long.
func (s *Server) makeShare(r *http.Request, one jobs.Share) (made jobs.Share, secret string, err error) {
	one.CreatedAt, one.MadeBy = s.stamp(), who(r).person.ID
	if one.ExpiresAt.IsZero() {
		one.ExpiresAt = one.CreatedAt.Add(jobs.ShareLasts)
	}
	one.ExpiresAt = one.ExpiresAt.UTC().Truncate(time.Millisecond)
	if err := one.Check(); err != nil {
		return one, "", err
	}
	head, err := s.config.Log.Head(r.Context(), one.Firm, one.Job)
	if err != nil && !isNotFound(err) {
		return one, "", err
	}
	if one.UpTo > head.Seq {
		return one, "", levelling.Bad("up_to", "the number of a line that the book has")
	}
	if secret, one.Hash, err = jobs.NewShareSecret(s.config.Random); err != nil {
		return one, "", err
	}
	if err := s.nameIt(&one.ID); err != nil {
		return one, "", err
	}
	if err := s.config.Store.CreateShare(r.Context(), one); err != nil {
		return one, "", err
	}
	s.trail.note(one.Firm, r, jobs.Trace{What: jobs.ShareMade, About: one.ID, Job: one.Job})
	return one, secret, nil
}

// shareLink is the address of a share with its secret.
func (s *Server) shareLink(r *http.Request, one jobs.Share, secret string) string {
	return s.address(r) + sharePath + one.Address() + "#" + secret
}

// postShareRevoke is POST jobs/{job}/shares/{share}/revoke.
func (s *Server) postShareRevoke(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	if err := s.revokeShare(r, firm); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// revokeShare ends the share that an address names.
func (s *Server) revokeShare(r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	id, err := events.ParseID(mux.Vars(r)["share"])
	if err != nil {
		return events.ErrNotFound
	}
	if err := s.config.Store.RevokeShare(r.Context(), firm, key.job, id, s.stamp()); err != nil {
		return err
	}
	s.trail.note(firm, r, jobs.Trace{What: jobs.ShareOver, About: id, Job: key.job})
	return nil
}
