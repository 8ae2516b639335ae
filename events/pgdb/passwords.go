package pgdb

import (
	"context"
	"crypto/hmac"
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// scramIterations is what Postgres itself takes (scram_iterations).
const scramIterations = 4096

// ErrPassword is a password that no role is given.
var ErrPassword = errors.New("a password is printable ASCII, for example that of openssl rand -hex 24")

// SetPasswords gives roles their passwords, by the name of the role. It needs a
// superuser, or who made the roles. The server is sent what it keeps (SCRAM-SHA-256,
// RFC 5803) and never sees a password, so that none stands in its log. It may be called
// again, also by several at once; connections that are open stay so. Passwords other than
// printable ASCII are ErrPassword: what else they are is spelled by each program its way.
func SetPasswords(ctx context.Context, adminDSN string, passwords map[string]string) error {
	statements, err := passwordStatements(passwords)
	if err != nil || len(statements) == 0 {
		return err
	}
	conn, err := Connect(ctx, adminDSN)
	if err != nil {
		return fmt.Errorf("connect to set passwords: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		// Postgres fails one of two that change a role at once.
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, migrateLock); err != nil {
			return fmt.Errorf("lock the roles: %w", err)
		}
		for role, statement := range statements {
			if _, err := tx.Exec(ctx, statement); err != nil {
				return fmt.Errorf("set the password of the role %s: %w", role, err)
			}
		}
		return nil
	})
}

func passwordStatements(passwords map[string]string) (map[string]string, error) {
	statements := map[string]string{}
	for role, password := range passwords {
		if password == "" || strings.ContainsFunc(password, func(c rune) bool { return c < ' ' || c > '~' }) {
			return nil, fmt.Errorf("the role %s: %w", role, ErrPassword)
		}
		verifier, err := scramVerifier(password)
		if err != nil {
			return nil, err
		}
		statements[role] = "ALTER ROLE " + pgx.Identifier{role}.Sanitize() + " PASSWORD '" + verifier + "'"
	}
	return statements, nil
}

// scramVerifier is what Postgres keeps of a password (pg_authid.rolpassword), in letters
// that need no quoting.
func scramVerifier(password string) (string, error) {
	salt := make([]byte, 16)
	rand.Read(salt)
	salted, err := pbkdf2.Key(sha256.New, password, salt, scramIterations, sha256.Size)
	if err != nil {
		return "", fmt.Errorf("derive a key from a password: %w", err)
	}
	stored := sha256.Sum256(keyed(salted, "Client Key"))
	text := base64.StdEncoding.EncodeToString
	return fmt.Sprintf("SCRAM-SHA-256$%d:%s$%s:%s", scramIterations, text(salt), text(stored[:]), text(keyed(salted, "Server Key"))), nil
}

func keyed(key []byte, text string) []byte {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(text))
	return mac.Sum(nil)
}
