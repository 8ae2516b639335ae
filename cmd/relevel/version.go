package main

import (
	"context"
	"fmt"
	"runtime"
)

// release is the version of this program, in one place: what `relevel version`,
// /healthz and the phone's app show. It is raised by the commit that is then tagged
// with it; DEVELOPERS.md says how a release is made.
const release = "0.1.0"

// build is stamped by the Makefile: empty in the tree that is tagged with the
// release, otherwise the commit it was built from.
var build = "unstamped"

// version is what this build calls itself.
var version = fullVersion(release, build)

// fullVersion is a release as it was tagged, or one on the way there with its
// commit, in the form of semver.org's build metadata.
func fullVersion(release, build string) string {
	if build == "" {
		return release
	}
	return release + "+" + build
}

var versionCommand = command{
	name:  "version",
	brief: "print which build this is",
	about: `Prints one line: the version of the program and what it was built with and for.
A version with a plus was built from the commit behind it, and is no release.`,
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
