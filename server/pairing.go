package server

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// access is one way in: a device that was paired, or a program's token.
type access struct {
	ID        events.ID  `json:"id"`
	Name      string     `json:"name"`
	Scope     jobs.Scope `json:"scope"`
	CreatedAt time.Time  `json:"created_at"`
	RevokedAt *time.Time `json:"revoked_at,omitempty"`
	This      bool       `json:"this,omitempty"` // the one that asks

	DeviceID events.ID         `json:"device_id,omitzero"` // that a phone gave itself; what follows is of it
	Highest  int64             `json:"highest,omitempty"`  // its last counter that arrived
	Missing  jobs.Numbers      `json:"missing,omitempty"`  // the first counters below it that did not, [from,to]
	Lost     int64             `json:"lost,omitempty"`     // how many did not
	HeardAt  *time.Time        `json:"heard_at,omitempty"`
	Report   *jobs.PhoneReport `json:"report,omitempty"`

	phone *jobs.Phone
}

// mostMissing bounds the runs of missing counters that are listed; all are counted.
const mostMissing = 100

// tell adds what is known of an access's device.
func (a *access) tell(p jobs.Phone) {
	missing := p.Seen.Missing()
	a.Highest, a.Missing, a.Lost = p.Seen.Highest(), missing[:min(len(missing), mostMissing)], missing.Count()
	a.HeardAt, a.Report, a.phone = &p.HeardAt, p.Report, &p
}

// postPairing is POST pairings: a code to be read out to one device.
func (s *Server) postPairing(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	code, until, err := s.pairingCode(r.Context(), firm)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return reply(w, http.StatusCreated, map[string]any{"code": code, "expires_at": until})
}

// pairingCode makes a code. One that happens to be somebody else's now is drawn
// again.
func (s *Server) pairingCode(ctx context.Context, firm events.ID) (code string, until time.Time, err error) {
	for range 3 {
		var hash events.Digest
		code, hash, err = jobs.NewPairingCode(s.config.Random)
		if err != nil {
			return "", until, err
		}
		now := s.stamp()
		until = now.Add(jobs.PairingLasts)
		err = s.config.Store.CreatePairing(ctx, jobs.Pairing{Hash: hash, Firm: firm, ExpiresAt: until}, now)
		if !errors.Is(err, events.ErrConflict) {
			return code, until, err
		}
	}
	return "", until, err
}

var errTooManyCodes = refuse(http.StatusTooManyRequests, "Too many codes were tried from here: wait a minute.")

// errPairing does not tell a wrong code from one that is over.
var errPairing = levelling.Bad("code", "a code that the office reads out: each opens once, for ten minutes")

// pairing is what a device sends to be paired.
type pairing struct {
	Code     string    `json:"code"`
	Device   string    `json:"device"`             // what to call it
	DeviceID events.ID `json:"device_id,omitzero"` // that it gave itself
}

// pairedDevice is the answer to a device that was paired.
type pairedDevice struct {
	Token    string     `json:"token"`              // its access, said this once
	Access   events.ID  `json:"access"`             // the id of it
	DeviceID events.ID  `json:"device_id,omitzero"` // as it was sent
	Firm     pairedFirm `json:"firm"`
}

// pairedFirm is the firm that a device was paired with.
type pairedFirm struct {
	Name  string      `json:"name"`
	Words jobs.Region `json:"words"` // whose words its screens use
}

// postPair is POST pair: a device gives a code and gets an access of its own. It
// needs no token: it has none yet.
func (s *Server) postPair(w http.ResponseWriter, r *http.Request) error {
	var in pairing
	if err := decode(w, r, &in); err != nil {
		return err
	}
	token, one, err := s.pair(r, in.Code, jobs.Token{Name: in.Device, Device: in.DeviceID})
	if err != nil {
		return err
	}
	named, err := s.config.Store.FindFirm(r.Context(), one.Firm)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return reply(w, http.StatusCreated, pairedDevice{token, one.ID, one.Device, pairedFirm{named.Name, named.Words}})
}

// pair takes a code and makes the access of a device, of which one says the name and
// the id. How often one address may try is limited far below what guessing would
// need.
func (s *Server) pair(r *http.Request, code string, one jobs.Token) (token string, made jobs.Token, err error) {
	if err := s.doors.pairings.enter(r.Context(), s.senderNetwork(r)); err != nil {
		return "", one, err
	}
	one.Name = strings.TrimSpace(one.Name)
	if err := jobs.CheckDevice(one.Name); err != nil {
		return "", one, err
	}
	hash, err := jobs.ParsePairingCode(code)
	if err != nil {
		return "", one, errPairing
	}
	one.Firm, err = s.config.Store.TakePairing(r.Context(), hash, s.stamp())
	if errors.Is(err, events.ErrNotFound) {
		return "", one, errPairing
	}
	if err != nil {
		return "", one, err
	}
	if token, one.Hash, err = jobs.NewToken(one.Firm, s.config.Random); err != nil {
		return "", one, err
	}
	one.CreatedAt, one.Scope = s.stamp(), jobs.ScopePhone
	if err := s.nameIt(&one.ID); err != nil {
		return "", one, err
	}
	if err := s.config.Store.CreateToken(r.Context(), one); err != nil {
		return "", one, err
	}
	s.trail.note(one.Firm, r, jobs.Trace{What: jobs.DevicePaired, Token: one.ID, About: one.ID})
	return token, one, nil
}

// getDevices is GET devices: all ways in, the newest first.
func (s *Server) getDevices(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	devices, err := s.accesses(r, firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"devices": devices})
}

func (s *Server) accesses(r *http.Request, firm events.ID) ([]access, error) {
	tokens, err := s.config.Store.ListTokens(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	known, err := s.knownPhones(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	own := who(r).token.ID
	list := make([]access, len(tokens))
	for i, t := range tokens {
		list[i] = access{ID: t.ID, Name: t.Name, Scope: t.Scope, CreatedAt: t.CreatedAt, This: t.ID == own, DeviceID: t.Device}
		if p, ok := known[t.Device]; ok {
			list[i].tell(p)
		}
		if !t.RevokedAt.IsZero() {
			list[i].RevokedAt = &t.RevokedAt
		}
	}
	return list, nil
}

// knownPhones are the devices that were heard of, what this server has not written
// yet among them.
func (s *Server) knownPhones(ctx context.Context, firm events.ID) (map[events.ID]jobs.Phone, error) {
	s.phones.saveDue(ctx)
	list, err := s.config.Store.ListPhones(ctx, firm)
	known := make(map[events.ID]jobs.Phone, len(list))
	for _, p := range list {
		known[p.Device] = p
	}
	return known, err
}

// postRevoke is POST devices/{device}/revoke: from half a minute on at the latest
// it opens nothing, on whichever server. What it recorded stays.
func (s *Server) postRevoke(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	id, err := events.ParseID(mux.Vars(r)["device"])
	if err != nil {
		return refuse(http.StatusNotFound, "There is no such device.")
	}
	if err := s.revoke(r, firm, id); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

func (s *Server) revoke(r *http.Request, firm, id events.ID) error {
	list, err := s.accesses(r, firm)
	if err != nil {
		return err
	}
	for _, one := range list {
		if one.ID == id && one.This {
			return refuse(http.StatusConflict, "This is the device you are on: revoke it from another one, or leave.")
		}
	}
	if err := s.config.Store.RevokeToken(r.Context(), firm, id, s.stamp()); err != nil {
		return err
	}
	s.tokens.forget()
	s.trail.note(firm, r, jobs.Trace{What: jobs.AccessRevoked, About: id})
	return nil
}
