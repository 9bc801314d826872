package validation

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// mayImport is the project's import graph: what each package may import of the
// project. Imports point down: cmd → cases → solver → physics → {mesh, materials}.
// A command may reach further down, never up.
var mayImport = map[string][]string{
	"mesh":                {},
	"materials":           {},
	"physics":             {"mesh", "materials"},
	"solver/linear":       {},
	"solver/keep":         {},
	"solver":              {"solver/keep", "solver/linear", "physics", "mesh", "materials"},
	"solver/record":       {"solver", "solver/keep", "physics", "mesh", "materials"},
	"cases":               {"solver", "physics", "mesh", "materials"},
	"cmd/internal/figure": {"cases", "solver/record", "solver", "physics", "mesh", "materials"},
	"cmd/internal/hand":   {"cases", "physics", "materials"},
	"validation/cost":     {},
	"validation/dossier":  {},
	"cmd/soiljoule":       {"cmd/internal/figure", "cmd/internal/hand", "cases", "solver/record", "solver", "physics", "mesh", "materials"},
}

// onlyIn says which packages alone may import a module from outside.
var onlyIn = map[string][]string{
	"github.com/BurntSushi/toml": {"cases"},
	"github.com/sbinet/npyio":    {"solver/record", "cmd/internal/figure"}, // the latter reads what the former wrote
	"gonum.org/v1/plot":          {"cmd/internal/figure", "validation/cost", "validation/dossier"},
}

// inside says whether an import path is that of a module or below it.
func inside(path, module string) bool { return path == module || strings.HasPrefix(path, module+"/") }

// TestImportsPointDown reads every Go file's imports and names each that breaks the
// graph. Tests may import what their package may, and cases besides, which makes
// problems from files; those of validation may import anything.
// Source: the layout in DEVELOPERS.md.
func TestImportsPointDown(t *testing.T) {
	const root = ".."
	files := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && path != root && (strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") || name == "testdata" || name == "vendor") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") {
			return nil
		}
		file, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(filepath.Dir(file))
		if pkg == "validation" {
			return nil
		}
		allowed, known := mayImport[pkg]
		if !known {
			t.Errorf("%s: package %s has no place in the import graph: give it one here and in DEVELOPERS.md", file, pkg)
			return nil
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		files++
		isTest := strings.HasSuffix(name, "_test.go")
		for _, spec := range parsed.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if inside(imported, "soiljoule") {
				below := strings.TrimPrefix(imported, "soiljoule/")
				if !contains(allowed, below) && !(isTest && (below == pkg || below == "cases")) {
					t.Errorf("%s imports %s, which package %s may not: it may import %v", file, imported, pkg, allowed)
				}
			}
			for module, only := range onlyIn {
				if inside(imported, module) && !contains(only, pkg) && !isTest { // a test may read what was written
					t.Errorf("%s imports %s, which only %v may", file, imported, only)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 40 {
		t.Errorf("read the imports of %d files only, want the whole tree", files)
	}
}

// TestRaceHasAllThatRunsAtOnce reads every Go file and names each that begins a goroutine,
// or shares loops by a team, in a package whose tests `make race` leaves out. Those of
// validation call the others' code, one problem after another, and begin none of their own
// but to wait for programs that they kill.
// Source: RACED in Makefile.
func TestRaceHasAllThatRunsAtOnce(t *testing.T) {
	const root = ".."
	text, err := os.ReadFile(filepath.Join(root, "Makefile"))
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^RACED +=(.*)$`).FindSubmatch(text)
	if line == nil {
		t.Fatal("Makefile has no line RACED")
	}
	raced := strings.Fields(string(line[1]))
	in := func(pkg string) bool {
		for _, r := range raced {
			if r = strings.TrimPrefix(r, "./"); r == pkg || strings.HasSuffix(r, "/...") && inside(pkg, strings.TrimSuffix(r, "/...")) {
				return true
			}
		}
		return false
	}
	found := 0
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && path != root && (strings.HasPrefix(name, ".") || name == "testdata" || path == filepath.Join(root, "validation")) {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") {
			return nil
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		pkg, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		ast.Inspect(parsed, func(n ast.Node) bool {
			at := false
			switch n := n.(type) {
			case *ast.GoStmt:
				at = true
			case *ast.SelectorExpr: // of a sync.WaitGroup
				at = n.Sel.Name == "Go"
			case *ast.ImportSpec:
				at = n.Path.Value == `"soiljoule/solver/linear"`
			}
			if at {
				if found++; !in(filepath.ToSlash(pkg)) {
					t.Errorf("%s runs at the same time as something else, and make race leaves %s out: it has %v", path, pkg, raced)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found < 5 {
		t.Errorf("found %d places only that run at once, want those of the team and its users at least", found)
	}
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}
