package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// arrows says which packages of ours each package may import, itself aside. Arrows run one
// way: cmd → server → workshop → {store, job} and {batch, costing, exports}; exports → {batch,
// costing}; batch and costing never import each other.
var arrows = map[string][]string{
	"batch/length":            {},
	"batch/words":             {},
	"batch/garment":           {"batch/length", "batch/words", "batch/outline"},
	"batch/internal/lp":       {},
	"batch/marker":            {"batch/length", "batch/internal/lp"},
	"batch/outline":           {"batch/length"},
	"batch/internal/jsonfile": {"batch/length"},
	"batch/lay/ratio":         {"batch/length", "batch/words", "batch/internal/jsonfile"},
	"batch/lay":               {"batch/lay/ratio", "batch/length", "batch/words", "batch/marker", "batch/internal/jsonfile", "batch/internal/lp"},
	"batch/roll":              {"batch/length", "batch/words", "batch/internal/jsonfile", "batch/internal/lp"},
	"batch":                   {"batch/length", "batch/words", "batch/garment", "batch/marker", "batch/lay", "batch/roll"},
	"costing/money":           {},
	"costing":                 {"costing/money"},
	"exports":                 {"batch", "batch/length", "batch/words", "batch/garment", "batch/marker", "batch/lay", "batch/roll", "costing", "costing/money"},
	"internal/testhighs":      {},
	"migrations":              {},
	"testdata/demo":           {},
	"server/privatepg":        {},
	"server/privatepg/pgtest": {"server/privatepg"},
	"server/job":              {},
	"server/store":            {"batch/*", "costing/*", "migrations"},
	"server/workshop":         {"batch/*", "costing/*", "exports", "server/store", "server/job"},
	"server/form":             {"batch/length", "batch/words", "costing/money"},
	"server/page":             {"batch/*", "costing/*", "exports", "server/store", "server/workshop"},
	"server":                  {"batch/*", "costing/*", "exports", "server/store", "server/workshop", "server/form", "server/page"},
	"cmd/yardwright":          {"*"},
}

// pure packages do no I/O: they may not import any of impure.
var (
	pure   = []string{"batch", "costing", "exports"}
	impure = []string{"os", "os/exec", "net", "net/http", "database/sql", "log", "log/slog", "syscall", "github.com/jackc/pgx/v5", "github.com/go-chi/chi/v5"}
)

func TestImportsRunOneWay(t *testing.T) {
	t.Parallel()
	for name, imports := range packages(t) {
		allowed, known := arrows[name]
		require.True(t, known, "%s stands in no arrow: say here what it may import", name)
		for _, imported := range imports {
			ours, isOurs := strings.CutPrefix(imported, "yardwright/")
			if isOurs {
				require.True(t, allows(allowed, ours), "%s must not import %s", name, ours)
			}
			if isPure(name) {
				require.NotContains(t, impure, imported, "%s does no I/O", name)
			}
		}
	}
}

func isPure(name string) bool {
	top, _, _ := strings.Cut(name, "/")
	return slices.Contains(pure, top)
}

func allows(allowed []string, imported string) bool {
	for _, pattern := range allowed {
		family, whole := strings.CutSuffix(pattern, "/*")
		if pattern == "*" || pattern == imported || (whole && (imported == family || strings.HasPrefix(imported, family+"/"))) {
			return true
		}
	}
	return false
}

// packages lists our packages, without their tests, and what each imports.
func packages(t *testing.T) map[string][]string {
	t.Helper()
	command := exec.CommandContext(t.Context(), "go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./...", "./testdata/demo")
	command.Dir = "../.."
	out, err := command.Output()
	require.NoError(t, err)
	found := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		words := strings.Fields(line)
		found[strings.TrimPrefix(words[0], "yardwright/")] = words[1:]
	}
	require.Greater(t, len(found), 15)
	return found
}

// Results must not depend on the clock: in pure packages only how long a search took, and
// when it has to end, may be read from it.
func TestPurePackagesDoNotAskTheClock(t *testing.T) {
	t.Parallel()
	mayMeasure := []string{"batch/marker", "batch/lay", "batch/roll"}
	for _, top := range pure {
		err := filepath.WalkDir(filepath.Join("../..", top), func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			folder, err := filepath.Rel("../..", filepath.Dir(path))
			if err != nil || slices.Contains(mayMeasure, filepath.ToSlash(folder)) {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(node ast.Node) bool {
				selector, ok := node.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				name, ok := selector.X.(*ast.Ident)
				require.False(t, ok && name.Name == "time" && (selector.Sel.Name == "Now" || selector.Sel.Name == "Since"), "%s asks the clock", path)
				return true
			})
			return nil
		})
		require.NoError(t, err)
	}
}
