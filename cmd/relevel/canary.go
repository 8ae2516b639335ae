package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"net/http"
	"time"

	"relevel/cmd/relevel/canary"
	"relevel/cmd/relevel/client"
	"relevel/levelling"
	"relevel/server/metrics"
)

const envCanary = "RELEVEL_CANARY_TOKEN"

var canaryCommand = command{
	name:  "canary",
	brief: "try a running server as a phone would, and say whether it works",
	usage: "[--url URL] [--every TIME] [--private ADDR]",
	about: `Records something through the public API of a running server, reads it back, hears of
it live, waits until it is signed, checks the proof, and sends a photo there and back.
It prints a line for each step, and ends with status 1 when one went wrong.

It is a command of its own because it is to see what a phone sees: names, certificates,
the proxy and the network, from another machine if there is one. With --every it goes
on until it is told to stop, and with --private its figures are at /metrics there.

It speaks for a firm that is its alone, so that nobody meets what it leaves: one small
record a run, a photo of some hundred bytes a day, and a job a month, closed when the
month is over. Make that firm once, with relevel firm add Canary, and give its token;
the token of a firm that has jobs of its own is refused.`,
	env: []variable{
		{envCanary + ", or " + envCanary + "_FILE", "the token of the canary's firm"},
		{envURL, "where the server is, unless --url says it (http://127.0.0.1:8080 without both)"},
	},
	examples: []string{"relevel canary", "relevel canary --url https://levels.example --every 10m --private 127.0.0.1:9091"},
	new:      func() action { return &canaryAction{} },
}

type canaryAction struct {
	url, private string
	every        time.Duration
	log          logFlags
}

func (a *canaryAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.url, "url", "", "try the server at `URL`")
	fs.DurationVar(&a.every, "every", 0, "go on, once in a `TIME` such as 10m; without it once")
	fs.StringVar(&a.private, "private", "", "serve figures on `ADDR`, such as 127.0.0.1:9091; with --every")
	a.log.flags(fs)
}

func (a *canaryAction) run(ctx context.Context, p program, args []string) error {
	token, err := p.env.value(envCanary)
	switch {
	case err != nil:
		return err
	case len(args) > 0:
		return usagef("takes no arguments, and was given %q", args[0])
	case token == "":
		return levelling.Bad(envCanary, "missing: the token of a firm of the canary's own, from relevel firm add Canary")
	case a.every < 0 || a.every == 0 && a.private != "":
		return usagef("--private wants --every with a time such as 10m")
	}
	at, err := p.env.or(a.url, envURL)
	if err != nil {
		return err
	}
	c := client.New(cmp.Or(at, "http://127.0.0.1:8080"), token)
	figures := metrics.NewCanary()
	if a.every == 0 {
		return a.once(ctx, p, c, figures)
	}
	if a.private != "" {
		mux := http.NewServeMux()
		mux.Handle("GET /metrics", figures.Handler())
		port, err := listenPrivate(a.private, mux, a.log.logger(p.stderr))
		if err != nil {
			return err
		}
		defer port.Close()
		fmt.Fprintf(p.stdout, "Figures of the canary: %s/metrics\n", port.url)
	}
	return a.goOn(ctx, p, c, figures)
}

// goOn sings until ctx ends. What goes wrong is printed and counted, and ends nothing,
// but for a token that is the wrong one.
func (a *canaryAction) goOn(ctx context.Context, p program, c *client.Client, figures *metrics.Canary) error {
	tick := time.NewTicker(a.every)
	defer tick.Stop()
	for {
		err := a.once(ctx, p, c, figures)
		if _, wrong := errors.AsType[*levelling.InputError](err); wrong {
			return err
		}
		if err != nil && ctx.Err() == nil {
			fmt.Fprintf(p.stderr, "relevel canary: %v\n", err)
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return nil
		}
	}
}

// once does all steps, and says how each went.
func (a *canaryAction) once(ctx context.Context, p program, c *client.Client, figures *metrics.Canary) error {
	now := time.Now()
	within, cancel := context.WithTimeout(ctx, canary.Patience)
	k, err := canary.New(within, c, now)
	cancel()
	if err != nil {
		for _, name := range canary.Steps() {
			figures.Step(name, false, 0)
		}
		figures.Ran(false, now)
		return err
	}
	var failed []error
	for _, s := range k.Sing(ctx) {
		figures.Step(s.Name, s.Err == nil, s.Took)
		said := "well"
		if s.Err != nil {
			said, failed = "failed", append(failed, s.Err)
		}
		fmt.Fprintf(p.stdout, "%s  %-10s  %5d ms  %s\n", now.UTC().Format(time.RFC3339), s.Name, s.Took.Milliseconds(), said)
	}
	figures.Ran(len(failed) == 0, now)
	return errors.Join(failed...)
}
