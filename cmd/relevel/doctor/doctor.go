// Package doctor looks over a whole installation and says what to do: settings,
// database and its roles, photos, keys, how people reach the server. It changes nothing:
// what it tries is rolled back or removed, and it looks while the server runs.
//
// Each check is bounded in time and rests on no other, so that one thing that is away
// hides nothing else.
package doctor

import (
	"context"
	"fmt"
	"net/netip"
	"runtime/debug"
	"sync"
	"time"

	"relevel/events/pgdb"
	"relevel/events/s3photos"
	"relevel/server/smtpmail"
)

// Verdict says how something stands.
type Verdict string

// The verdicts.
const (
	OK    Verdict = "ok"
	Look  Verdict = "look"  // it works, and somebody should look at it
	Wrong Verdict = "wrong" // it does not work, or something can be lost
)

// Finding is one line of what was found.
type Finding struct {
	Group   string  `json:"group"`
	Check   string  `json:"check"`
	Verdict Verdict `json:"verdict"`
	Says    string  `json:"says"`
	Cure    string  `json:"cure,omitempty"` // what to do
}

// Installation is what there is to look over. What is empty is not set.
type Installation struct {
	Version string            // of this program
	Env     map[string]string // the settings as they were given
	Known   []string          // the names of all settings
	Broken  error             // why the settings cannot be used as a whole

	Data     string // the data folder
	Embedded bool   // with the private Postgres in it
	Database Addresses
	S3       *s3photos.Config
	Keys     string // the file of keys that sign
	Backups  string // the folder of backups
	URL      string // where people reach the server
	Proxies  []netip.Prefix
	Mail     *smtpmail.Config
	Token    string // opens the API, to try a live stream
	Servers  int    // how many share the database
	Now      func() time.Time

	More []Check // of other packages, such as the age of the last backup
}

// Addresses are those of the database, by role.
type Addresses struct{ App, Worker, Owner, Eraser, Backup string }

// Check looks at one thing. What does not concern this installation finds nothing.
type Check struct {
	Group, Name string
	Run         func(ctx context.Context) []Finding
}

// checkTime bounds one check.
const checkTime = 15 * time.Second

// visit is one look over an installation.
type visit struct {
	Installation
	mu      sync.Mutex // a check that ran out of time may still be at it
	opened  map[string]*pgdb.DB
	records *records // of the firms, read once
}

// Examine looks at everything, in the order in which it is told.
func Examine(ctx context.Context, i Installation) []Finding {
	v := &visit{Installation: i, opened: map[string]*pgdb.DB{}}
	defer v.close()
	var all []Finding
	for _, c := range v.checks() {
		for _, f := range bounded(ctx, c, checkTime) {
			f.Group = c.Group
			if f.Check == "" {
				f.Check = c.Name
			}
			all = append(all, f)
		}
	}
	return all
}

func (v *visit) checks() []Check {
	all := v.settingChecks()
	all = append(all, v.machineChecks()...)
	all = append(all, v.databaseChecks()...)
	all = append(all, v.guardChecks()...)
	all = append(all, v.recordChecks()...)
	all = append(all, v.photoChecks()...)
	all = append(all, v.keyChecks()...)
	all = append(all, v.reachChecks()...)
	return append(all, v.More...)
}

// bounded runs a check for a limited time, also one that does not listen.
func bounded(ctx context.Context, c Check, limit time.Duration) []Finding {
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	found := make(chan []Finding, 1)
	go func() {
		defer func() {
			if broken := recover(); broken != nil {
				found <- look("this check broke off: %v\n%s", broken, debug.Stack()).cure("tell who looks after the program")
			}
		}()
		found <- c.Run(ctx)
	}()
	select {
	case f := <-found:
		return f
	case <-ctx.Done():
		return wrong("no answer within %s", limit).cure("see whether what it asks hangs, and look again")
	}
}

func (v *visit) close() {
	v.mu.Lock()
	defer v.mu.Unlock()
	for _, db := range v.opened {
		// A check that hangs may hold a connection; whoever asked is not kept waiting.
		go db.Close()
	}
}

// findings are what a check found; most find one thing.
type findings []Finding

func ok(format string, args ...any) []Finding { return say(OK, format, args...) }

func look(format string, args ...any) findings { return say(Look, format, args...) }

func wrong(format string, args ...any) findings { return say(Wrong, format, args...) }

func say(v Verdict, format string, args ...any) findings {
	return findings{{Verdict: v, Says: fmt.Sprintf(format, args...)}}
}

// cure adds what to do about the last one.
func (f findings) cure(format string, args ...any) []Finding {
	f[len(f)-1].Cure = fmt.Sprintf(format, args...)
	return f
}

// Failed reports whether anything is wrong.
func Failed(all []Finding) bool {
	for _, f := range all {
		if f.Verdict == Wrong {
			return true
		}
	}
	return false
}
