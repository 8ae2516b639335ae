package server

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"slices"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"relevel/events"
	"relevel/jobs"
)

// owner is somebody who has passkeys. The handle that lies with the passkey leads to
// the firm and the person, so that signing in asks for no name.
type owner struct {
	firm, person events.ID
	name, shown  string
	keys         []jobs.Passkey
	credentials  []webauthn.Credential
}

// WebAuthnID implements webauthn.User.
func (o owner) WebAuthnID() []byte { return slices.Concat(o.firm[:], o.person[:]) }

// WebAuthnName implements webauthn.User.
func (o owner) WebAuthnName() string { return o.name }

// WebAuthnDisplayName implements webauthn.User.
func (o owner) WebAuthnDisplayName() string { return o.shown }

// WebAuthnCredentials implements webauthn.User.
func (o owner) WebAuthnCredentials() []webauthn.Credential { return o.credentials }

// ownerOf finds somebody's passkeys.
func (s *Server) ownerOf(r *http.Request, firm, person events.ID) (owner, error) {
	o := owner{firm: firm, person: person}
	account, err := s.config.Store.FindAccount(r.Context(), firm, person)
	if err != nil {
		return o, err
	}
	o.name = account.Name
	if o.keys, err = s.config.Store.ListPasskeys(r.Context(), firm, person); err != nil {
		return o, err
	}
	for _, k := range o.keys {
		var c webauthn.Credential
		if err := json.Unmarshal(k.Credential, &c); err != nil {
			return o, fmt.Errorf("read passkey %s: %w", k.ID, err)
		}
		o.credentials = append(o.credentials, c)
	}
	return o, nil
}

// relyingParty is this server under the name by which it was reached: a browser uses a
// passkey at the name it was made for, and nowhere else.
func (s *Server) relyingParty(r *http.Request) (*webauthn.WebAuthn, error) {
	scheme := "http://"
	if isHTTPS(r) {
		scheme = "https://"
	}
	host := r.Host
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	party, err := webauthn.New(&webauthn.Config{
		RPID: host, RPDisplayName: "relevel", RPOrigins: []string{scheme + r.Host},
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: protocol.ResidentKeyRequired(),
			UserVerification: protocol.VerificationRequired,
		},
		AttestationPreference: protocol.PreferNoAttestation,
	})
	if err != nil {
		return nil, refuse(http.StatusConflict, "Passkeys need this server to have a name: open it by that, not by a number.")
	}
	return party, nil
}

// ask keeps what a browser is asked to have signed, for whichever server gets the
// answer.
func (s *Server) ask(r *http.Request, session *webauthn.SessionData) error {
	body, err := json.Marshal(session)
	if err != nil {
		return fmt.Errorf("keep a challenge: %w", err)
	}
	now := s.stamp()
	c := jobs.Challenge{Hash: sha256.Sum256([]byte(session.Challenge)), Body: body, ExpiresAt: now.Add(jobs.ChallengeLasts)}
	return s.config.Store.KeepChallenge(r.Context(), c, now)
}

// errPasskey does not tell what was wrong with an answer.
var errPasskey = refuse(http.StatusUnprocessableEntity, "This passkey opens nothing here, or it took too long: try again.")

// asked returns what an answer belongs to, and forgets it.
func (s *Server) asked(r *http.Request, challenge string) (session webauthn.SessionData, err error) {
	c, err := s.config.Store.TakeChallenge(r.Context(), sha256.Sum256([]byte(challenge)), s.stamp())
	if isNotFound(err) {
		return session, errPasskey
	}
	if err != nil {
		return session, err
	}
	if err := json.Unmarshal(c.Body, &session); err != nil {
		return session, fmt.Errorf("read a challenge: %w", err)
	}
	return session, nil
}

// postEnterOptions is POST /enter/passkey/options: what a browser has to have signed,
// by whichever passkey its owner chooses.
func (p *pages) postEnterOptions(w http.ResponseWriter, r *http.Request) error {
	if err := p.doors.addresses.enter(r.Context(), p.senderNetwork(r)); err != nil {
		return err
	}
	party, err := p.relyingParty(r)
	if err != nil {
		return err
	}
	options, session, err := party.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return fmt.Errorf("ask for a passkey: %w", err)
	}
	if err := p.ask(r, session); err != nil {
		return err
	}
	return reply(w, http.StatusOK, options)
}

// postEnterPasskey is POST /enter/passkey.
func (p *pages) postEnterPasskey(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Credential json.RawMessage `json:"credential"`
	}
	if err := decode(w, r, &in); err != nil {
		return err
	}
	if err := p.doors.addresses.enter(r.Context(), p.senderNetwork(r)); err != nil {
		return err
	}
	o, credential, err := p.checkAnswer(r, in.Credential)
	if err != nil {
		return err
	}
	if err := p.usePasskey(r, o, credential); err != nil {
		return err
	}
	if err := p.signInAs(w, r, jobs.Account{Firm: o.firm, Person: o.person}, "by passkey"); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// checkAnswer finds who signed what was asked.
func (p *pages) checkAnswer(r *http.Request, answer []byte) (o owner, c *webauthn.Credential, err error) {
	party, err := p.relyingParty(r)
	if err != nil {
		return o, nil, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return o, nil, errPasskey
	}
	session, err := p.asked(r, parsed.Response.CollectedClientData.Challenge)
	if err != nil {
		return o, nil, err
	}
	var away error // the store's own trouble, which is nobody's wrong passkey
	find := func(_, handle []byte) (webauthn.User, error) {
		if len(handle) != len(o.firm)+len(o.person) {
			return nil, events.ErrNotFound
		}
		o, away = p.ownerOf(r, events.ID(handle[:16]), events.ID(handle[16:]))
		return o, away
	}
	_, c, err = party.ValidatePasskeyLogin(find, session, parsed)
	switch {
	case away != nil && !isNotFound(away):
		return o, nil, away
	case err != nil:
		return o, nil, errPasskey
	}
	return o, c, nil
}

// usePasskey keeps the passkey's counter. One that went back was copied: it opens
// nothing, and the office can see that.
func (p *pages) usePasskey(r *http.Request, o owner, c *webauthn.Credential) error {
	if c.Authenticator.CloneWarning {
		p.trail.note(o.firm, r, jobs.Trace{What: jobs.SignInFailed, About: o.person, Detail: "a passkey that was copied"})
		return errPasskey
	}
	for i, known := range o.credentials {
		if string(known.ID) != string(c.ID) {
			continue
		}
		body, err := json.Marshal(c)
		if err != nil {
			return fmt.Errorf("keep a passkey: %w", err)
		}
		k := o.keys[i]
		k.Credential, k.UsedAt = body, p.stamp()
		return p.config.Store.UsePasskey(r.Context(), k)
	}
	return errPasskey
}

// postPasskeyOptions is POST /account/passkeys/options: what a browser has to make.
func (p *pages) postPasskeyOptions(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	if err := p.needFresh(r); err != nil {
		return err
	}
	party, err := p.relyingParty(r)
	if err != nil {
		return err
	}
	if _, err := p.ownAccount(r, firm); err != nil {
		return err
	}
	o, err := p.ownerOf(r, firm, who(r).person.ID)
	if err != nil {
		return err
	}
	o.shown = who(r).person.Name
	exclude := make([]protocol.CredentialDescriptor, len(o.credentials))
	for i, c := range o.credentials {
		exclude[i] = c.Descriptor()
	}
	options, session, err := party.BeginRegistration(o, webauthn.WithExclusions(exclude))
	if err != nil {
		return fmt.Errorf("ask for a new passkey: %w", err)
	}
	if err := p.ask(r, session); err != nil {
		return err
	}
	return reply(w, http.StatusOK, options)
}

// postPasskey is POST /account/passkeys.
func (p *pages) postPasskey(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var in struct {
		Name       string          `json:"name"`
		Credential json.RawMessage `json:"credential"`
	}
	if err := decode(w, r, &in); err != nil {
		return err
	}
	if err := p.needFresh(r); err != nil {
		return err
	}
	if err := jobs.CheckPasskeyName(in.Name); err != nil {
		return err
	}
	party, err := p.relyingParty(r)
	if err != nil {
		return err
	}
	o, err := p.ownerOf(r, firm, who(r).person.ID)
	if err != nil {
		return err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(in.Credential)
	if err != nil {
		return errPasskey
	}
	session, err := p.asked(r, parsed.Response.CollectedClientData.Challenge)
	if err != nil {
		return err
	}
	c, err := party.CreateCredential(o, session, parsed)
	if err != nil {
		return errPasskey
	}
	return p.keepPasskey(w, r, o, in.Name, c)
}

func (p *pages) keepPasskey(w http.ResponseWriter, r *http.Request, o owner, name string, c *webauthn.Credential) error {
	body, err := json.Marshal(c)
	if err != nil {
		return fmt.Errorf("keep a passkey: %w", err)
	}
	k := jobs.Passkey{Firm: o.firm, Person: o.person, Name: name, Credential: body, CreatedAt: p.stamp()}
	if err := p.nameIt(&k.ID); err != nil {
		return err
	}
	if err := p.config.Store.CreatePasskey(r.Context(), k); err != nil {
		return err
	}
	p.trail.note(o.firm, r, jobs.Trace{What: jobs.PasskeyAdded})
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// postPasskeyRemove is POST /account/passkeys/remove.
func (p *pages) postPasskeyRemove(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, err := events.ParseID(r.PostFormValue("passkey"))
	if err != nil {
		return refuse(http.StatusNotFound, "There is no such passkey.")
	}
	account, err := p.ownAccount(r, firm)
	if err != nil {
		return err
	}
	keys, err := p.config.Store.ListPasskeys(r.Context(), firm, account.Person)
	if err != nil {
		return err
	}
	if account.Password == "" && len(keys) == 1 {
		return refuse(http.StatusConflict, "Set a password first, or add another passkey: nothing else opens your account.")
	}
	if err := p.config.Store.DeletePasskey(r.Context(), firm, account.Person, id); err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.PasskeyGone})
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}
