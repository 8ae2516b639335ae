package doctor

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"relevel/server/smtpmail"
)

func (v *visit) reachChecks() []Check {
	all := []Check{
		{"Reach", "address", v.address},
		{"Reach", "certificate", v.certificate},
		{"Reach", "own authority", v.authority},
		{"Reach", "proxy", v.proxy},
		{"Reach", "live stream", v.stream},
		{"Reach", "clock", v.clockThere},
	}
	if v.Mail != nil {
		all = append(all, Check{"Reach", "mail", v.mail})
	}
	return all
}

// client asks as a browser would, and follows nothing.
func (v *visit) client() *http.Client {
	return &http.Client{
		Transport:     &http.Transport{Proxy: http.ProxyFromEnvironment, DisableKeepAlives: true, DisableCompression: true, TLSClientConfig: &tls.Config{RootCAs: v.roots()}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// roots are those of the machine and that of the data folder, which phones were given.
func (v *visit) roots() *x509.CertPool {
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if own, err := os.ReadFile(filepath.Join(v.Data, "tls", "root.pem")); err == nil {
		pool.AppendCertsFromPEM(own)
	}
	return pool
}

// ask gets a page by the address that people use.
func (v *visit) ask(ctx context.Context, path string) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, v.URL+path, nil)
	if err != nil {
		return nil, err
	}
	if strings.HasPrefix(path, "/api/") {
		r.Header.Set("Authorization", "Bearer "+v.Token)
	}
	return v.client().Do(r)
}

// address asks the server at the address that people use which it is and how it is.
func (v *visit) address(ctx context.Context) []Finding {
	if v.URL == "" {
		if v.Embedded {
			return nil
		}
		return look("nobody said where people reach the server").cure("set RELEVEL_URL: letters and commands make links with it")
	}
	var health struct{ Status, Version string }
	if status, err := v.read(ctx, "/healthz", &health); err != nil || health.Status != "ok" {
		return wrong("no server of ours answers at %s: %s", v.URL, because(status, err)).
			cure("see that it runs, that the name leads here, and that whatever stands before it passes requests on")
	}
	var ready struct {
		Ready  bool
		Checks map[string]string
	}
	if _, err := v.read(ctx, "/readyz", &ready); err != nil || !ready.Ready {
		return wrong("the server at %s cannot work: %v", v.URL, ready.Checks).cure("see the lines above, and what it logs")
	}
	switch {
	case health.Version != v.Version:
		return look("the server at %s is relevel %s, and this program is %s", v.URL, health.Version, v.Version).cure("replace the older of the two")
	case strings.HasPrefix(v.URL, "http:") && !loopback(v.URL):
		return look("%s is not encrypted: phones record nothing over it", v.URL).cure("put a proxy with a certificate before it, or start it with --tls")
	}
	return ok("relevel %s answers at %s, and can work", health.Version, v.URL)
}

func loopback(address string) bool {
	u, err := url.Parse(address)
	return err == nil && (u.Hostname() == "localhost" || net.ParseIP(u.Hostname()).IsLoopback())
}

func (v *visit) read(ctx context.Context, path string, into any) (status string, err error) {
	resp, err := v.ask(ctx, path)
	if err != nil {
		return "", err
	}
	defer resp.Body.Close()
	return resp.Status, json.NewDecoder(io.LimitReader(resp.Body, 64<<10)).Decode(into)
}

func because(status string, err error) string {
	if status != "" {
		return "it answers " + status
	}
	var address *url.Error
	if errors.As(err, &address) {
		err = address.Err
	}
	return fmt.Sprint(err)
}

// proxy looks whether somebody stands between, who then has to be named: otherwise all
// people come from one address, which limits and the trail go by.
func (v *visit) proxy(ctx context.Context) []Finding {
	if v.URL == "" {
		return nil
	}
	resp, err := v.ask(ctx, "/healthz")
	if err != nil {
		return nil
	}
	resp.Body.Close()
	between := resp.Header.Get("Via") + resp.Header.Get("Server") // a server of ours says neither
	switch {
	case between != "" && len(v.Proxies) == 0:
		return look("%s stands before the server, and nobody is believed who somebody is: all people count as one address", strings.TrimSpace(between)).
			cure("set RELEVEL_PROXIES to the addresses from which it asks, and have it set X-Forwarded-For")
	case between != "":
		return ok("%s stands before the server, and is believed from %v", strings.TrimSpace(between), v.Proxies)
	}
	return nil
}

// streamTime is how long the first words of a live stream may take. They are sent as
// soon as it opens; a proxy that gathers answers would keep them.
var streamTime = 10 * time.Second

func (v *visit) stream(ctx context.Context) []Finding {
	if v.URL == "" || v.Token == "" {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, streamTime)
	defer cancel()
	resp, err := v.ask(ctx, "/api/v1/live")
	if err == nil {
		defer resp.Body.Close()
		if resp.StatusCode == http.StatusUnauthorized {
			return look("it was not tried: the token does not open the API there").cure("make one with relevel firm token, and name it with --token-file")
		}
		if resp.StatusCode == http.StatusOK {
			_, err = io.ReadFull(resp.Body, make([]byte, 1))
		}
	}
	if err != nil || resp.StatusCode != http.StatusOK {
		return wrong("nothing comes within %s of opening one, so pages do not follow the work", streamTime).
			cure("have the proxy pass text/event-stream on at once: proxy_buffering off, or flush_interval -1")
	}
	return ok("it comes as it is sent")
}

func (v *visit) clockThere(ctx context.Context) []Finding {
	if v.URL == "" {
		return nil
	}
	before := v.Now()
	resp, err := v.ask(ctx, "/healthz")
	if err != nil {
		return nil
	}
	resp.Body.Close()
	there, err := http.ParseTime(resp.Header.Get("Date"))
	if err != nil {
		return nil
	}
	return compareClocks("the server's", there, before.Truncate(time.Second), v.Now()) // the header has whole seconds
}

// mail says good day to the mail server, and signs in where it asks for it.
func (v *visit) mail(ctx context.Context) []Finding {
	if err := smtpmail.New(*v.Mail).Greet(ctx); err != nil {
		return wrong("the mail server %s does not take us: %v", v.Mail.Host, err).cure("see RELEVEL_MAIL_URL: host, port, name and password, and whether it can be reached from here")
	}
	return ok("the mail server %s takes us; no letter was sent", v.Mail.Host)
}
