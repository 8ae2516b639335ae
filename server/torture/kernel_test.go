package torture_test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"syscall"
	"unsafe"

	"golang.org/x/sys/unix"
)

// kernel runs a program and looks at each of its system calls that touches a folder.
type kernel struct {
	folder string
	disk   *disk
	trap   *trap
	under  map[int]*call // by thread
}

// call is a system call under way.
type call struct {
	number int64
	kind   uint64
	path   string
}

// watched are the calls by which a folder changes, each with a file of the folder first.
var watched = map[uint64]bool{
	unix.SYS_OPENAT: true, unix.SYS_MKDIRAT: true, unix.SYS_RENAMEAT: true, unix.SYS_RENAMEAT2: true,
	unix.SYS_UNLINKAT: true, unix.SYS_WRITE: true, unix.SYS_PWRITE64: true, unix.SYS_COPY_FILE_RANGE: true,
	unix.SYS_FSYNC: true, unix.SYS_FDATASYNC: true, unix.SYS_FTRUNCATE: true,
}

// run runs this binary as something else, to its end or the trap's, and returns the
// lines that it said.
func (k *kernel) run(variable, value string) (said []string, err error) {
	// A program is traced by the thread that started it, and by no other.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	k.under = map[int]*call{}
	mouth, ear, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer mouth.Close()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), variable+"="+value)
	cmd.Stdout, cmd.Stderr = ear, os.Stderr
	cmd.SysProcAttr = &syscall.SysProcAttr{Ptrace: true}
	err = cmd.Start()
	ear.Close()
	if err != nil {
		return nil, fmt.Errorf("trace a program: %w", err)
	}
	pid := cmd.Process.Pid
	k.trap.kill = func() { syscall.Kill(pid, syscall.SIGKILL) }
	if err := k.follow(pid); err != nil {
		k.trap.kill()
		return nil, err
	}
	text, err := io.ReadAll(mouth)
	return strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")[:strings.Count(string(text), "\n")], err
}

// follow lets a program run from call to call until it is gone.
func (k *kernel) follow(pid int) error {
	var status syscall.WaitStatus
	if _, err := syscall.Wait4(pid, &status, syscall.WALL, nil); err != nil {
		return err
	}
	const options = unix.PTRACE_O_TRACESYSGOOD | unix.PTRACE_O_TRACECLONE | unix.PTRACE_O_EXITKILL
	if err := syscall.PtraceSetOptions(pid, options); err != nil {
		return fmt.Errorf("trace a program: %w", err)
	}
	if err := syscall.PtraceSyscall(pid, 0); err != nil {
		return err
	}
	for {
		thread, err := syscall.Wait4(-1, &status, syscall.WALL|syscall.WNOTHREAD, nil)
		if errors.Is(err, syscall.EINTR) {
			continue
		}
		switch {
		case err != nil:
			return err
		case thread == pid && (status.Exited() || status.Signaled()):
			return nil
		case !status.Stopped():
			continue // a thread has ended
		}
		signal := 0
		switch s := status.StopSignal(); s {
		case syscall.SIGTRAP | 0x80:
			if err := k.stopped(thread); err != nil && !k.trap.over() {
				return err
			}
		case syscall.SIGTRAP, syscall.SIGSTOP: // a thread has begun
		default:
			signal = int(s)
		}
		_ = syscall.PtraceSyscall(thread, signal) // it may have been killed
	}
}

// syscallInfo is struct ptrace_syscall_info of the kernel, the same on all processors.
type syscallInfo struct {
	op   uint8
	_    [7]byte
	_    [2]uint64
	data [8]uint64 // of an entry: the number and six arguments
}

const (
	ptraceGetSyscallInfo = 0x420e
	callBegins           = 1
	callEnds             = 2
)

// stopped looks at a call that begins or ends.
func (k *kernel) stopped(thread int) error {
	var info syscallInfo
	_, _, errno := syscall.Syscall6(syscall.SYS_PTRACE, ptraceGetSyscallInfo, uintptr(thread), unsafe.Sizeof(info), uintptr(unsafe.Pointer(&info)), 0, 0)
	if errno != 0 {
		return fmt.Errorf("look at a system call: %w", errno)
	}
	if info.op == callBegins {
		return k.begins(thread, info.data[0], info.data[1])
	}
	if c := k.under[thread]; info.op == callEnds && c != nil {
		delete(k.under, thread)
		return k.ends(c)
	}
	return nil
}

func (k *kernel) begins(thread int, kind, file uint64) error {
	if !watched[kind] {
		return nil
	}
	path, err := os.Readlink(fmt.Sprintf("/proc/%d/fd/%d", thread, int32(file)))
	if err != nil || path != k.folder && !strings.HasPrefix(path, k.folder+"/") {
		return nil // of another folder, or none
	}
	c := &call{number: k.trap.count(), kind: kind, path: path}
	k.under[thread] = c
	if k.trap.is(c.number, before) {
		k.trap.spring()
	}
	return nil
}

func (k *kernel) ends(c *call) error {
	if c.kind == unix.SYS_FSYNC || c.kind == unix.SYS_FDATASYNC {
		if err := k.disk.sync(c.path); err != nil {
			return err
		}
	}
	if k.trap.is(c.number, after) {
		k.trap.spring()
	}
	return nil
}

func inode(path string) uint64 {
	var s syscall.Stat_t
	if err := syscall.Lstat(path, &s); err != nil {
		return 0
	}
	return s.Ino
}
