package pgdb_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// goFiles calls do with each Go file of ours that is no test, by its name from the top.
func goFiles(t *testing.T, do func(name, text string)) {
	t.Helper()
	root := os.DirFS("../..")
	read := 0
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".") && name != "."):
			return fs.SkipDir
		case path.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		text, err := fs.ReadFile(root, name)
		if err == nil {
			read++
			do(name, string(text))
		}
		return err
	})
	if err != nil || read < 100 {
		t.Fatalf("%d files were read: %v", read, err)
	}
}

// repeatedBy are the functions of a DB that run what they are given again.
var repeatedBy = []string{"WithFirm", "Write", "Read", "BeforeFirm", "OverFirms", "overFirms"}

// What is run again adds nothing to what it left of the try before: a function that is
// given to a DB counts, collects and fills only what is its own, or what it empties first.
func TestNothingIsAddedTwice(t *testing.T) {
	t.Parallel()
	functions := 0
	goFiles(t, func(name, text string) {
		added, n := addedIn(t, name, text)
		functions += n
		for _, what := range added {
			t.Errorf("%s adds to %s, which is not its own, and may be run again: make it inside, or anew first", name, what)
		}
	})
	if functions < 50 {
		t.Errorf("%d functions were looked at", functions)
	}
}

// addedIn looks at the functions of a file that may be run again, and returns what they
// add to, and how many they are.
func addedIn(t *testing.T, name, text string) (added []string, functions int) {
	t.Helper()
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, name, text, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	// What is declared elsewhere is not found, which is no matter: that is outside.
	names := &types.Info{Defs: map[*ast.Ident]types.Object{}, Uses: map[*ast.Ident]types.Object{}}
	lenient := types.Config{Error: func(error) {}}
	_, _ = lenient.Check(name, files, []*ast.File{file}, names)
	ast.Inspect(file, func(n ast.Node) bool {
		call, is := n.(*ast.CallExpr)
		if !is {
			return true
		}
		s, is := call.Fun.(*ast.SelectorExpr)
		if !is || !slices.Contains(repeatedBy, s.Sel.Name) || len(call.Args) == 0 {
			return true
		}
		if f, is := call.Args[len(call.Args)-1].(*ast.FuncLit); is {
			functions++
			added = append(added, repeated{f, names, map[types.Object]bool{}}.added()...)
		}
		return true
	})
	return added, functions
}

// repeated is a function that may be run again.
type repeated struct {
	*ast.FuncLit
	names *types.Info
	anew  map[types.Object]bool // what it has assigned so far
}

// outside is the name that an expression begins with, nil if that is the function's own
// or was made anew by it.
func (f repeated) outside(e ast.Expr) *ast.Ident {
	x := rootOf(e)
	if x == nil || x.Name == "_" {
		return nil
	}
	of := f.names.ObjectOf(x)
	if of != nil && (f.anew[of] || of.Pos() >= f.Pos() && of.Pos() < f.End()) {
		return nil
	}
	return x
}

// added are the names of what it adds to, in their order.
func (f repeated) added() (added []string) {
	ast.Inspect(f.FuncLit, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.IncDecStmt:
			if x := f.outside(n.X); x != nil {
				added = append(added, x.Name)
			}
		case *ast.AssignStmt:
			for i, to := range n.Lhs {
				if x := f.outside(to); x != nil && !f.assigns(n, i) {
					added = append(added, x.Name)
				}
			}
		}
		return true
	})
	return added
}

// assigns reports whether the i-th of an assignment depends on nothing of before, and
// notes what was assigned as a whole.
func (f repeated) assigns(n *ast.AssignStmt, i int) bool {
	of := f.names.ObjectOf(rootOf(n.Lhs[i]))
	if _, part := n.Lhs[i].(*ast.IndexExpr); part || n.Tok != token.ASSIGN && n.Tok != token.DEFINE || i < len(n.Rhs) && f.uses(n.Rhs[i], of) {
		return false
	}
	if _, whole := n.Lhs[i].(*ast.Ident); whole && of != nil {
		f.anew[of] = true
	}
	return true
}

func (f repeated) uses(e ast.Expr, what types.Object) (found bool) {
	ast.Inspect(e, func(n ast.Node) bool {
		x, is := n.(*ast.Ident)
		found = found || is && what != nil && f.names.ObjectOf(x) == what
		return !found
	})
	return found
}

// rootOf is the name that an expression begins with: of r.list[i] it is r.
func rootOf(e ast.Expr) *ast.Ident {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x
		case *ast.SelectorExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.StarExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return nil
		}
	}
}

// What would count twice is found, and nothing else.
func TestAddedIn(t *testing.T) {
	t.Parallel()
	for body, want := range map[string][]string{
		`n := 0; db.Read(ctx, firm, func(b B) { n++ })`:                                             {"n"},
		`n := 0; db.Read(ctx, firm, func(b B) { n += 2 })`:                                          {"n"},
		`n := 0; db.Read(ctx, firm, func(b B) { n = n + 2 })`:                                       {"n"},
		`db.WithFirm(ctx, firm, func(tx T) error { r.faults = r.faults + 1; return nil })`:          {"r"},
		`db.Read(ctx, firm, func(b B) { b.Queue().Query(func() { all = append(all, 1) }) })`:        nil, // a name that nobody knows
		`var all L; db.Read(ctx, firm, func(b B) { b.Q().Query(func() { all = append(all, 1) }) })`: {"all"},
		`m := M{}; s.db.Write(ctx, firm, func(b B) { m[1] = 2 })`:                                   {"m"},
		`m := M{}; s.db.Write(ctx, firm, func(b B) { m = M{}; m[1] = 2 })`:                          nil,
		`var all L; db.Read(ctx, firm, func(b B) { all = nil; all = append(all, 1) })`:              nil,
		`var n int; db.OverFirms(ctx, func(b B) { n = 2 })`:                                         nil,
		`db.OverFirms(ctx, func(b B) { n := 0; n++; var m M; m[1] = 2 })`:                           nil,
		`n := 0; n++; db.Read(ctx, firm, func(b B) {})`:                                             nil,
	} {
		got, n := addedIn(t, "one.go", "package one; func f(r R, db D, s S) { "+body+" }")
		if diff := cmp.Diff(want, got); diff != "" || n != 1 {
			t.Errorf("%s: %d functions (-want +got):\n%s", body, n, diff)
		}
	}
}
