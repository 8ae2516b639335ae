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
	CreatedAt time.Time  `json:"created_at"`
	RevokedAt *time.Time `json:"revoked_at,omitempty"`
	This      bool       `json:"this,omitempty"` // the one that asks
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

// errPairing does not tell a wrong code from one that is over.
var errPairing = levelling.Bad("code", "a code that the office reads out: each opens once, for ten minutes")

// postPair is POST pair: a device gives a code and gets an access of its own. It
// needs no token: it has none yet.
func (s *Server) postPair(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Code   string `json:"code"`
		Device string `json:"device"`
	}
	if err := decode(w, r, &in); err != nil {
		return err
	}
	token, firm, err := s.pair(r, in.Code, in.Device)
	if err != nil {
		return err
	}
	named, err := s.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return reply(w, http.StatusCreated, map[string]any{"token": token, "firm": map[string]any{"name": named.Name, "words": named.Words}})
}

// pair takes a code and makes the access of a device. How often one address may
// try is limited far below what guessing would need.
func (s *Server) pair(r *http.Request, code, device string) (token string, firm events.ID, err error) {
	if !s.pairers.allow(senderAddress(r)) {
		return "", firm, refuse(http.StatusTooManyRequests, "Too many codes were tried from here: wait a minute.")
	}
	device = strings.TrimSpace(device)
	if err := jobs.CheckDevice(device); err != nil {
		return "", firm, err
	}
	hash, err := jobs.ParsePairingCode(code)
	if err != nil {
		return "", firm, errPairing
	}
	firm, err = s.config.Store.TakePairing(r.Context(), hash, s.stamp())
	if errors.Is(err, events.ErrNotFound) {
		return "", firm, errPairing
	}
	if err != nil {
		return "", firm, err
	}
	token, kept, err := jobs.NewToken(firm, s.config.Random)
	if err != nil {
		return "", firm, err
	}
	one := jobs.Token{Firm: firm, Hash: kept, Name: device, CreatedAt: s.stamp()}
	if err := s.nameIt(&one.ID); err != nil {
		return "", firm, err
	}
	return token, firm, s.config.Store.CreateToken(r.Context(), one)
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
	_, own, _ := jobs.ParseToken(tokenOf(r))
	list := make([]access, len(tokens))
	for i, t := range tokens {
		list[i] = access{ID: t.ID, Name: t.Name, CreatedAt: t.CreatedAt, This: t.Hash == own}
		if !t.RevokedAt.IsZero() {
			list[i].RevokedAt = &t.RevokedAt
		}
	}
	return list, nil
}

// postRevoke is POST devices/{device}/revoke: from half a minute on at the latest
// it opens nothing. What it recorded stays.
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
	return nil
}
