package main

import (
	"context"
	"fmt"
	"runtime"
)

var versionCommand = command{
	name:     "version",
	brief:    "print which build this is",
	about:    "Prints one line: the version of the program and what it was built with and for.",
	examples: []string{"relevel version"},
	new:      func() action { return versionAction{} },
}

type versionAction struct{ noFlags }

func (versionAction) run(_ context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	_, err := fmt.Fprintf(p.stdout, "relevel %s %s %s/%s\n", version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}
