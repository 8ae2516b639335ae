package server

import (
	"context"
	"net/http"
	"time"
)

// Mailer sends letters. Send returns when another server took the letter over, or why
// none did.
type Mailer interface {
	Send(ctx context.Context, to string, l Letter) error
}

// Letter is what is sent.
type Letter struct {
	Subject string
	Text    string
}

// mailTime is how long handing a letter over may take.
const mailTime = 20 * time.Second

// invitationLink is the address of a one-time link. What stands behind the # is sent
// to no server, so that it reaches no log.
func (s *Server) invitationLink(r *http.Request, secret string) string {
	return s.address(r) + "/invitation#" + secret
}

// address is where people reach this server: as it was told, or else as whoever asks
// has reached it. Letters go by what it was told alone, because anybody can say in a
// request what they reached.
func (s *Server) address(r *http.Request) string {
	switch {
	case s.config.URL != "":
		return s.config.URL
	case isHTTPS(r):
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// mails reports whether letters can be sent.
func (s *Server) mails() bool { return s.config.Mail != nil && s.config.URL != "" }
