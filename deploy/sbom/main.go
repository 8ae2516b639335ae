// Command sbom says what a built program is made of: a CycloneDX document of the Go
// modules and npm packages that are in it, and one text with all their licences, which
// has to go wherever the program goes.
//
//	go run ./deploy/sbom --version 0.1.0 --web server/web bin/relevel
//
// writes relevel.cdx.json and third-party.txt beside the program. The same program gives
// the same bytes. It reads what the go command and npm have fetched already.
package main

import (
	"debug/buildinfo"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	version := flag.String("version", "unversioned", "the `VERSION` of the program")
	web := flag.String("web", "server/web", "the folder `DIR` of package-lock.json and node_modules")
	also := flag.String("also", "server/pdf/LICENSE.gofonts", "a licence `FILE` of what no module names")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "usage: sbom [--version VERSION] [--web DIR] [--also FILE] PROGRAM")
		os.Exit(2)
	}
	if err := run(flag.Arg(0), *version, *web, *also); err != nil {
		fmt.Fprintln(os.Stderr, "sbom:", err)
		os.Exit(1)
	}
}

func run(program, version, web, also string) error {
	words, err := os.ReadFile(also)
	if err != nil {
		return err
	}
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return fmt.Errorf("read what the program was built from: %w", err)
	}
	parts, err := goParts(info)
	if err != nil {
		return err
	}
	bundled, err := npmParts(web)
	if err != nil {
		return err
	}
	parts = append(parts, bundled...)
	for i := range parts {
		if err := parts[i].readLicences(); err != nil {
			return err
		}
	}
	document, err := cycloneDX(version, parts)
	if err != nil {
		return err
	}
	dir := filepath.Dir(program)
	return errors.Join(
		os.WriteFile(filepath.Join(dir, "relevel.cdx.json"), document, 0o644),
		os.WriteFile(filepath.Join(dir, "third-party.txt"), append(licenceText(parts), words...), 0o644),
	)
}
