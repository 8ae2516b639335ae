package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// reads are the calls by which bytes become something else.
var reads = []string{
	"json.Unmarshal", "json.NewDecoder", "csv.NewReader", "xml.NewDecoder", "hex.Decode", "hex.DecodeString", "StdEncoding.DecodeString",
	"plain.DecodeString", "shareLetters.DecodeString", "url.Parse", "url.ParseQuery", "netip.ParseAddr", "netip.ParsePrefix", "netip.ParseAddrPort",
	"fmt.Sscanf", "fmt.Sscan", "imagemeta.Decode", "jpegn.Decode", "note.Open", "r.ParseMultipartForm", "r.MultipartReader", "zip.NewReader", "binary.Read",
	"protocol.ParseCredentialRequestResponseBytes", "protocol.ParseCredentialCreationResponseBytes", "tlog.ParseRecord", "gzip.NewReader", "gob.NewDecoder",
}

// named are decoders that go through their bytes by themselves, beside those whose name
// begins with Parse.
var named = []string{
	"events.Sniff", "jobs/bundle.ReadKeys", "jobs/bundle.Verify", "jobs/sheet.ReadBook", "jobs/sheet.ReadPlan", "server.takesGzip",
	"server/pictures.inspect", "server/pictures.outlineOf", "server/web.Bodies", "server/web.ReadBookFilter", "server/web.ReadFindingFilter",
}

// supporting are packages that only tests use, or that only load what they made.
var supporting = []string{"test", "bench", "demo", "depstest", "client", "localpg"}

// Every function that reads bytes from outside has a fuzz target with a corpus, or
// stands in decoders with the reason why what it reads is ours.
func TestEveryDecoderIsFuzzed(t *testing.T) {
	const root = "../.."
	found := map[string]bool{}
	for _, name := range decodersIn(t, root) {
		found[name] = true
		if decoders[name] == "" {
			t.Errorf("%s reads bytes: name its fuzz target in decoders, or say why what it reads is our own", name)
		}
	}
	for name, by := range decoders {
		if !found[name] {
			t.Errorf("%s is no decoder any more: take it out of decoders", name)
		}
		folder, target, fuzzed := strings.Cut(by, " Fuzz")
		if !fuzzed {
			continue
		}
		corpus, err := os.ReadDir(filepath.Join(root, folder, "testdata", "fuzz", "Fuzz"+target))
		if err != nil || len(corpus) == 0 {
			t.Errorf("%s: %s has no corpus: %v", name, by, err)
		}
		if !hasTarget(t, filepath.Join(root, folder), "Fuzz"+target) {
			t.Errorf("%s: there is no %s", name, by)
		}
	}
}

// decodersIn lists the functions below a folder that read bytes, as folder.Name.
func decodersIn(t *testing.T, root string) (names []string) {
	t.Helper()
	for _, noun := range []string{"cmd", "jobs", "events", "server", "levelling", "deploy"} {
		err := filepath.WalkDir(filepath.Join(root, noun), func(path string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || d.Name() == "dist"):
				return fs.SkipDir
			case d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go"):
				return nil
			}
			folder, err := filepath.Rel(root, filepath.Dir(path))
			if err != nil || slices.ContainsFunc(supporting, func(s string) bool { return strings.Contains(folder, s) }) {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err == nil {
				names = append(names, decodersOf(file, filepath.ToSlash(folder))...)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return names
}

func decodersOf(file *ast.File, folder string) (names []string) {
	for _, decl := range file.Decls {
		f, is := decl.(*ast.FuncDecl)
		if !is || f.Body == nil {
			continue
		}
		calls := strings.HasPrefix(f.Name.Name, "Parse") || slices.Contains(named, folder+"."+f.Name.Name)
		ast.Inspect(f.Body, func(n ast.Node) bool {
			if s, is := n.(*ast.SelectorExpr); is {
				calls = calls || slices.Contains(reads, lastName(s.X)+"."+s.Sel.Name)
			}
			return !calls
		})
		if calls {
			names = append(names, folder+"."+f.Name.Name)
		}
	}
	return names
}

func lastName(x ast.Expr) string {
	switch x := x.(type) {
	case *ast.Ident:
		return x.Name
	case *ast.SelectorExpr:
		return x.Sel.Name
	}
	return ""
}

func hasTarget(t *testing.T, folder, name string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "\nfunc "+name+"(f *testing.F)") {
			return true
		}
	}
	return false
}
