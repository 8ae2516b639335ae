package main

import (
	"fmt"
	"maps"
	"os"
	"strings"

	"relevel/levelling"
)

// environment is what the process was started with.
type environment map[string]string

func readEnvironment(env []string) environment {
	e := environment{}
	for _, line := range env {
		name, value, _ := strings.Cut(line, "=")
		e[name] = value
	}
	return e
}

// The names the program reads. Each can also be given as NAME_FILE, the path of a file
// that holds it.
const (
	envDatabase   = "RELEVEL_DATABASE_URL"
	envOwner      = "RELEVEL_OWNER_DATABASE_URL"
	envAdmin      = "RELEVEL_ADMIN_DATABASE_URL"
	envDrain      = "RELEVEL_DRAIN"
	envWorker     = "RELEVEL_WORKER_DATABASE_URL"
	envEraser     = "RELEVEL_ERASER_DATABASE_URL"
	envBackup     = "RELEVEL_BACKUP_DATABASE_URL"
	envBackups    = "RELEVEL_BACKUPS"
	envHookNets   = "RELEVEL_HOOK_NETWORKS"
	envHookPlain  = "RELEVEL_HOOK_HTTP"
	envURL        = "RELEVEL_URL"
	envACME       = "RELEVEL_ACME_URL"
	envACMEMail   = "RELEVEL_ACME_EMAIL"
	envProxies    = "RELEVEL_PROXIES"
	envMail       = "RELEVEL_MAIL_URL"
	envMailFrom   = "RELEVEL_MAIL_FROM"
	envSigning    = "RELEVEL_SIGNING_KEYS"
	envPrivate    = "RELEVEL_PRIVATE"
	envS3Endpoint = "RELEVEL_S3_ENDPOINT"
	envS3Bucket   = "RELEVEL_S3_BUCKET"
	envS3Region   = "RELEVEL_S3_REGION"
	envS3Key      = "RELEVEL_S3_KEY"
	envS3Secret   = "RELEVEL_S3_SECRET"
)

// value returns NAME, or what the file named by NAME_FILE holds. Neither is
// an empty string.
func (e environment) value(name string) (string, error) {
	value, path := e[name], e[name+"_FILE"]
	switch {
	case path == "":
		return value, nil
	case value != "":
		return "", levelling.Bad(name, "set this or "+name+"_FILE, not both")
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("read %s_FILE: %w", name, err)
	}
	return strings.TrimRight(string(text), "\r\n"), nil
}

// filled returns the environment with those of the named settings that files hold.
func (e environment) filled(names ...string) (environment, error) {
	e = maps.Clone(e)
	for _, name := range names {
		value, err := e.value(name)
		if err != nil {
			return nil, err
		}
		e[name] = value
		delete(e, name+"_FILE")
	}
	return e, nil
}

// or returns what the command line gave, and NAME where it gave nothing.
func (e environment) or(given, name string) (string, error) {
	if given != "" {
		return given, nil
	}
	return e.value(name)
}
