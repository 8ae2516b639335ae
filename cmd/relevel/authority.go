package main

import (
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"time"

	"relevel/deploy/localca"
)

// ownAuthority opens the authority in the data folder, for the names by which
// others on the network reach a listener.
func ownAuthority(data string, l net.Listener) (*localca.Authority, error) {
	a, err := localca.Open(filepath.Join(data, "tls"), ownNames(l), time.Now())
	if err != nil {
		return nil, fmt.Errorf("open the certificate authority: %w", err)
	}
	return a, nil
}

// ownNames are the private names and addresses of this machine, those it listens
// at.
func ownNames(l net.Listener) []string {
	names := []string{"localhost"}
	if host, err := os.Hostname(); err == nil && host != "" {
		names = append(names, host, host+".local")
	}
	at := l.Addr().(*net.TCPAddr).IP
	names = append(names, at.String())
	if at.IsUnspecified() {
		names = append(names, ownAddresses()...)
	}
	return slices.DeleteFunc(names, func(n string) bool { return !localca.MayName(n) })
}

func ownAddresses() (all []string) {
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return nil // those asked for by name work all the same
	}
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok {
			all = append(all, n.IP.String())
		}
	}
	return all
}
