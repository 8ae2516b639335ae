package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"

	"relevel/deploy/localca"
)

// front is the address at which a server is reached: over http behind a proxy that has a
// certificate, or over https with one of its own.
type front struct {
	net.Listener
	url   string
	root  []byte     // the certificate, DER, that browsers have to be told to trust; nil for none
	plain *plainDoor // nil unless plain http leads over to https elsewhere
}

// openFront makes of an address what people reach. The data folder is there by now.
func openFront(ctx context.Context, set settings, l net.Listener, log *slog.Logger) (*front, error) {
	switch {
	case set.tls:
		signed, err := ownAuthority(set.data, l)
		if err != nil {
			return nil, err
		}
		return &front{Listener: localca.Listen(l, signed.Leaf), url: "https://" + hostOf(l), root: signed.Root}, nil
	case set.host != "":
		return openPublic(ctx, set, l, log)
	}
	return &front{Listener: l, url: "http://" + hostOf(l)}, nil
}

// openPublic serves https under a public name. Its certificate is asked for by ACME (RFC
// 8555) at the address itself (RFC 8737), or over plain http where that is served, and
// renewed thirty days before its end; it lies in the data folder.
func openPublic(ctx context.Context, set settings, l net.Listener, log *slog.Logger) (*front, error) {
	m := &autocert.Manager{
		Prompt: autocert.AcceptTOS, HostPolicy: autocert.HostWhitelist(set.host),
		Cache: autocert.DirCache(filepath.Join(set.data, "certificates")), Email: set.acme.email,
	}
	if set.acme.directory != "" {
		m.Client = &acme.Client{DirectoryURL: set.acme.directory}
	}
	config := m.TLSConfig()
	config.MinVersion = tls.VersionTLS12
	f := &front{Listener: tls.NewListener(l, config), url: "https://" + set.host}
	if at := l.Addr().(*net.TCPAddr); at.Port != httpsPort {
		f.url = fmt.Sprintf("https://%s:%d", set.host, at.Port)
	}
	if set.plain != "" {
		var err error
		if f.plain, err = openPlain(set.plain, m.HTTPHandler(leadOver(f.url)), log); err != nil {
			return nil, err
		}
	}
	go askCertificate(ctx, m, set.host, log)
	return f, nil
}

const httpsPort = 443

// askCertificate asks at once, and not when the first phone comes, so that whoever starts
// a server sees what is wrong.
func askCertificate(ctx context.Context, m *autocert.Manager, host string, log *slog.Logger) {
	// As a browser of these days asks: by elliptic curve.
	hello := &tls.ClientHelloInfo{ServerName: host, SupportedVersions: []uint16{tls.VersionTLS13},
		SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256}, CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256}}
	cert, err := m.GetCertificate(hello)
	switch {
	case ctx.Err() != nil:
	case err != nil:
		log.Error("no certificate: does the name lead to this machine, and its port 443 to this address?", "host", host, "err", err)
	default:
		log.Info("certificate", "host", host, "until", cert.Leaf.NotAfter.Format(time.DateOnly))
	}
}

// leadOver sends whoever looks at a page over plain http to the same one over https. What
// was sent is not sent on: it has been read by others already.
func leadOver(url string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "Use https: "+url, http.StatusMethodNotAllowed)
			return
		}
		http.Redirect(w, r, url+r.URL.RequestURI(), http.StatusMovedPermanently)
	})
}

// plainDoor is a port of plain http beside the server's own.
type plainDoor struct{ http *http.Server }

func openPlain(address string, handler http.Handler, log *slog.Logger) (*plainDoor, error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("take the address for plain http: %w", err)
	}
	d := &plainDoor{&http.Server{Handler: handler, ReadHeaderTimeout: headerTime,
		ReadTimeout: headerTime, WriteTimeout: headerTime, IdleTimeout: idleTime, MaxHeaderBytes: headerBytes,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}}
	go func() {
		if err := d.http.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			log.Error("plain http has ended", "err", err)
		}
	}()
	return d, nil
}

// Close ends it; there may be none.
func (d *plainDoor) Close() error {
	if d == nil {
		return nil
	}
	return d.http.Close()
}

// mayHost reports whether a name is one that a public authority may certify: several
// labels, of letters, digits and dashes.
func mayHost(name string) bool {
	if len(name) > 253 || !strings.Contains(name, ".") || net.ParseIP(name) != nil {
		return false
	}
	for _, label := range strings.Split(name, ".") {
		if label == "" || len(label) > 63 || strings.Trim(label, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || strings.Trim(label, "-") != label {
			return false
		}
	}
	return true
}
