package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"relevel/events/pgdb/localpg"
)

var serveCommand = command{
	name:  "serve",
	brief: "run the server",
	usage: "[--listen ADDR] [--data DIR] [--tls | --host NAME [--plain ADDR]] [--private ADDR] [--drain TIME]",
	about: `With nothing configured it starts a private Postgres from the binaries that are
installed on this machine, keeps events and photos in the data folder, and prints a
link with which the first person names the firm and makes their account. That is
for one machine, and for trying it.

Configured by the environment it uses any Postgres and any S3 server. It then
changes nothing about the database's schema: relevel migrate does that.

With --tls it serves https for phones on the firm's own network: it makes a
certificate authority in the data folder, which can sign for private names and
addresses alone, and its page /trust, which is also there over plain http, hands
the root to a phone. Behind a proxy that has a certificate leave it out.

With --host it serves https under a public name, without a proxy: it has a public
authority certify the name by ACME, agrees to that authority's terms for you, keeps the
certificate in the data folder and renews it. The name has to lead to this machine, and
port 443 of it to the address that is served. --plain leads those who come over plain
http to https. It is for one server: several stand behind a balancer with a certificate.

With --private it serves a second port, for those who run it and not for the public:
/metrics for Prometheus, /debug/pprof/ for profiles, /healthz and /readyz. That port
asks nobody who they are. deploy/WATCHING.md says what to watch for.

On SIGINT or SIGTERM it finishes the requests that are running and stops what it
started; a second signal ends it at once. Where several servers stand behind a balancer
give --drain twice the time between two of its looks at /readyz: for so long a server that
was told to stop says there that it is leaving, answers all the same, and has live streams
come again elsewhere, so that nobody sees it go. After a crash or kill -9 start it again: whatever was acknowledged is
there.`,
	env:      append(slices.Clone(serverVariables), variable{localpg.BinariesVariable, "the folder of the Postgres to start where there are several, for example /usr/lib/postgresql/17/bin. Without it the one on PATH, or the newest in Debian's places."}),
	examples: []string{"relevel serve", "relevel serve --listen :8080 --data /srv/relevel", "relevel serve --listen :8443 --tls", "relevel serve --listen :443 --host levels.example --plain :80", "relevel serve --private 127.0.0.1:9090", "RELEVEL_DATABASE_URL=postgres://relevel_app@db/relevel relevel serve"},
	new:      func() action { return &serveAction{} },
}

type serveAction struct {
	listen, data string
	private      string
	tls          bool
	host, plain  string
	drain        time.Duration
	log          logFlags
}

func (a *serveAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.listen, "listen", "127.0.0.1:8080", "serve on `ADDR`; port 0 picks a free one")
	fs.StringVar(&a.private, "private", "", privateFlag)
	fs.StringVar(&a.data, "data", "", "keep data in the folder `DIR`; "+usualData)
	fs.BoolVar(&a.tls, "tls", false, "serve https with a certificate authority of its own, kept in the data folder")
	fs.StringVar(&a.host, "host", "", "serve https as `NAME`, with a certificate that a public authority gives for it")
	fs.StringVar(&a.plain, "plain", "", "lead from plain http on `ADDR` over to --host, for example :80")
	fs.DurationVar(&a.drain, "drain", 0, "go on for a `TIME` after a signal to stop, for a balancer to see it; at once unless given here or by "+envDrain)
	a.log.flags(fs)
}

const privateFlag = "serve figures and profiles on `ADDR`, such as 127.0.0.1:9090, to those who run the server; nowhere unless given"

const usualData = "without it $XDG_DATA_HOME/relevel or ~/.local/share/relevel, and " + machineData + " for root"

func (a *serveAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	set, err := readSettings(a.data, p.env)
	if err != nil {
		return err
	}
	if err := a.secure(&set); err != nil {
		return err
	}
	set.private = cmp.Or(a.private, set.private)
	if a.drain < 0 || a.drain > mostDrain {
		return usagef("--drain takes up to %s", mostDrain)
	}
	if a.drain > 0 {
		set.drain = a.drain
	}
	log := a.log.logger(p.stderr)
	i, err := start(ctx, set, a.listen, log)
	switch {
	case err == nil:
	case ctx.Err() != nil:
		log.Info("told to stop before it served", "err", err)
		return nil
	default:
		return err
	}
	err = a.greet(ctx, p.stdout, set, i)
	switch {
	case err == nil:
		err = i.wait(ctx)
	case ctx.Err() != nil:
		// It was told to stop while it said how to enter: that is no failure.
		err = nil
	}
	i.log.Info("stopping")
	if err == nil {
		i.Drain(set.drain)
	}
	return errors.Join(err, i.Close())
}

// secure says by which certificate it serves, if any.
func (a *serveAction) secure(set *settings) error {
	set.tls, set.host, set.plain = a.tls, strings.ToLower(a.host), a.plain
	switch {
	case set.host != "" && !mayHost(set.host):
		return usagef("--host takes a public name such as levels.example, not %q", a.host)
	case set.host != "" && set.tls:
		return usagef("--tls and --host are two ways to a certificate: give one")
	case set.plain != "" && set.host == "":
		return usagef("--plain leads over to --host, which is not given")
	}
	return nil
}

// greet says where the server is, and for the embedded default how to enter.
func (a *serveAction) greet(ctx context.Context, w io.Writer, set settings, i *instance) error {
	fmt.Fprintf(w, "relevel %s serves at %s\n", version, i.url)
	if i.private != nil {
		fmt.Fprintf(w, "Figures for those who run it: %s/metrics\n", i.private.url)
	}
	if set.tls {
		fmt.Fprintf(w, "Phones on this network trust it once: open http%s/trust there.\n", strings.TrimPrefix(i.url, "https"))
	}
	if !set.embedded() {
		return nil
	}
	first, err := firstAccess(ctx, set.data, "My firm", "", i.stores.jobs)
	if err != nil {
		return err
	}
	link, err := first.begin(ctx, accessPath(set.data), i.stores.jobs, time.Now())
	if err != nil {
		return err
	}
	if link == "" {
		fmt.Fprintf(w, "Sign in:  %s/enter\n", i.url)
		return nil
	}
	fmt.Fprintf(w, "Begin:  %s\nWhoever follows the link first names the firm and makes its first account. It opens once,\nwithin seven days. A token for programs is in %s.\n",
		invitationLink(set.publicURL(i.url), link), accessPath(set.data))
	return nil
}

// invitationLink is a link at which somebody makes an account. What stands behind the #
// never reaches a log.
func invitationLink(url, secret string) string { return url + "/invitation#" + secret }

// enterLink is a link that signs a browser in. What stands behind the # never
// reaches a log.
func enterLink(url, token string) string { return url + "/enter#" + token }
