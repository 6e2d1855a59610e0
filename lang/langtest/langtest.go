// Package langtest reads the sources of a package and says which of its fixed
// sentences have no translation.
package langtest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"plotwarden/garden"
	"plotwarden/lang"
)

// GoKeys returns the sentences in the Go files of one folder that are given to a
// function or method of one of the names, as their first argument: "t", "T".
// Tests are left out. A first argument that is neither a text nor a named
// constant is passed over: what is built at run time cannot be read here.
func GoKeys(dir fs.FS, names ...string) ([]string, error) {
	files, err := fs.Glob(dir, "*.go")
	if err != nil {
		return nil, err
	}
	var keys []string
	consts := map[string]string{}
	var calls []ast.Expr
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		b, err := fs.ReadFile(dir, name)
		if err != nil {
			return nil, err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, b, 0)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ValueSpec:
				for i, id := range n.Names {
					if i < len(n.Values) {
						if s, ok := text(n.Values[i]); ok {
							consts[id.Name] = s
						}
					}
				}
			case *ast.CallExpr:
				if len(n.Args) > 0 && slices.Contains(names, called(n.Fun)) {
					calls = append(calls, n.Args[0])
				}
			}
			return true
		})
	}
	for _, c := range calls {
		if s, ok := text(c); ok {
			keys = append(keys, s)
		} else if id, ok := c.(*ast.Ident); ok && consts[id.Name] != "" {
			keys = append(keys, consts[id.Name])
		}
	}
	return distinct(keys), nil
}

func called(f ast.Expr) string {
	switch f := f.(type) {
	case *ast.SelectorExpr:
		return f.Sel.Name
	case *ast.Ident:
		return f.Name
	}
	return ""
}

// text returns a literal, or literals joined with +.
func text(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			s, err := strconv.Unquote(e.Value)
			return s, err == nil
		}
	case *ast.BinaryExpr:
		a, ok := text(e.X)
		b, also := text(e.Y)
		return a + b, ok && also && e.Op == token.ADD
	case *ast.ParenExpr:
		return text(e.X)
	}
	return "", false
}

var inTemplate = regexp.MustCompile("\\bt (\"(?:[^\"\\\\]|\\\\.)*\"|`[^`]*`)")

// TemplateKeys returns the sentences that the templates below a folder give to
// the function t: {{t "..."}}, {{t "%d days" .N}}, {{.X | f (t "...")}}.
func TemplateKeys(dir fs.FS) ([]string, error) {
	var keys []string
	err := fs.WalkDir(dir, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !slices.Contains([]string{".html", ".txt", ".tmpl", ".md"}, path.Ext(name)) {
			return err
		}
		b, err := fs.ReadFile(dir, name)
		if err != nil {
			return err
		}
		for _, action := range regexp.MustCompile(`(?s)\{\{.*?\}\}`).FindAllString(string(b), -1) {
			for _, m := range inTemplate.FindAllStringSubmatch(action, -1) {
				s, err := strconv.Unquote(m[1])
				if err != nil {
					return fmt.Errorf("%s: %s: %w", name, m[1], err)
				}
				keys = append(keys, s)
			}
		}
		return nil
	})
	return distinct(keys), err
}

// Missing returns the keys that a language has no sentence for.
func Missing(l garden.Language, keys []string) []string {
	v := lang.New(l, garden.Metric)
	return slices.DeleteFunc(slices.Clone(keys), v.Has)
}

func distinct(keys []string) []string {
	slices.Sort(keys)
	return slices.Compact(keys)
}
