package localpg

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// account is the operating system's account that Postgres runs as.
type account struct {
	name     string
	uid, gid int
	switched bool // not the account of this process
}

// chooseAccount picks who runs Postgres, which refuses to run as root. Started
// by anybody else, it is that account. Started by root, it is the owner of the
// data folder if there is one already, otherwise "postgres" or "nobody".
func chooseAccount(dir string) (account, error) {
	uid := os.Geteuid()
	owner, exists := ownerOf(dir)
	if uid != 0 {
		if exists && owner != uid {
			return account{}, fmt.Errorf("%s belongs to %s: start as that account or as root, or choose another data folder", dir, accountName(owner))
		}
		return lookUp(strconv.Itoa(uid), false)
	}
	if exists && owner != 0 {
		return lookUp(strconv.Itoa(owner), true)
	}
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			return lookUp(u.Uid, true)
		}
	}
	return account{}, fmt.Errorf("postgres refuses to run as root and there is no account \"postgres\" or \"nobody\" to run it as: add one, for example with adduser --system postgres")
}

func lookUp(uid string, switched bool) (account, error) {
	u, err := user.LookupId(uid)
	if err != nil {
		return account{}, fmt.Errorf("user id %s has no line in /etc/passwd, which Postgres requires: add one, or start as another user", uid)
	}
	a := account{name: u.Username, switched: switched}
	if a.uid, err = strconv.Atoi(u.Uid); err != nil {
		return account{}, fmt.Errorf("read the user id of %s: %w", u.Username, err)
	}
	if a.gid, err = strconv.Atoi(u.Gid); err != nil {
		return account{}, fmt.Errorf("read the group id of %s: %w", u.Username, err)
	}
	return a, nil
}

func accountName(uid int) string {
	if u, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return u.Username
	}
	return "user id " + strconv.Itoa(uid)
}

func ownerOf(path string) (uid int, exists bool) {
	info, err := os.Lstat(path)
	if err != nil {
		return 0, false
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, false
	}
	return int(stat.Uid), true
}

// credential is what a child needs to become the account; nil when it is us.
func (a account) credential() *syscall.Credential {
	if !a.switched {
		return nil
	}
	return &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid)}
}

// openParents makes the missing parents of dir and reports the first one the
// account cannot pass through.
func (a account) openParents(dir string) error {
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return fmt.Errorf("make the data folder: %w", err)
	}
	for {
		info, err := os.Stat(parent)
		if err != nil {
			return fmt.Errorf("look at the data folder: %w", err)
		}
		if !a.mayEnter(info) {
			return fmt.Errorf("postgres runs as %s, which cannot enter %s: choose a data folder elsewhere (for example /var/lib/relevel), or run chmod o+x %s", a.name, parent, parent)
		}
		if parent == filepath.Dir(parent) {
			return nil
		}
		parent = filepath.Dir(parent)
	}
}

func (a account) mayEnter(info fs.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return true
	}
	switch {
	case int(stat.Uid) == a.uid:
		return info.Mode()&0o100 != 0
	case int(stat.Gid) == a.gid:
		return info.Mode()&0o010 != 0
	default:
		return info.Mode()&0o001 != 0 || !a.switched
	}
}

// own hands a whole folder to the account. It is called only on folders that
// this process made or that belong to root, so nobody else can have put a link
// in the way; links themselves are not followed.
func (a account) own(dir string) error {
	if !a.switched {
		return nil
	}
	return filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(path, a.uid, a.gid)
	})
}

const (
	port       = "5432"
	socketFile = ".s.PGSQL." + port
	// maxSocketPath is what fits into sockaddr_un.sun_path, less its closing
	// zero byte (unix(7)).
	maxSocketPath = 107
)

// socketPlace is where the folder of a data folder's socket lies.
func socketPlace(dir string) string {
	folder := dir + ".sock"
	if len(folder)+1+len(socketFile) > maxSocketPath || strings.Contains(folder, ",") {
		sum := sha256.Sum256([]byte(dir))
		folder = filepath.Join(os.TempDir(), fmt.Sprintf("relevel-%x", sum[:6]))
	}
	return folder
}

// socketFolder returns a folder of mode 0700 that belongs to the account and
// whose socket has a path that can be named: beside the data folder or, when
// that lies too deep or has a comma, which divides hosts in a DSN, in the folder
// for temporary files.
func (a account) socketFolder(dir string) (string, error) {
	folder := socketPlace(dir)
	if n := len(folder) + 1 + len(socketFile); n > maxSocketPath {
		return "", fmt.Errorf("the path of the socket %s would be %d bytes long and Unix allows %d: choose a data folder with a shorter path", folder, n, maxSocketPath)
	}
	if err := os.Mkdir(folder, 0o700); err != nil && !os.IsExist(err) {
		return "", fmt.Errorf("make the socket folder: %w", err)
	}
	// Somebody else's folder or link under our name would let them in between.
	info, err := os.Lstat(folder)
	if err != nil {
		return "", fmt.Errorf("look at the socket folder: %w", err)
	}
	if owner, _ := ownerOf(folder); !info.IsDir() || (owner != a.uid && owner != os.Geteuid()) {
		return "", fmt.Errorf("%s is not a folder of %s: remove it", folder, a.name)
	}
	if err := os.Chmod(folder, 0o700); err != nil {
		return "", fmt.Errorf("close the socket folder to others: %w", err)
	}
	if err := a.own(folder); err != nil {
		return "", fmt.Errorf("hand over the socket folder: %w", err)
	}
	return folder, nil
}
