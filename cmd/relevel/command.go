package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"strings"
)

// command is one thing the program does, with what its help says.
type command struct {
	name     string
	brief    string // a line of the list
	usage    string // what follows the name
	about    string // what it is for
	env      []variable
	examples []string
	new      func() action
}

// action is a command with its flags. It is made anew for each call.
type action interface {
	flags(fs *flag.FlagSet)
	run(ctx context.Context, p program, args []string) error
}

// variable is a name in the environment that a command reads.
type variable struct{ name, about string }

// commands lists them in the order of the help. It is a function because help
// is one of them and shows them all.
func commands() []command {
	return []command{serveCommand, migrateCommand, firmCommand, accessCommand, readyCommand, doctorCommand, canaryCommand, rebuildCommand, backupCommand, restoreCommand, scrubCommand, keysCommand, exportCommand, verifyCommand, importCommand, eraseCommand, demoCommand, calcCommand, versionCommand, helpCommand}
}

func findCommand(name string) (command, bool) {
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

func commandNames() []string {
	var names []string
	for _, c := range commands() {
		names = append(names, c.name)
	}
	return names
}

var errHelp = flag.ErrHelp

// newFlags prepares the flags of an action. The flag package's own printing is
// off: errors and help are ours.
func newFlags(c command, a action) *flag.FlagSet {
	fs := flag.NewFlagSet(c.name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	a.flags(fs)
	return fs
}

// noFlags is for actions without any.
type noFlags struct{}

func (noFlags) flags(*flag.FlagSet) {}

func asksForHelp(arg string) bool {
	return arg == "-h" || arg == "-help" || arg == "--help"
}

// print writes the help of one command.
func (c command) print(w io.Writer) {
	fmt.Fprintf(w, "relevel %s: %s\n\nUsage: relevel %s\n\n%s\n", c.name, c.brief, strings.TrimSpace(c.name+" "+c.usage), c.about)
	printFlags(w, newFlags(c, c.new()))
	if len(c.env) > 0 {
		fmt.Fprintln(w, "\nEnvironment:")
		named := map[string]bool{}
		for _, v := range c.env {
			if !named[v.name] { // what a command says of its own comes before what all say
				printTerm(w, v.name, v.about)
			}
			named[v.name] = true
		}
	}
	fmt.Fprintln(w, "\nExamples:")
	for _, e := range c.examples {
		fmt.Fprintln(w, "  "+e)
	}
}

func printFlags(w io.Writer, fs *flag.FlagSet) {
	heading := "\nFlags:\n"
	fs.VisitAll(func(f *flag.Flag) {
		value, about := flag.UnquoteUsage(f)
		if f.DefValue != "" && f.DefValue != "false" {
			about += " (" + f.DefValue + " unless given)"
		}
		fmt.Fprint(w, heading)
		heading = ""
		printTerm(w, strings.TrimSpace("--"+f.Name+" "+value), about)
	})
}

// helpWidth is how wide an explanation may run.
const helpWidth = 72

// printTerm writes a name on a line of its own and its explanation below it.
func printTerm(w io.Writer, name, about string) {
	fmt.Fprintln(w, "  "+name)
	line := ""
	for _, word := range strings.Fields(about) {
		if line != "" && len(line)+1+len(word) > helpWidth {
			fmt.Fprintln(w, "      "+line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	fmt.Fprintln(w, "      "+line)
}
