package pgtest

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// private is a server of this process in a folder of its own.
type private struct {
	*localpg.Server
	folder string
}

func (p private) stop() error {
	err := p.Stop()
	os.RemoveAll(p.folder)
	return err
}

// start runs a server on a copy of the cached data folder, made first if this
// is the first run with this version and these migrations.
func start(ctx context.Context, scratch bool) (*cluster, private, error) {
	name, err := templateName()
	if err != nil {
		return nil, private{}, err
	}
	data, err := cachedData(name)
	if err != nil {
		return nil, private{}, err
	}
	p, err := run(ctx, scratch, func(dir string) error {
		err := os.CopyFS(dir, os.DirFS(data))
		if err != nil || !scratch {
			return err
		}
		return letMoreIn(dir)
	})
	if err != nil {
		return nil, private{}, err
	}
	return &cluster{template: name, dsn: p.DSN}, p, nil
}

// letMoreIn lets a server that all tests of a process share have the connections of
// many: each test has pools as large as a whole installation.
func letMoreIn(dir string) error {
	f, err := os.OpenFile(filepath.Join(dir, "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteString("max_connections = 400\n")
	return errors.Join(err, f.Close())
}

// startLogged is start of a scratch server whose log somebody reads.
func startLogged(ctx context.Context, log io.Writer) (*cluster, private, error) {
	name, err := templateName()
	if err != nil {
		return nil, private{}, err
	}
	data, err := cachedData(name)
	if err != nil {
		return nil, private{}, err
	}
	p, err := run(ctx, true, func(dir string) error { return os.CopyFS(dir, os.DirFS(data)) }, log)
	return &cluster{template: name, dsn: p.DSN}, p, err
}

// run starts a server in a new folder which fill may put data into. The folder
// lies where any account can reach it, and is removed when this process has
// ended, whatever way it ends.
func run(ctx context.Context, scratch bool, fill func(dir string) error, log ...io.Writer) (private, error) {
	folder, err := os.MkdirTemp("", "relevel-pgtest-")
	if err != nil {
		return private{}, fmt.Errorf("make a folder for tests: %w", err)
	}
	if err := removeAfterUs(folder); err != nil {
		return private{}, err
	}
	if err := os.Chmod(folder, 0o755); err != nil {
		return private{}, fmt.Errorf("open the folder for tests: %w", err)
	}
	dir := filepath.Join(folder, "postgres")
	if err := fill(dir); err != nil {
		return private{}, fmt.Errorf("copy the data folder for tests: %w", err)
	}
	server, err := localpg.Start(ctx, localpg.Config{Dir: dir, Roles: pgdb.Roles(), Scratch: scratch, Log: io.MultiWriter(log...)})
	if err != nil {
		return private{}, err
	}
	return private{Server: server, folder: folder}, nil
}

// startAgain starts a durable server on the data of one that has ended.
func (p *private) startAgain(ctx context.Context) (err error) {
	p.Server, err = localpg.Start(ctx, localpg.Config{Dir: filepath.Join(p.folder, "postgres"), Roles: pgdb.Roles()})
	return err
}

// removeAfterUs leaves behind a shell that waits for the end of this process,
// seen as the end of its input, and of the server, and then removes the folder.
func removeAfterUs(folder string) error {
	const script = `read nothing
tries=0
while pid=$(head -n 1 "$1/postgres/postmaster.pid" 2>/dev/null) && kill -0 "$pid" 2>/dev/null && [ $tries -lt 300 ]; do
	sleep 0.1
	tries=$((tries + 1))
done
rm -rf "$1"`
	cmd := exec.Command("/bin/sh", "-c", script, "sh", folder)
	cmd.Dir = "/"
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	input, err := cmd.StdinPipe()
	if err != nil {
		return fmt.Errorf("watch over the folder for tests: %w", err)
	}
	watchers.Store(folder, input)
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("watch over the folder for tests: %w", err)
	}
	return nil
}

// watchers holds the inputs of the shells, which the collector would close.
var watchers sync.Map

// cachedData returns a cleanly stopped data folder that holds the template.
// Processes that start at the same time wait for the first.
func cachedData(name string) (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = filepath.Join(os.TempDir(), fmt.Sprintf("relevel-cache-%d", os.Getuid()))
	}
	cache = filepath.Join(cache, "relevel-test")
	if err := os.MkdirAll(cache, 0o700); err != nil {
		return "", fmt.Errorf("make the cache folder for tests: %w", err)
	}
	lock, err := os.OpenFile(filepath.Join(cache, "lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return "", fmt.Errorf("lock the cache folder for tests: %w", err)
	}
	defer lock.Close()
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		return "", fmt.Errorf("lock the cache folder for tests: %w", err)
	}
	data := filepath.Join(cache, name)
	if _, err := os.Stat(data); err == nil {
		return data, nil
	}
	return data, buildData(name, data)
}

func buildData(name, data string) error {
	p, err := run(context.Background(), true, func(string) error { return nil })
	if err != nil {
		return err
	}
	c := &cluster{template: name, dsn: p.DSN}
	err = c.ensureTemplate(func(context.Context, *pgx.Conn) error { return nil })
	if stopErr := p.Stop(); err == nil {
		err = stopErr
	}
	defer os.RemoveAll(p.folder)
	if err != nil {
		return err
	}
	fresh := data + ".new"
	if err := os.RemoveAll(fresh); err != nil {
		return fmt.Errorf("clear an unfinished copy: %w", err)
	}
	if err := os.CopyFS(fresh, os.DirFS(filepath.Join(p.folder, "postgres"))); err != nil {
		return fmt.Errorf("keep the data folder for tests: %w", err)
	}
	return os.Rename(fresh, data)
}

// templateName changes whenever what a template holds would.
func templateName() (string, error) {
	version, err := localpg.Version()
	if err != nil {
		return "", err
	}
	h := sha256.New()
	fmt.Fprintln(h, version, strings.Join(pgdb.Roles(), " "))
	err = fs.WalkDir(pgdb.Migrations(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(pgdb.Migrations(), path)
		fmt.Fprintf(h, "%s %d %s", path, len(text), text)
		return err
	})
	if err != nil {
		return "", fmt.Errorf("read the migrations: %w", err)
	}
	return fmt.Sprintf("relevel_template_%x", h.Sum(nil)[:8]), nil
}
