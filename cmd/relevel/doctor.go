package main

import (
	"context"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"relevel/cmd/relevel/doctor"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

var doctorCommand = command{
	name:  "doctor",
	brief: "look over the whole installation, and say what to do",
	usage: "[--data DIR] [--servers N] [--token-file FILE] [--json]",
	about: `Looks at the settings and the files that hold them, the database with its roles and
all that keeps firms apart and the log as it is, photos, the keys that sign, disks and
clocks, and how people reach the server: certificate, proxy, live stream, mail. Each line
says ok, look, or wrong, and below it what to do. The status is 1 when anything is wrong.

Run it on the server's machine, as the account that the server runs as, with the same
settings. The server may run meanwhile; of the embedded default the database is looked at
only while it runs. Nothing is changed: what is tried is rolled back or removed.`,
	env: append(slices.Clone(serverVariables),
		variable{envOwner, "looked at, too, where it is set, as are " + envEraser + " and " + envBackup},
		backupsVariable,
		variable{localpg.BinariesVariable, "the folder of the Postgres that an unconfigured server starts"}),
	examples: []string{"relevel doctor", "relevel doctor --servers 3 --json"},
	new:      func() action { return &doctorAction{} },
}

type doctorAction struct {
	data, token string
	servers     int
	json        bool
}

func (a *doctorAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.IntVar(&a.servers, "servers", 1, "`N` servers share the database, for counting connections")
	fs.StringVar(&a.token, "token-file", "", "try a live stream with the token in `FILE`; without it with that of the data folder, if there is one")
	fs.BoolVar(&a.json, "json", false, "one JSON object a line")
}

func (a *doctorAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	i, err := a.installation(p.env)
	if err != nil {
		return err
	}
	found := doctor.Examine(ctx, i)
	show := doctor.Print
	if a.json {
		show = doctor.PrintJSON
	}
	if err := show(p.stdout, found); err != nil {
		return err
	}
	if doctor.Failed(found) {
		return statusError{status: exitFailed}
	}
	return nil
}

// installation is what the settings say, as far as they can be read.
func (a *doctorAction) installation(env environment) (doctor.Installation, error) {
	set, broken := readSettings(a.data, env)
	i := doctor.Installation{
		Version: version, Env: env, Known: knownSettings(), Broken: broken,
		Data: set.data, Embedded: env[envDatabase]+env[envDatabase+"_FILE"] == "",
		S3: set.s3, URL: set.url, Proxies: set.proxies, Mail: set.mail, Backups: set.backups,
		Servers: a.servers, Now: time.Now,
		More: []doctor.Check{{Group: "Backups", Name: "last", Run: func(context.Context) []doctor.Finding { return lastBackup(set.backups, time.Now()) }}},
	}
	i.Database = databasesOf(i.Embedded, set.data, env)
	if set.data != "" {
		i.Keys = set.signingPath()
	}
	var err error
	i.Token, err = a.readToken(set.data)
	return i, err
}

// databasesOf are the addresses of the private Postgres while it runs, or those that are set.
func databasesOf(embedded bool, data string, env environment) doctor.Addresses {
	if embedded {
		running, err := localpg.FindRunning(filepath.Join(data, "postgres"))
		if err != nil {
			return doctor.Addresses{}
		}
		at := func(role string) string { return running.DSN(role, databaseName) }
		return doctor.Addresses{App: at(pgdb.App), Worker: at(pgdb.Worker), Owner: at(pgdb.Owner), Eraser: at(pgdb.Eraser), Backup: at(pgdb.Backup)}
	}
	read := func(name string) string {
		value, _ := env.value(name) // what cannot be read is said of the file
		return value
	}
	return doctor.Addresses{App: read(envDatabase), Worker: read(envWorker), Owner: read(envOwner), Eraser: read(envEraser), Backup: read(envBackup)}
}

// readToken is the token that was named, or that of the data folder.
func (a *doctorAction) readToken(data string) (string, error) {
	if a.token != "" {
		text, err := os.ReadFile(a.token)
		return strings.TrimSpace(string(text)), err
	}
	if data == "" {
		return "", nil
	}
	first, err := readAccess(accessPath(data))
	if errors.Is(err, os.ErrNotExist) || errors.Is(err, os.ErrPermission) {
		err = nil
	}
	return first.Token, err
}

var settingName = regexp.MustCompile(`RELEVEL_[A-Z0-9_]+[A-Z0-9]`)

// knownSettings are all that some command's help names.
func knownSettings() (all []string) {
	for _, c := range commands() {
		for _, v := range c.env {
			all = append(all, settingName.FindAllString(v.name+" "+v.about, -1)...)
		}
	}
	return all
}
