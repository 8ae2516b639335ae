package backups

import (
	"net/url"
	"slices"
	"strings"

	"relevel/levelling"
)

// ours are words of an address that the programs of Postgres do not know.
var ours = []string{"default_query_exec_mode", "statement_cache_capacity", "description_cache_capacity"}

// forProgram makes of a database's address what a program of Postgres takes: the
// address without its password, which travels in the environment. Command lines are
// seen by everybody on the machine.
func forProgram(dsn string) (address string, env []string, err error) {
	u, err := url.Parse(dsn)
	if err != nil || (u.Scheme != "postgres" && u.Scheme != "postgresql") {
		return "", nil, levelling.Bad("the database's address", "as postgres://role@host/database for this")
	}
	query := u.Query()
	password := query.Get("password")
	if p, given := u.User.Password(); given {
		password = p
	}
	query.Del("password")
	for name := range query {
		if strings.HasPrefix(name, "pool_") || slices.Contains(ours, name) {
			query.Del(name)
		}
	}
	u.RawQuery = query.Encode()
	if u.User != nil {
		u.User = url.User(u.User.Username())
	}
	if password != "" {
		env = append(env, "PGPASSWORD="+password)
	}
	return u.String(), append(env, "PGAPPNAME=relevel_backup", "PGCONNECT_TIMEOUT=10"), nil
}
