package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"relevel/levelling"
)

var readyCommand = command{
	name:  "ready",
	brief: "ask a running server whether it can work",
	usage: "[--wait TIME] [URL]",
	about: `Asks /readyz of the server at URL, ` + usualServer + ` unless given, and prints what it
says of each thing it rests on. The exit status is 0 when it can work: events are taken,
though photos may have to wait. It is 1 when it cannot, or does not answer.

It is what a container's health check and a package's script call, so it needs no shell
and no settings, and signs in nowhere. On an address of this machine the name in a
certificate does not matter.`,
	examples: []string{"relevel ready", "relevel ready --wait 30s https://levels.example"},
	new:      func() action { return &readyAction{} },
}

const (
	usualServer = "http://127.0.0.1:8080"
	// askTime bounds one question: a server looks at what it rests on for 3 s each.
	askTime   = 10 * time.Second
	askEvery  = 200 * time.Millisecond
	askedSize = 64 << 10
)

type readyAction struct{ wait time.Duration }

func (a *readyAction) flags(fs *flag.FlagSet) {
	fs.DurationVar(&a.wait, "wait", 0, "ask again until it can work, for this `TIME` at most, for example 30s")
}

func (a *readyAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 1 {
		return usagef("takes one URL, and was given %q too", args[1])
	}
	at, err := readyURL(append(args, usualServer)[0])
	if err != nil {
		return err
	}
	client := readyClient(at)
	for until := time.Now().Add(a.wait); ; {
		said, err := askReady(ctx, client, at)
		if err == nil || !time.Now().Before(until) {
			fmt.Fprint(p.stdout, said)
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(askEvery):
		}
	}
}

// readyURL is where a server says whether it can work.
func readyURL(server string) (*url.URL, error) {
	u, err := url.Parse(server)
	if err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") {
		return nil, levelling.Bad("URL", "an address with its scheme, for example "+usualServer)
	}
	if !strings.HasSuffix(u.Path, "/readyz") {
		u = u.JoinPath("readyz")
	}
	return u, nil
}

// readyClient asks without a proxy. On this machine it takes any certificate: it is the
// name of the server's own, and nothing is told that others might not hear.
func readyClient(at *url.URL) *http.Client {
	own := at.Hostname() == "localhost"
	if ip := net.ParseIP(at.Hostname()); ip != nil {
		own = ip.IsLoopback()
	}
	return &http.Client{
		Timeout:       askTime,
		Transport:     &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: own}, DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// askReady asks once. What the server says of what it rests on comes back with the
// error, too.
func askReady(ctx context.Context, client *http.Client, at *url.URL) (said string, err error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, at.String(), nil)
	if err != nil {
		return "", err
	}
	resp, err := client.Do(r)
	if err != nil {
		return "", fmt.Errorf("it does not answer: %w", err)
	}
	defer resp.Body.Close()
	var answer struct {
		Ready  *bool             `json:"ready"`
		Checks map[string]string `json:"checks"`
	}
	if err := json.NewDecoder(io.LimitReader(resp.Body, askedSize)).Decode(&answer); err != nil || answer.Ready == nil {
		return "", fmt.Errorf("no server of ours is at %s: it answers %s", at, resp.Status)
	}
	var lines strings.Builder
	for _, name := range slices.Sorted(maps.Keys(answer.Checks)) {
		fmt.Fprintf(&lines, "%-9s %s\n", oneLine(name), oneLine(answer.Checks[name]))
	}
	if !*answer.Ready || resp.StatusCode != http.StatusOK {
		err = errors.New("it cannot work: what is away has to come back, and the server's log says why")
	}
	return lines.String(), err
}
