package torture_test

import (
	"bufio"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// program is another process of this test binary that can be killed.
type program struct {
	cmd   *exec.Cmd
	input io.WriteCloser
	said  *bufio.Reader
	ended chan struct{}
	once  sync.Once
}

// run starts the binary as something else. It ends with this process at the latest.
func run(t testing.TB, variable, value string) *program {
	t.Helper()
	p := &program{cmd: exec.Command(os.Args[0]), ended: make(chan struct{})}
	p.cmd.Env = append(os.Environ(), variable+"="+value)
	p.cmd.Stderr = os.Stderr
	out, err := p.cmd.StdoutPipe()
	must(t, err)
	p.said = bufio.NewReader(out)
	p.input, err = p.cmd.StdinPipe()
	must(t, err)
	must(t, p.cmd.Start())
	t.Cleanup(p.kill)
	return p
}

// line reads what the program says first.
func (p *program) line() (string, error) {
	text, err := p.said.ReadString('\n')
	return strings.TrimSpace(text), err
}

// kill ends the program where it stands, and returns when it is gone.
func (p *program) kill() {
	p.once.Do(func() {
		p.cmd.Process.Signal(syscall.SIGKILL)
		p.cmd.Wait()
		close(p.ended)
	})
	<-p.ended
}

// wait lets the program come to its end.
func (p *program) wait() error {
	err := p.cmd.Wait()
	p.once.Do(func() { close(p.ended) })
	return err
}

// startServer starts a server process and returns its address once it listens.
func startServer(t testing.TB, o orders) (*program, string) {
	t.Helper()
	text, err := json.Marshal(o)
	must(t, err)
	p := run(t, beServer, string(text))
	address, err := p.line()
	if err != nil {
		t.Fatalf("a server did not start: %v", err)
	}
	return p, address
}
