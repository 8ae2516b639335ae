package doctor

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"relevel/events/proof"
	"relevel/server/signing"
)

// keyYears is after how long it is time to think of another key.
const keyYears = 5

func (v *visit) keyChecks() []Check {
	return []Check{
		{"Keys", "file", v.keyFile},
		{"Keys", "last checkpoints", v.lastSigned},
	}
}

func (v *visit) keyFile(context.Context) []Finding {
	info, err := os.Stat(v.Keys)
	if errors.Is(err, fs.ErrNotExist) {
		return look("%s is not there yet, so nothing is signed", v.Keys).
			cure("the first start of the server makes it; if there was one, put it back from its copy: what is signed with another does not continue in the eyes of those who know the old one")
	}
	if err != nil {
		return wrong("%s cannot be looked at: %v", v.Keys, plain(err)).cure("give it to the account that the server runs as")
	}
	if info.Mode().Perm()&0o077 != 0 {
		return wrong("%s may be read by others (%04o), who can sign in the server's name", v.Keys, info.Mode().Perm()).
			cure("chmod 600 %s, then relevel keys new, hand out the new public half, and relevel keys retire the old one", v.Keys)
	}
	keys, err := v.ring()
	if err != nil {
		return wrong("%s cannot be used: %v", v.Keys, err).cure("put it back from its copy")
	}
	return keyAge(keys, v.Now())
}

func (v *visit) ring() ([]signing.Key, error) {
	ring, err := signing.Find(v.Keys)
	if err != nil {
		return nil, err
	}
	return ring.Keys()
}

func keyAge(keys []signing.Key, now time.Time) []Finding {
	var inUse []string
	var newest time.Time
	for _, k := range keys {
		if k.Secret != "" {
			inUse = append(inUse, k.ID())
			if k.From.After(newest) {
				newest = k.From
			}
		}
	}
	if len(inUse) == 0 {
		return wrong("no key is in use, so nothing is signed").cure("relevel keys new")
	}
	if now.After(newest.AddDate(keyYears, 0, 0)) {
		return look("%s has signed since %s", strings.Join(inUse, ", "), newest.Format("January 2006")).
			cure("relevel keys new, hand out the new public half, then relevel keys retire the old one")
	}
	return ok("%s, closed to others; it is in no database: keep a copy apart", strings.Join(inUse, ", "))
}

// lastSigned compares who signed last with the keys that are here. A server that was
// moved without its keys signs with another, and nobody would be told.
func (v *visit) lastSigned(context.Context) []Finding {
	keys, err := v.ring()
	read := v.known()
	if err != nil || read == nil || len(read.notes) == 0 {
		return nil
	}
	for _, note := range read.notes {
		signed, err := proof.Peek(note)
		if err != nil {
			return wrong("a checkpoint cannot be read: %v", err).cure("look at the job's page, and compare with a backup")
		}
		by := slices.Concat(signed.By, signed.Unknown)
		known := slices.ContainsFunc(by, func(s proof.Signature) bool {
			return slices.ContainsFunc(keys, func(k signing.Key) bool { return k.ID() == s.String() })
		})
		if !known {
			return wrong("the last checkpoint of a firm was signed by %v, which is not in %s", by, v.Keys).
				cure("put that file of keys back, or set RELEVEL_SIGNING_KEYS to the one that the servers use")
		}
	}
	return ok("those of %s were signed by these keys", counted(len(read.notes), "firm"))
}
