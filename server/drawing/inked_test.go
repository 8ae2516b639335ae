package drawing

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/inked"
	"relevel/server/pdf"
)

// all are all drawings there are of a floor in every state.
func all(turn int) map[string]string {
	p, o := everyState(), testOptions(turn)
	o.Round = Round{Order: map[string]int{"B1-2": 1}, Waits: map[string]string{"B1-3": "a tie"}}
	limit := 3.0
	watched := jobs.WatchedGap{Name: "crack", LimitMM: &limit, Readings: []jobs.GapWidth{
		{At: time.Unix(0, 0), MM: 1}, {At: time.Unix(864000, 0), MM: 2}, {At: time.Unix(1864000, 0), MM: 4},
	}}
	drawn := map[string]string{
		"floor": Floor(p, o), "lines": StringLines(p, o), "now": Shading(p, Now, o), "as found": Shading(p, AsFound, o),
		"small": Small(p), "where": Where(p)([]string{"B1-1"}), "gap": GapLine(watched, time.UTC, levelling.Inch),
	}
	for _, b := range p.Plan.Bearers {
		drawn["line "+b.ID] = StringLine(p, b, o)
	}
	for _, s := range p.Supports {
		drawn["section "+s.ID] = Section(s, "B1", o)
	}
	for _, k := range Key(jobs.Australia.Words()) {
		drawn["key "+k.Means] = k.SVG
	}
	return drawn
}

// Every drawing there is can be drawn on paper: nothing in it is unknown there.
func TestAllIsKnownOnPaper(t *testing.T) {
	var out bytes.Buffer
	d := pdf.New(&out, pdf.About{Made: time.Unix(0, 0)})
	for turn := range 4 {
		for name, svg := range all(turn) {
			drawn, err := inked.Parse(svg)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			page := d.Page(pdf.Paper{Wide: drawn.Wide, High: drawn.High})
			page.Artifact(func() {
				if err := drawn.Draw(page, 0, 0, 1); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			})
		}
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
}

// What the source of the drawings names, drawn by this test or not, is known on paper:
// a tag, an attribute or a class that is new has to be taught there.
func TestAllThatTheCanvasNamesIsKnownOnPaper(t *testing.T) {
	found := map[string]int{}
	for _, file := range sources(t) {
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				called(t, n, found)
			case *ast.AssignStmt:
				for i, left := range n.Lhs {
					if named(left) == "class" && i < len(n.Rhs) {
						classes(t, n.Rhs[i], found)
					}
				}
			case *ast.FuncDecl:
				if strings.HasSuffix(n.Name.Name, "Class") || n.Name.Name == "shade" || n.Name.Name == "smallPost" {
					ast.Inspect(n, func(n ast.Node) bool {
						if r, ok := n.(*ast.ReturnStmt); ok {
							classes(t, r.Results[0], found)
						}
						return true
					})
				}
			case *ast.CompositeLit:
				if named(n.Type) == "words" && len(n.Elts) > 0 {
					classes(t, n.Elts[0], found)
				}
			}
			return true
		})
	}
	if found["class"] < 150 || found["tag"] < 50 {
		t.Errorf("the source was not read as it is written: %v found", found)
	}
}

func sources(t *testing.T) (files []*ast.File) {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	return files
}

// called looks at a call of one of the canvas's methods.
func called(t *testing.T, call *ast.CallExpr, found map[string]int) {
	t.Helper()
	method, ok := call.Fun.(*ast.SelectorExpr)
	if !ok || len(call.Args) == 0 {
		return
	}
	switch method.Sel.Name {
	case "line", "rect", "shape", "text", "start", "path":
		classes(t, call.Args[0], found)
	case "open", "empty", "element":
		tag, attrs := literal(call.Args[0]), call.Args[1:]
		if method.Sel.Name == "element" {
			attrs = call.Args[2:]
		}
		for i := 0; i+1 < len(attrs); i += 2 {
			name := literal(attrs[i])
			if name == "class" {
				classes(t, attrs[i+1], found)
			}
			for _, tag := range tagsOf(tag) {
				if found["tag"]++; !inked.KnowsTag(tag, name) {
					t.Errorf("paper does not know the attribute %q of %q", name, tag)
				}
			}
		}
	}
}

// tagsOf is a tag, or the two between which a drawing chooses by whether it has links.
func tagsOf(tag string) []string {
	if tag == "" {
		return []string{"a", "g"}
	}
	return []string{tag}
}

func named(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

func literal(e ast.Expr) string {
	if l, ok := e.(*ast.BasicLit); ok {
		s, _ := strconv.Unquote(l.Value)
		return s
	}
	return ""
}

var numbered = regexp.MustCompile(`%d|-$`)

// classes looks at all texts in what makes up a class. One with a number behind it
// is looked at with the first.
func classes(t *testing.T, in ast.Expr, found map[string]int) {
	t.Helper()
	ast.Inspect(in, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok && named(call.Fun) != "Sprintf" && named(call.Fun) != "string" {
			return false // its texts are its own
		}
		l, ok := n.(*ast.BasicLit)
		if !ok || l.Kind != token.STRING {
			return true
		}
		for class := range strings.FieldsSeq(numbered.ReplaceAllStringFunc(literal(l), func(s string) string {
			return strings.Replace(strings.Replace(s, "%d", "0", 1), "-", "-0", 1)
		})) {
			if found["class"]++; !inked.Knows(class) {
				t.Errorf("paper does not know the class %q", class)
			}
		}
		return true
	})
}
