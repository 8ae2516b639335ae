package doctor

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// certificateDays is how long before its end a certificate ought to have been renewed.
const certificateDays = 14

// certificate looks at what is shown to browsers.
func (v *visit) certificate(ctx context.Context) []Finding {
	u, err := url.Parse(v.URL)
	if err != nil || u.Scheme != "https" {
		return nil
	}
	at := u.Host
	if u.Port() == "" {
		at = net.JoinHostPort(u.Hostname(), "443")
	}
	dialer := tls.Dialer{Config: &tls.Config{ServerName: u.Hostname(), InsecureSkipVerify: true}} // it is checked below, in words
	conn, err := dialer.DialContext(ctx, "tcp", at)
	if err != nil {
		return nil // said above
	}
	defer conn.Close()
	shown := conn.(*tls.Conn).ConnectionState().PeerCertificates
	return v.judge(shown, u.Hostname())
}

func (v *visit) judge(shown []*x509.Certificate, name string) []Finding {
	between := x509.NewCertPool()
	for _, c := range shown[1:] {
		between.AddCert(c)
	}
	_, err := shown[0].Verify(x509.VerifyOptions{DNSName: name, Roots: v.roots(), Intermediates: between, CurrentTime: v.Now()})
	var unknown x509.UnknownAuthorityError
	var other x509.HostnameError
	var invalid x509.CertificateInvalidError
	end := shown[0].NotAfter.Format("2 January 2006")
	switch {
	case errors.As(err, &other):
		return wrong("it is not for %s", name).cure("have one made for this name; its own are %s", strings.Join(shown[0].DNSNames, ", "))
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		return wrong("it ended, or has not begun: it is good from %s to %s", shown[0].NotBefore.Format("2 January 2006"), end).cure("renew it, and look at the clock")
	case errors.As(err, &unknown):
		return wrong("nobody whom browsers know has signed it").cure("send the certificates between it and the root along; or have phones trust your own root, at /trust")
	case err != nil:
		return wrong("browsers refuse it: %v", err).cure("have another made")
	}
	return untilEnd("it is for "+name, shown[0], v.Now())
}

func untilEnd(what string, c *x509.Certificate, now time.Time) []Finding {
	end := c.NotAfter.Format("2 January 2006")
	if now.AddDate(0, 0, certificateDays).After(c.NotAfter) {
		return look("%s, and ends on %s", what, end).cure("see why it was not renewed")
	}
	return ok("%s, until %s", what, end)
}

// authority is that of --tls, in the data folder.
func (v *visit) authority(context.Context) []Finding {
	text, err := os.ReadFile(filepath.Join(v.Data, "tls", "root.pem"))
	if err != nil {
		return nil
	}
	c, err := firstCertificate(text)
	if err != nil {
		return wrong("the root in %s cannot be read: %v", filepath.Join(v.Data, "tls"), err).cure("put it back from its copy; with another, each phone has to trust it anew at /trust")
	}
	return untilEnd("phones trust the root in "+filepath.Join(v.Data, "tls"), c, v.Now())
}

// firstCertificate is the first one in a file that may also hold its key.
func firstCertificate(text []byte) (*x509.Certificate, error) {
	for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
		if block.Type == "CERTIFICATE" {
			return x509.ParseCertificate(block.Bytes)
		}
	}
	return nil, errors.New("there is no certificate in it")
}
