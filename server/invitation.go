package server

import (
	"context"
	"errors"
	"net/http"

	"relevel/events"
	"relevel/jobs"
)

// invite makes a one-time link for a person, and returns the part of it behind the #.
// Who asked for it, if it was somebody of the office, is kept.
func (s *Server) invite(ctx context.Context, firm, person, by events.ID, purpose jobs.Purpose) (string, jobs.Invitation, error) {
	secret, hash, err := jobs.NewInvitation(firm, s.config.Random)
	if err != nil {
		return "", jobs.Invitation{}, err
	}
	now := s.stamp()
	i := jobs.Invitation{Firm: firm, Hash: hash, Purpose: purpose, Person: person, MadeBy: by, CreatedAt: now, ExpiresAt: now.Add(purpose.Lasts())}
	if err := s.nameIt(&i.ID); err != nil {
		return "", i, err
	}
	return secret, i, s.config.Store.CreateInvitation(ctx, i)
}

// errNoInvitation does not tell a link that never was from one that is over.
var errNoInvitation = refuse(http.StatusUnprocessableEntity, "This link was used, withdrawn, or is past its time: ask the office for another.")

// findInvitation returns what a link leads to.
func (s *Server) findInvitation(r *http.Request, text string) (i jobs.Invitation, err error) {
	if err := s.doors.addresses.enter(r.Context(), s.senderNetwork(r)); err != nil {
		return i, err
	}
	firm, hash, err := jobs.ParseInvitation(text)
	if err != nil {
		return i, errNoInvitation
	}
	i, err = s.config.Store.FindInvitation(r.Context(), firm, hash, s.stamp())
	if isNotFound(err) {
		return i, errNoInvitation
	}
	return i, err
}

// letterOf is the letter that brings a link.
func letterOf(purpose jobs.Purpose, firm, link string) Letter {
	if purpose == jobs.Reset {
		return Letter{Subject: "A new password for " + firm, Text: "Somebody asked for a new password for you at " + firm + ".\n\n" +
			"Follow this link within two hours and choose one:\n" + link + "\n\nIf it was not you, do nothing: the old one stays.\n"}
	}
	return Letter{Subject: firm + " invites you", Text: firm + " keeps its jobs here and has a place for you.\n\n" +
		"Follow this link within seven days and make your account:\n" + link + "\n\nThe link opens once. Pass it on to nobody.\n"}
}

// isNotFound reports whether what was asked for is not there.
func isNotFound(err error) bool { return errors.Is(err, events.ErrNotFound) }

// sendReset writes to whoever signs in by an address, if anybody does. It goes on
// after the answer.
func (s *Server) sendReset(r *http.Request, name string) {
	r = r.WithContext(context.WithoutCancel(r.Context()))
	s.running.Go(func() {
		ctx, cancel := context.WithTimeout(r.Context(), mailTime)
		defer cancel()
		if err := s.resetByMail(ctx, r, name); err != nil {
			s.config.Logger.ErrorContext(ctx, "send a link for a new password", "err", err)
		}
	})
}

func (s *Server) resetByMail(ctx context.Context, r *http.Request, name string) error {
	leads, err := s.config.Store.FindName(ctx, jobs.HashName(name))
	if err != nil {
		return err
	}
	for _, lead := range leads {
		account, err := s.config.Store.FindAccountByName(ctx, lead.Firm, jobs.HashName(name))
		if isNotFound(err) {
			continue
		}
		if err != nil {
			return err
		}
		secret, _, err := s.invite(ctx, lead.Firm, account.Person, events.ID{}, jobs.Reset)
		if err != nil {
			return err
		}
		s.trail.note(lead.Firm, r, jobs.Trace{What: jobs.ResetAsked, About: account.Person})
		if err := s.sendLink(ctx, lead.Firm, account.Name, jobs.Reset, s.invitationLink(r, secret)); err != nil {
			return err
		}
	}
	return nil
}

// sendLink writes a letter with a link.
func (s *Server) sendLink(ctx context.Context, firm events.ID, to string, purpose jobs.Purpose, link string) error {
	f, err := s.config.Store.FindFirm(ctx, firm)
	if err != nil {
		return err
	}
	return s.config.Mail.Send(ctx, to, letterOf(purpose, f.Name, link))
}
