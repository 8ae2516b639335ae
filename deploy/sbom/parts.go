package main

import (
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// part is something of others that is in the program.
type part struct {
	kind          string // golang or npm, as package URLs say
	name, version string
	sum           string // what go.sum or the lock file says of its content
	dir           string // where it lies on this machine

	licences []string // by their SPDX names
	texts    []string // the licences word for word
}

// purl is its package URL (ECMA-427).
func (p part) purl() string {
	var segments []string
	for segment := range strings.SplitSeq(p.name, "/") {
		segments = append(segments, url.QueryEscape(segment))
	}
	return "pkg:" + p.kind + "/" + strings.Join(segments, "/") + "@" + url.QueryEscape(p.version)
}

// goParts are the modules that the linker put in, and the standard library.
func goParts(info *buildinfo.BuildInfo) ([]part, error) {
	root, err := goCommand("env", "GOROOT")
	if err != nil {
		return nil, err
	}
	parts := []part{{kind: "golang", name: "std", version: strings.TrimPrefix(info.GoVersion, "go"), dir: root}}
	list := []string{"list", "-m", "-f", "{{.Path}}@{{.Version}} {{.Dir}}"}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		parts = append(parts, part{kind: "golang", name: m.Path, version: m.Version, sum: m.Sum})
		list = append(list, m.Path)
	}
	here, err := goCommand(list...)
	if err != nil {
		return nil, err
	}
	dirs := map[string]string{}
	for line := range strings.Lines(here) {
		module, dir, _ := strings.Cut(strings.TrimSpace(line), " ")
		dirs[module] = dir
	}
	for i, p := range parts[1:] {
		if parts[i+1].dir = dirs[p.name+"@"+p.version]; parts[i+1].dir == "" {
			return nil, fmt.Errorf("the program has %s %s, and this tree another or none: build it anew", p.name, p.version)
		}
	}
	return parts, nil
}

func goCommand(args ...string) (string, error) {
	out, err := exec.Command("go", args...).Output()
	if failed, is := errors.AsType[*exec.ExitError](err); is {
		err = fmt.Errorf("%w: %s", err, failed.Stderr)
	}
	return strings.TrimSpace(string(out)), err
}

// npmParts are the packages that the lock file has for more than building and testing:
// those are bundled into the pages' scripts.
func npmParts(web string) ([]part, error) {
	text, err := os.ReadFile(filepath.Join(web, "package-lock.json"))
	if err != nil {
		return nil, err
	}
	var lock struct {
		Packages map[string]struct {
			Version, Integrity string
			Dev, DevOptional   bool
		}
	}
	if err := json.Unmarshal(text, &lock); err != nil {
		return nil, fmt.Errorf("read package-lock.json: %w", err)
	}
	var parts []part
	for _, path := range slices.Sorted(maps.Keys(lock.Packages)) {
		p := lock.Packages[path]
		_, name, within := strings.Cut(path, "node_modules/")
		if !within || p.Dev || p.DevOptional {
			continue
		}
		parts = append(parts, part{kind: "npm", name: name, version: p.Version, sum: p.Integrity, dir: filepath.Join(web, path)})
	}
	return parts, nil
}

// licenceName is how the files of a licence are called.
var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)(-[a-z0-9.]+)?(\.(md|txt|rst))?$`)

// readLicences reads the licence of a part and names it.
func (p *part) readLicences() error {
	entries, err := os.ReadDir(p.dir)
	if err != nil {
		return fmt.Errorf("read the licence of %s: %w", p.name, err)
	}
	for _, e := range entries {
		if e.IsDir() || !licenceName.MatchString(e.Name()) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(p.dir, e.Name()))
		if err != nil {
			return err
		}
		p.texts = append(p.texts, strings.TrimSpace(strings.ReplaceAll(string(text), "\r\n", "\n")))
		p.licences = append(p.licences, nameLicences(string(text))...)
	}
	if len(p.texts) == 0 {
		return fmt.Errorf("%s %s has no licence in %s: it may not be passed on", p.name, p.version, p.dir)
	}
	slices.Sort(p.licences)
	p.licences = slices.Compact(p.licences)
	return nil
}
