package depstest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strconv"
	"strings"
)

// file is one parsed Go file and the import path of its package.
type file struct {
	name   string
	pkg    string
	syntax *ast.File
	fset   *token.FileSet
}

// parseTree reads the Go files below dir that are not tests, leaving out the
// folders that the go command leaves out, and node_modules.
func parseTree(dir, root string) ([]file, error) {
	var files []file
	fset := token.NewFileSet()
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name != dir && ignored(d.Name()) {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		syntax, err := parser.ParseFile(fset, name, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, filepath.Dir(name))
		if err != nil {
			return err
		}
		pkg := path.Join(root, filepath.ToSlash(rel))
		files = append(files, file{name: name, pkg: pkg, syntax: syntax, fset: fset})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the source of %s: %w", root, err)
	}
	return files, nil
}

func ignored(folder string) bool {
	return folder == "testdata" || folder == "node_modules" ||
		strings.HasPrefix(folder, ".") || strings.HasPrefix(folder, "_")
}

// imports lists the paths that the file imports, in its order.
func (f file) imports() []string {
	var paths []string
	for _, spec := range f.syntax.Imports {
		paths = append(paths, importPath(spec))
	}
	return paths
}

// clockReads lists the places where the file names one of the functions of
// package time that read the clock, called or handed on. It also lists a dot
// import of time, which would hide them.
func (f file) clockReads() []string {
	var places []string
	clock := ""
	for _, spec := range f.syntax.Imports {
		if importPath(spec) != "time" {
			continue
		}
		clock = "time"
		if spec.Name != nil {
			clock = spec.Name.Name
		}
		if clock == "." {
			places = append(places, f.fset.Position(spec.Pos()).String())
		}
	}
	ast.Inspect(f.syntax, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok && isClock(s, clock) {
			places = append(places, f.fset.Position(s.Pos()).String())
		}
		return true
	})
	return places
}

func isClock(s *ast.SelectorExpr, clock string) bool {
	x, ok := s.X.(*ast.Ident)
	if !ok || clock == "" || x.Name != clock {
		return false
	}
	switch s.Sel.Name {
	case "Now", "Since", "Until":
		return true
	}
	return false
}

func importPath(spec *ast.ImportSpec) string {
	unquoted, err := strconv.Unquote(spec.Path.Value)
	if err != nil { // the parser has refused such a file already
		return spec.Path.Value
	}
	return unquoted
}

// listedPackage is what we ask of the go command about one package.
type listedPackage struct {
	ImportPath string
	Imports    []string
}

// listForPhone asks the go command for the named packages and all that they
// import, at any depth, when built for a browser.
func listForPhone(packages ...string) ([]listedPackage, error) {
	args := append([]string{"list", "-deps", "-json=ImportPath,Imports", "--"}, packages...)
	cmd := exec.Command("go", args...)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list %s: %w: %s", strings.Join(packages, " "), err, stderr.Bytes())
	}
	var listed []listedPackage
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listedPackage
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			return listed, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read the answer of go list: %w", err)
		}
		listed = append(listed, p)
	}
}
