package main

import (
	"context"
	"fmt"
	"io"
)

var helpCommand = command{
	name:     "help",
	brief:    "say what the program does, or one command",
	usage:    "[COMMAND]",
	about:    "Without a command it lists them. `relevel COMMAND --help` does the same as `relevel help COMMAND`.",
	examples: []string{"relevel help", "relevel help serve"},
	new:      func() action { return helpAction{} },
}

type helpAction struct{ noFlags }

func (helpAction) run(_ context.Context, p program, args []string) error {
	if len(args) == 0 {
		printOverview(p.stdout)
		return nil
	}
	c, known := findCommand(args[0])
	if !known || len(args) > 1 {
		return usagef("no command %q", args[0])
	}
	c.print(p.stdout)
	return nil
}

func printOverview(w io.Writer) {
	fmt.Fprint(w, `relevel records the re-levelling of timber floors: what each support stands
on, how far each still has to go, what was done and who signed for it.

Usage: relevel COMMAND [FLAGS]

`)
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-9s %s\n", c.name, c.brief)
	}
	fmt.Fprint(w, `
relevel help COMMAND says more. To see a whole job on this screen:
  relevel demo --play
`)
}
