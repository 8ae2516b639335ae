package openapi

import (
	"bytes"
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write comments.json anew")

// What the description says of fields is what their comments say.
func TestComments(t *testing.T) {
	all := map[string]typeWords{}
	for _, folder := range []string{"../../levelling", "../../events", "../../jobs", "../../jobs/sheet", ".."} {
		readComments(t, folder, all)
	}
	want, err := json.MarshalIndent(all, "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	want = append(want, '\n')
	if *update {
		if err := os.WriteFile("comments.json", want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(want, commentsJSON) {
		t.Errorf("the comments in the code changed: run go test ./server/openapi -update\n%s", cmp.Diff(string(commentsJSON), string(want)))
	}
}

// readComments reads a package's types that have a form in JSON.
func readComments(t *testing.T, folder string, all map[string]typeWords) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s has no sources: %v", folder, err)
	}
	absolute, err := filepath.Abs(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			if g, ok := d.(*ast.GenDecl); ok {
				readDeclaration(t, path.Base(absolute), g, all)
			}
		}
	}
}

func readDeclaration(t *testing.T, pkg string, g *ast.GenDecl, all map[string]typeWords) {
	t.Helper()
	for _, spec := range g.Specs {
		switch s := spec.(type) {
		case *ast.TypeSpec:
			if form, ok := s.Type.(*ast.StructType); ok {
				if fields, inJSON := fieldComments(t, form); inJSON {
					all[pkg+"."+s.Name.Name] = typeWords{Doc: oneLine(g.Doc.Text()), Fields: fields}
				}
			} else if base, ok := s.Type.(*ast.Ident); ok && base.Name == "string" {
				one := all[pkg+"."+s.Name.Name]
				one.Doc = oneLine(g.Doc.Text())
				all[pkg+"."+s.Name.Name] = one
			}
		case *ast.ValueSpec:
			name, ok := s.Type.(*ast.Ident)
			if g.Tok != token.CONST || !ok {
				continue
			}
			for _, v := range s.Values {
				if text, ok := v.(*ast.BasicLit); ok && text.Kind == token.STRING {
					addValue(t, all, pkg+"."+name.Name, text.Value)
				}
			}
		}
	}
}

func addValue(t *testing.T, all map[string]typeWords, name, quoted string) {
	t.Helper()
	value, err := strconv.Unquote(quoted)
	if err != nil {
		t.Fatal(err)
	}
	one := all[name]
	one.Values = append(one.Values, value)
	all[name] = one
}

func fieldComments(t *testing.T, s *ast.StructType) (comments map[string]string, inJSON bool) {
	t.Helper()
	comments = map[string]string{}
	for _, f := range s.Fields.List {
		if f.Tag != nil {
			tag, err := strconv.Unquote(f.Tag.Value)
			if err != nil {
				t.Fatal(err)
			}
			_, has := reflect.StructTag(tag).Lookup("json")
			inJSON = inJSON || has
		}
		text := oneLine(f.Doc.Text() + " " + f.Comment.Text())
		for _, name := range f.Names {
			if text != "" {
				comments[name.Name] = text
			}
		}
	}
	return comments, inJSON
}

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }
