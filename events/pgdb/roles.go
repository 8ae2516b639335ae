package pgdb

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// The roles of the database. Each logs in for itself; the server uses App.
const (
	Owner  = "relevel_owner"  // owns the schema, migrates it
	App    = "relevel_app"    // reads, and adds to the log; sees one firm at a time
	Worker = "relevel_worker" // finds due tasks over all firms, sees no content
	Eraser = "relevel_eraser" // removes the bytes of events at somebody's request
	Backup = "relevel_backup" // reads everything, for dumps
)

// Roles lists all of them.
func Roles() []string { return []string{Owner, App, Worker, Eraser, Backup} }

// EnsureRoles makes the roles that are missing. It needs a superuser, since
// one of them may pass by row security. They have no passwords: over a socket
// the system vouches for the caller, and anywhere else SetPasswords or whoever
// runs the database gives them one.
func EnsureRoles(ctx context.Context, adminDSN string) error {
	conn, err := Connect(ctx, adminDSN)
	if err != nil {
		return fmt.Errorf("connect to make roles: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, role := range Roles() {
		options := "LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE"
		if role == Backup {
			options += " BYPASSRLS"
		}
		if err := ensureRole(ctx, conn, role, options); err != nil {
			return fmt.Errorf("make the role %s: %w", role, err)
		}
	}
	return nil
}

func ensureRole(ctx context.Context, conn *pgx.Conn, role, options string) error {
	var exists bool
	err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)`, role).Scan(&exists)
	if err != nil || exists {
		return err
	}
	_, err = conn.Exec(ctx, "CREATE ROLE "+pgx.Identifier{role}.Sanitize()+" "+options)
	if code := Code(err); code == duplicateObject || code == uniqueViolation {
		return nil // somebody else has just made it
	}
	return err
}

// EnsureDatabase makes a database that belongs to Owner, if it is missing, and
// lets in nobody but the roles.
func EnsureDatabase(ctx context.Context, adminDSN, name string) error {
	conn, err := Connect(ctx, adminDSN)
	if err != nil {
		return fmt.Errorf("connect to make a database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var exists bool
	if err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&exists); err != nil {
		return fmt.Errorf("look for the database %s: %w", name, err)
	}
	quoted := pgx.Identifier{name}.Sanitize()
	if !exists {
		if _, err := conn.Exec(ctx, "CREATE DATABASE "+quoted+" OWNER "+Owner+" ENCODING 'UTF8' TEMPLATE template0"); err != nil {
			return fmt.Errorf("make the database %s: %w", name, err)
		}
	}
	for _, statement := range []string{
		"REVOKE ALL ON DATABASE " + quoted + " FROM PUBLIC",
		"GRANT CONNECT ON DATABASE " + quoted + " TO " + App + ", " + Worker + ", " + Eraser + ", " + Backup,
	} {
		if _, err := conn.Exec(ctx, statement); err != nil {
			return fmt.Errorf("set who may enter the database %s: %w", name, err)
		}
	}
	return nil
}
