package main

import (
	"context"
	"flag"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/levelling"
)

var migrateCommand = command{
	name:  "migrate",
	brief: "bring the database's schema up to date",
	usage: "[--prepare]",
	about: `Works as the role relevel_owner on the database of ` + envOwner + `.
Servers of the version before go on working on the newer schema, so migrate
first and then replace them one by one. Several may be started at once: one
works and the others wait for it.

With --prepare it first makes the roles and the database where they are missing, and
gives each role the password that stands in its address: in that of the owner, and in
` + envDatabase + `, ` + envWorker + `,
` + envEraser + ` and ` + envBackup + ` where they
are set. Passwords are changed by the same: write new ones into the addresses, prepare
again, start the servers again. Postgres is sent what it keeps of a password, never the
password.

The private Postgres of an unconfigured server needs none of this: relevel serve
keeps its schema up to date.`,
	env: []variable{
		{envOwner, "the database, as the role relevel_owner; or " + envOwner + "_FILE"},
		{envAdmin, "with --prepare: the same server as a superuser, for example postgres://postgres@db/postgres; or " + envAdmin + "_FILE"},
		{envDatabase + ", …", "with --prepare: the addresses of the other roles, for their passwords; or …_FILE"},
	},
	examples: []string{
		"RELEVEL_OWNER_DATABASE_URL=postgres://relevel_owner@db/relevel relevel migrate",
		"RELEVEL_ADMIN_DATABASE_URL=postgres://postgres@db/postgres relevel migrate --prepare",
	},
	new: func() action { return &migrateAction{} },
}

type migrateAction struct{ prepare bool }

func (a *migrateAction) flags(fs *flag.FlagSet) {
	fs.BoolVar(&a.prepare, "prepare", false, "first make the roles and the database, where they are missing, and set passwords")
}

func (a *migrateAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	owner, err := p.env.value(envOwner)
	if err != nil {
		return err
	}
	if owner == "" {
		return levelling.Bad(envOwner, "missing: the address of the database to migrate, as the role "+pgdb.Owner)
	}
	if a.prepare {
		if err := prepareDatabase(ctx, p.env, owner); err != nil {
			return err
		}
	}
	if err := pgdb.Migrate(ctx, owner); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "the schema is at version %d\n", pgdb.Latest())
	return err
}

// prepareDatabase makes the roles with their passwords, and the database that the
// owner's address names.
func prepareDatabase(ctx context.Context, env environment, owner string) error {
	admin, err := env.value(envAdmin)
	if err != nil {
		return err
	}
	if admin == "" {
		return levelling.Bad(envAdmin, "missing: the address of the server as a superuser")
	}
	passwords, err := readPasswords(env)
	if err != nil {
		return err
	}
	config, err := pgx.ParseConfig(owner)
	if err != nil {
		return fmt.Errorf("read %s: %w", envOwner, err)
	}
	if err := pgdb.EnsureRoles(ctx, admin); err != nil {
		return err
	}
	if err := pgdb.SetPasswords(ctx, admin, passwords); err != nil {
		return err
	}
	return pgdb.EnsureDatabase(ctx, admin, config.Database)
}
