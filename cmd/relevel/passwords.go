package main

import (
	"net/url"
	"strings"

	"relevel/events/pgdb"
	"relevel/levelling"
)

// addresses are the variables that each name the database as one of its roles.
var addresses = []struct{ name, role string }{
	{envOwner, pgdb.Owner},
	{envDatabase, pgdb.App},
	{envWorker, pgdb.Worker},
	{envEraser, pgdb.Eraser},
	{envBackup, pgdb.Backup},
}

// readPasswords takes the passwords of the roles out of the addresses that are set. An
// address without one (a socket, a certificate) leaves its role as it is. What else the
// driver would come in with, such as PGPASSWORD, is nobody's word for what a role's
// password shall be.
func readPasswords(env environment) (map[string]string, error) {
	passwords := map[string]string{}
	for _, a := range addresses {
		dsn, err := env.value(a.name)
		if err != nil {
			return nil, err
		}
		user, password, err := signIn(dsn)
		switch {
		case err != nil:
			return nil, levelling.Bad(a.name, "an address such as postgres://"+a.role+":…@db/relevel; a sign in a password that an address reads otherwise is written as % and its code")
		case password == "":
			continue
		case user != a.role:
			return nil, levelling.Bad(a.name, "with the role "+a.role+": that is whose password --prepare sets")
		}
		passwords[a.role] = password
	}
	return passwords, nil
}

// signIn is who an address comes in as, and by which password. One that is written
// otherwise than as a URL says no password here. Its error repeats nothing of it.
func signIn(dsn string) (user, password string, err error) {
	if !strings.HasPrefix(dsn, "postgres://") && !strings.HasPrefix(dsn, "postgresql://") {
		return "", "", nil
	}
	u, err := url.Parse(dsn)
	if err != nil {
		return "", "", err
	}
	password, _ = u.User.Password()
	return u.User.Username(), password, nil
}
