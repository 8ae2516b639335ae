package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo/play"
	"relevel/events"
)

var demoCommand = command{
	name:  "demo",
	brief: "show an invented house: served to a browser, or played on this screen",
	usage: "[--listen ADDR] [--data DIR] | --play",
	about: `Serves four invented jobs with four crews: one under way with a support on a
jack and one out, one that has stopped before the first lift, one whose crew went
home without ending the day, and one that was handed over and is closed. When it
is ready it prints one line of JSON with the url, the main job and a token, and
then what to look at.

With --play a crew does one whole job on this screen, through the API of a server
of its own: survey, rounds of jacking, a misreading, a stop, the final packers,
the signatures. The floor is simulated; what the crew decides comes from the
server's answers. It ends with status 1 when the floor is not as was agreed.

Both need the programs of Postgres on this machine and nothing else. Everything
in them is invented.`,
	examples: []string{"relevel demo --play", "relevel demo", "relevel demo --listen 127.0.0.1:8090 --data /tmp/relevel-demo"},
	new:      func() action { return &demoAction{} },
}

type demoAction struct {
	listen, data string
	private      string
	play         bool
	log          logFlags
}

func (a *demoAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.listen, "listen", "", "serve on `ADDR`; 127.0.0.1:8080 without it, and a free port with --play")
	fs.StringVar(&a.data, "data", "", "keep data in the folder `DIR` for the next time; without it a temporary one is used and removed")
	fs.StringVar(&a.private, "private", "", privateFlag)
	fs.BoolVar(&a.play, "play", false, "play one whole job on this screen, and end")
	fs.BoolVar(&a.log.json, "log-json", false, "log JSON, one object a line, instead of text")
	a.log.quiet = true
}

func (a *demoAction) run(ctx context.Context, p program, args []string) error {
	switch {
	case len(args) > 0:
		return usagef("takes no arguments, and was given %q", args[0])
	case a.play && a.data != "":
		return usagef("--play takes no --data: it works in a temporary folder")
	case a.listen == "" && a.play:
		a.listen = "127.0.0.1:0"
	case a.listen == "":
		a.listen = "127.0.0.1:8080"
	}
	dir, remove, err := a.folder()
	if err != nil {
		return err
	}
	return errors.Join(a.serve(ctx, p, dir), remove())
}

// folder is where the demo keeps its data, and what to do with it at the end.
func (a *demoAction) folder() (dir string, remove func() error, err error) {
	if a.data != "" {
		dir, err = filepath.Abs(a.data)
		return dir, func() error { return nil }, err
	}
	if dir, err = os.MkdirTemp("", "relevel-demo-"); err != nil {
		return "", nil, fmt.Errorf("make a temporary folder: %w", err)
	}
	// Postgres, which may run as another account, has to pass through it.
	if err := os.Chmod(dir, 0o711); err != nil {
		return "", nil, fmt.Errorf("open the temporary folder: %w", err)
	}
	return dir, func() error { return os.RemoveAll(dir) }, nil
}

// serve runs a server on a folder for as long as the demo lasts.
func (a *demoAction) serve(ctx context.Context, p program, dir string) error {
	d, err := openDiary(dir)
	if err != nil {
		return err
	}
	var story <-chan told
	if !a.play {
		story = d.prepare(ctx)
	}
	i, err := start(ctx, settings{data: dir, private: a.private}, a.listen, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	err = a.show(ctx, p, i, d, story)
	if err != nil && ctx.Err() != nil {
		err = nil // told to stop on the way
	}
	return errors.Join(err, i.Close())
}

func (a *demoAction) show(ctx context.Context, p program, i *instance, d *diary, story <-chan told) error {
	first, err := firstAccess(ctx, d.dir, "Demo firm", "Robin Hart", i.stores.jobs)
	if err != nil {
		return err
	}
	c := client.New(i.url, first.Token)
	if a.play {
		return play.Run(ctx, c, p.stdout, time.Now())
	}
	if err := d.load(ctx, c, story); err != nil {
		return err
	}
	owner, err := c.Share(ctx, d.Job, "the owner")
	if err != nil {
		return err
	}
	if err := greetVisitor(p.stdout, c, d.Job, owner); err != nil {
		return err
	}
	return i.wait(ctx)
}

// greetVisitor prints the line for programs and then those for people.
func greetVisitor(w io.Writer, c *client.Client, job events.ID, owner string) error {
	line, err := json.Marshal(struct {
		URL   string    `json:"url"`
		Job   events.ID `json:"job"`
		Token string    `json:"token"`
	}{c.URL, job, c.Token})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, `%s

The demo is ready. Everything in it is invented.
  Enter      %s
  Main job   %s/jobs/%s
  Its owner  %s
Look at the support that is on a jack and the one that is out, at the support
B3-4, which was misread on the second day of jacking, and at the book with its
photos. The other jobs: one stopped before the first lift, one
whose crew went home without ending the day, and one handed over and closed. Two
records wait under Kept apart, and a phone has not sent all it has.
End with Ctrl-C.
`, line, enterLink(c.URL, c.Token), c.URL, job, owner)
	return err
}
