// Package localca is a certificate authority for one machine on a firm's own
// network, which no public one signs for: phones there trust its root once and
// then use the server over TLS, as recording on a phone asks for.
//
// The root can sign for nothing but names and addresses of private networks: a
// phone that trusts it is not laid open to anything else. Its key lies in the
// data folder, readable by its owner alone.
package localca

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// How long they are good for. Phones take no certificate of a server that lasts
// longer than 825 days (Apple's rule for roots one has installed, from memory).
const (
	rootYears = 10
	leafDays  = 397
	renewDays = 30
)

// Authority is a root and what it signed for this machine.
type Authority struct {
	Root []byte // the root's certificate, DER: what phones install
	Leaf tls.Certificate
}

// Open reads the authority in a folder, or makes one there. The machine's
// certificate is made anew when its names have changed or it ends soon.
func Open(dir string, names []string, now time.Time) (*Authority, error) {
	root, key, err := openRoot(dir, now)
	if err != nil {
		return nil, err
	}
	leaf, err := openLeaf(dir, root, key, names, now)
	if err != nil {
		return nil, err
	}
	return &Authority{Root: root.Raw, Leaf: *leaf}, nil
}

func openRoot(dir string, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	path := filepath.Join(dir, "root.pem")
	cert, key, err := readPair(path)
	switch {
	case err == nil && now.Before(cert.NotAfter):
		return cert, key, nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, nil, fmt.Errorf("read the root in %s: %w", dir, err)
	}
	host, _ := os.Hostname()
	cert, key, err = sign(&x509.Certificate{
		Subject:  pkix.Name{CommonName: strings.TrimSpace("relevel on " + host)},
		NotAfter: now.AddDate(rootYears, 0, 0),
		IsCA:     true, BasicConstraintsValid: true, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: privateDomains(host), PermittedIPRanges: privateRanges(),
	}, nil, nil, now)
	if err != nil {
		return nil, nil, err
	}
	return cert, key, writePair(path, cert, key)
}

func openLeaf(dir string, root *x509.Certificate, rootKey *ecdsa.PrivateKey, names []string, now time.Time) (*tls.Certificate, error) {
	path := filepath.Join(dir, "server.pem")
	cert, key, err := readPair(path)
	good := err == nil && now.AddDate(0, 0, renewDays).Before(cert.NotAfter) && slices.Equal(namesOf(cert), sorted(names)) && cert.CheckSignatureFrom(root) == nil
	if !good {
		template := &x509.Certificate{
			Subject: pkix.Name{CommonName: "relevel"}, NotAfter: now.AddDate(0, 0, leafDays),
			KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		}
		for _, name := range names {
			if ip := net.ParseIP(name); ip != nil {
				template.IPAddresses = append(template.IPAddresses, ip)
			} else {
				template.DNSNames = append(template.DNSNames, name)
			}
		}
		if cert, key, err = sign(template, root, rootKey, now); err != nil {
			return nil, err
		}
		if err := writePair(path, cert, key); err != nil {
			return nil, err
		}
	}
	return &tls.Certificate{Certificate: [][]byte{cert.Raw, root.Raw}, PrivateKey: key, Leaf: cert}, nil
}

// sign makes a key and a certificate of it; without a parent it signs itself.
func sign(template, parent *x509.Certificate, parentKey *ecdsa.PrivateKey, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("make a key: %w", err)
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, nil, fmt.Errorf("make a serial number: %w", err)
	}
	template.SerialNumber, template.NotBefore = serial, now.Add(-time.Hour) // clocks of phones differ
	if parent == nil {
		parent, parentKey = template, key
	}
	der, err := x509.CreateCertificate(rand.Reader, template, parent, &key.PublicKey, parentKey)
	if err != nil {
		return nil, nil, fmt.Errorf("sign a certificate: %w", err)
	}
	cert, err := x509.ParseCertificate(der)
	return cert, key, err
}

// privateDomains are the names that the root may sign for.
func privateDomains(host string) []string {
	domains := []string{"localhost", "local", "lan", "home.arpa", "internal"}
	if host != "" && !strings.Contains(host, ".") {
		domains = append(domains, host)
	}
	return domains
}

// privateRanges are the addresses: RFC 1918, RFC 4193, loopback and link-local.
func privateRanges() []*net.IPNet {
	var ranges []*net.IPNet
	for _, cidr := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16", "::1/128", "fc00::/7", "fe80::/10"} {
		_, r, err := net.ParseCIDR(cidr)
		if err != nil {
			panic(err) // a constant of this file
		}
		ranges = append(ranges, r)
	}
	return ranges
}

// MayName tells whether the root could sign for a name or an address.
func MayName(name string) bool {
	if ip := net.ParseIP(name); ip != nil {
		return slices.ContainsFunc(privateRanges(), func(r *net.IPNet) bool { return r.Contains(ip) })
	}
	host, _ := os.Hostname()
	return slices.ContainsFunc(privateDomains(host), func(d string) bool { return name == d || strings.HasSuffix(name, "."+d) })
}

func namesOf(c *x509.Certificate) []string {
	names := slices.Clone(c.DNSNames)
	for _, ip := range c.IPAddresses {
		names = append(names, ip.String())
	}
	return sorted(names)
}

func sorted(names []string) []string { return slices.Compact(slices.Sorted(slices.Values(names))) }

// readPair reads a certificate and its key from one file.
func readPair(path string) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	pair, err := tls.X509KeyPair(text, text)
	if err != nil {
		return nil, nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, nil, fmt.Errorf("%s holds a key of another kind", path)
	}
	cert, err := x509.ParseCertificate(pair.Certificate[0])
	return cert, key, err
}

// writePair writes both into one file that its owner alone can read, whole or
// not at all.
func writePair(path string, cert *x509.Certificate, key *ecdsa.PrivateKey) error {
	der, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		return fmt.Errorf("write a key: %w", err)
	}
	text := slices.Concat(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert.Raw}), pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: der}))
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("write a certificate: %w", err)
	}
	if err := os.WriteFile(path+".new", text, 0o600); err != nil {
		return fmt.Errorf("write a certificate: %w", err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		return fmt.Errorf("write a certificate: %w", err)
	}
	return nil
}
