// Command relevel records re-levelling jobs: it serves the job pages and the
// API, prepares the database, plays a whole job on one screen, and reckons what
// a crew reckons. `relevel help` lists what it does.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	_ "time/tzdata" // a job's times are shown in its own zone, also on a machine without zone files

	"relevel/levelling"
)

// The exit statuses.
const (
	exitOK       = 0
	exitFailed   = 1 // something did not work
	exitBadInput = 2 // what was asked for makes no sense
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	os.Exit(run(ctx, os.Args[1:], os.Environ(), os.Stdin, os.Stdout, os.Stderr))
}

// run is the whole program with its surroundings as arguments. It returns the
// exit status.
func run(ctx context.Context, args, env []string, stdin io.Reader, stdout, stderr io.Writer) int {
	p := program{env: readEnvironment(env), stdin: stdin, stdout: stdout, stderr: stderr}
	name, rest := "help", []string{}
	if len(args) > 0 {
		name, rest = args[0], args[1:]
	}
	if asksForHelp(name) {
		name = "help"
	}
	c, known := findCommand(name)
	if !known {
		fmt.Fprintf(stderr, "relevel: no command %q: it is one of %s\n", name, strings.Join(commandNames(), ", "))
		return exitBadInput
	}
	return p.report(c, p.invoke(ctx, c, rest))
}

// program is what a command may touch of the world outside.
type program struct {
	env            environment
	stdin          io.Reader
	stdout, stderr io.Writer
}

// invoke reads a command's flags and runs it.
func (p program) invoke(ctx context.Context, c command, args []string) error {
	a := c.new()
	fs := newFlags(c, a)
	err := fs.Parse(args)
	switch {
	case errors.Is(err, errHelp):
		c.print(p.stdout)
		return nil
	case err != nil:
		return usageError{err}
	}
	return a.run(ctx, p, fs.Args())
}

// report writes an error as one line and picks the exit status.
func (p program) report(c command, err error) int {
	if err == nil {
		return exitOK
	}
	var usage usageError
	var bad *levelling.InputError
	var status statusError
	switch {
	case errors.As(err, &status):
		if status.error != nil {
			fmt.Fprintf(p.stderr, "relevel %s: %v\n", c.name, err)
		}
		return status.status
	case errors.As(err, &usage):
		fmt.Fprintf(p.stderr, "relevel %s: %v (see relevel help %s)\n", c.name, err, c.name)
		return exitBadInput
	case errors.As(err, &bad):
		fmt.Fprintf(p.stderr, "relevel %s: %v\n", c.name, oneLine(bad.Error()))
		return exitBadInput
	}
	fmt.Fprintf(p.stderr, "relevel %s: %v\n", c.name, err)
	return exitFailed
}

// statusError ends the program with a status of its own; without an error all was said.
type statusError struct {
	status int
	error
}

func (s statusError) Unwrap() error { return s.error }

// usageError is a command line that makes no sense.
type usageError struct{ error }

func (u usageError) Unwrap() error { return u.error }

func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
