package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"

	"relevel/levelling"
	"relevel/levelling/calc"
)

var calcCommand = command{
	name:  "calc",
	brief: "reckon with one of the calculators: JSON in, JSON out",
	usage: "[--explain] NAME",
	about: `Reads one JSON object from standard input and prints the answer as one JSON
object. Bad input prints nothing there, one line on standard error that names
the field and what it takes, and ends with status 2.

The calculators:
` + calculatorList(),
	examples: []string{
		`echo '{"width_mm":2.5}' | relevel calc crack`,
		"relevel calc --explain book",
	},
	new: func() action { return &calcAction{} },
}

func calculatorList() string {
	var b strings.Builder
	for _, name := range calc.Names() {
		about, _ := calc.About(name) // its only error is an unknown name
		fmt.Fprintf(&b, "  %-9s %s\n", name, about)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

type calcAction struct{ explain bool }

func (a *calcAction) flags(fs *flag.FlagSet) {
	fs.BoolVar(&a.explain, "explain", false, "print what the calculator takes and answers, with an example, and reckon nothing")
}

// maxCalcBytes is the longest input: a level run of a few thousand rows.
const maxCalcBytes = 4 << 20

func (a *calcAction) run(_ context.Context, p program, args []string) error {
	if len(args) != 1 {
		return usagef("name one calculator: %s", strings.Join(calc.Names(), ", "))
	}
	answer, err := a.answer(p, args[0])
	if errors.Is(err, calc.ErrUnknown) {
		return usageError{err}
	}
	if err != nil {
		return err
	}
	_, err = io.WriteString(p.stdout, answer)
	return err
}

func (a *calcAction) answer(p program, name string) (string, error) {
	help, err := calc.Help(name) // also says whether there is one of that name, before input is waited for
	if err != nil || a.explain {
		return help, err
	}
	in, err := io.ReadAll(io.LimitReader(p.stdin, maxCalcBytes+1))
	if err != nil {
		return "", fmt.Errorf("read the input: %w", err)
	}
	if len(in) > maxCalcBytes {
		return "", levelling.Bad("input", "one JSON object of at most 4 MiB")
	}
	out, err := calc.Run(name, in)
	return string(out) + "\n", err
}
