package main

import (
	"debug/buildinfo"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const mitWords = "Permission is hereby granted, free of\r\ncharge, to any person obtaining a copy of this software"

// webFolder has a package that is bundled and one that only builds.
func webFolder(t *testing.T, licence string) string {
	t.Helper()
	web := t.TempDir()
	for path, text := range map[string]string{
		"package-lock.json": `{"packages":{"":{"version":"1"},
			"node_modules/@a/b":{"version":"1.2.3","integrity":"sha512-AAEC"},
			"node_modules/builds":{"version":"9.9.9","dev":true}}}`,
		"node_modules/@a/b/" + licence: mitWords,
		"node_modules/@a/b/license.js": "no licence",
	} {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(web, path)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(web, path), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return web
}

// A program of several modules, here the linter, is made of what the document says, each with its licence; and
// the same program gives the same bytes.
func TestRun(t *testing.T) {
	program := filepath.Join(t.TempDir(), "relevel")
	if out, err := exec.Command("go", "build", "-o", program, "honnef.co/go/tools/cmd/staticcheck").CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	also := filepath.Join("..", "..", "server", "pdf", "LICENSE.gofonts")
	var got [2]map[string][]byte
	for i := range got {
		err := run(program, "1.2", webFolder(t, "LICENSE.md"), also)
		if err != nil {
			t.Fatal(err)
		}
		got[i] = map[string][]byte{}
		for _, name := range []string{"relevel.cdx.json", "third-party.txt"} {
			if got[i][name], err = os.ReadFile(filepath.Join(filepath.Dir(program), name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if diff := cmp.Diff(got[0], got[1]); diff != "" {
		t.Errorf("the second time it wrote something else:\n%s", diff)
	}
	var d document
	if err := json.Unmarshal(got[0]["relevel.cdx.json"], &d); err != nil {
		t.Fatal(err)
	}
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"pkg:golang/std@" + strings.TrimPrefix(info.GoVersion, "go")}
	for _, m := range info.Deps {
		want = append(want, "pkg:golang/"+m.Path+"@"+m.Version)
	}
	if want = append(want, "pkg:npm/%40a/b@1.2.3"); len(want) < 3 {
		t.Fatalf("this program is made of %q alone", want)
	}
	if diff := cmp.Diff(want, d.Dependencies[0].DependsOn); diff != "" {
		t.Errorf("it depends on (-want +got):\n%s", diff)
	}
	for _, c := range d.Components {
		if len(c.Licences) == 0 || !strings.Contains(string(got[0]["third-party.txt"]), "\n"+c.Name+" "+c.Version+"\n") {
			t.Errorf("%s: its licence has no name or is not in the text", c.PURL)
		}
	}
	if last := d.Components[len(d.Components)-1]; last.Hashes[0] != (hash{"SHA-512", "000102"}) || last.Licences[0].Licence.ID != "MIT" {
		t.Errorf("the npm package is %+v", last)
	}
	if fonts, err := os.ReadFile(also); err != nil || !strings.HasSuffix(string(got[0]["third-party.txt"]), string(fonts)) {
		t.Errorf("the fonts' licence is missing, %v", err)
	}
}

// What has no licence may not be passed on, so nothing is written.
func TestRunWithoutLicence(t *testing.T) {
	parts, err := npmParts(webFolder(t, "README.md"))
	if err != nil || len(parts) != 1 {
		t.Fatalf("%v, %v", parts, err)
	}
	if err := parts[0].readLicences(); err == nil || !strings.Contains(err.Error(), "@a/b 1.2.3 has no licence") {
		t.Errorf("it has no licence, and the error is %v", err)
	}
}

func TestNameLicences(t *testing.T) {
	for text, want := range map[string][]string{
		mitWords: {"MIT"},
		"Redistributions in binary form must reproduce\n the above copyright notice":                    {"BSD-2-Clause"},
		"Redistributions in binary form must reproduce the above copyright notice. Neither the name of": {"BSD-3-Clause"},
		"All rights reserved": nil,
	} {
		if diff := cmp.Diff(want, nameLicences(text)); diff != "" {
			t.Errorf("%q (-want +got):\n%s", text, diff)
		}
	}
}
