package plotwarden_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// arrows says which of our packages each package may import. A prefix ending in
// / covers the packages below it.
var arrows = map[string][]string{
	"civil":          {},
	"strict":         {"civil"},
	"garden":         {"civil", "strict"},
	"weather":        {"civil"},
	"weather/source": {"civil", "weather"},
	"weather/":       {"civil", "weather", "weather/source", "strict"},
	"risk":           {"civil"},
	"risk/degreeday": {"civil", "risk", "weather"},
	"risk/wetness":   {"civil", "risk", "weather", "garden"},
	"risk/disease":   {"civil", "risk", "weather"},
	"risk/planting":  {"civil", "risk", "weather", "garden", "strict", "risk/degreeday"},
	"risk/model":     {"civil", "strict", "garden", "weather", "risk", "risk/degreeday", "risk/wetness", "risk/disease"},
	"risk/catalog":   {"civil", "strict", "garden", "risk", "risk/model", "risk/degreeday"},
	"risk/outlook":   {"civil", "risk", "weather", "risk/degreeday", "risk/model"},
	"risk/learn":     {"civil", "risk", "garden", "weather", "risk/outlook", "risk/degreeday"},
	"risk/replay":    {"civil", "risk", "garden", "weather", "risk/outlook", "risk/learn", "risk/model"},
	"risk/tuning":    {"civil", "strict", "risk", "risk/model", "risk/catalog", "risk/replay"},
	"plan":           {"civil", "strict", "garden", "weather", "risk", "risk/"},
	"plan/":          {"civil", "garden", "weather", "risk", "risk/", "plan"},
	"access":         {"garden"},
	"ground":         {"civil", "garden", "store"},
	"store":          {"civil", "garden", "weather", "risk", "plan"},
	"store/":         {"civil", "garden", "weather", "risk", "plan", "store", "store/"},
	"lang":           {"civil", "garden", "risk", "plan", "web/say"},
	"lang/langtest":  {"garden", "lang"}, // for tests
	"alerts":         {"civil", "garden", "lang", "weather", "risk", "risk/catalog", "plan", "plan/", "store", "web/say", "web/draw"},
	"alerts/":        {"civil", "garden", "lang", "weather", "risk", "risk/catalog", "plan", "plan/", "store", "alerts", "alerts/", "web/say", "web/draw"},
	"web":            {"civil", "garden", "weather", "risk", "risk/", "plan", "plan/", "store", "access", "ground", "lang", "web/"},
	"web/setup":      {"civil", "strict", "garden", "weather", "weather/places", "risk", "risk/", "plan", "store", "access", "ground", "lang", "web/"},
	"web/":           {"civil", "strict", "alerts/letter", "garden", "weather", "risk", "risk/", "plan", "plan/", "store", "access", "ground", "lang", "web/"},
	"calc":           {"civil", "garden", "strict", "weather", "risk", "risk/"},
	"service/config": {"civil", "strict", "garden", "ground", "weather", "plan", "alerts/guard", "weather/station"},
	"service":        {"civil", "strict", "garden", "weather", "weather/", "risk", "risk/", "plan", "plan/", "store", "store/", "alerts", "alerts/", "access", "ground", "lang", "web", "web/", "service/"},
	"demo":           {"civil", "garden", "weather", "risk", "risk/", "plan", "plan/", "alerts/", "service", "service/", "testdata", "web", "web/page"},
	"deploy":         {"service"}, // tests alone
	"cmd/plotwarden": {"civil", "strict", "calc", "garden", "ground", "weather", "risk", "risk/", "demo", "service", "service/", "store", "store/", "access", "weather/places", "weather/station"},
}

// pure packages know no clock, network, database or log.
var pure = []string{"access", "civil", "strict", "garden", "weather", "risk", "risk/", "plan", "plan/"}

var impure = []string{"net", "net/http", "database/sql", "log", "log/slog", "os/exec", "math/rand", "math/rand/v2", "syscall"}

type pkg struct {
	ImportPath string
	Imports    []string
}

func TestArrowsPointDown(t *testing.T) {
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, "plotwarden/")
		allowed, ok := row(name)
		if !assert.True(t, ok, "package %s has no row in arrows; say what it may import", name) {
			continue
		}
		for _, imp := range p.Imports {
			if own, ok := strings.CutPrefix(imp, "plotwarden/"); ok {
				assert.True(t, covers(allowed, own), "%s imports %s; the arrows do not allow it", name, own)
			} else if covers(pure, name) {
				assert.NotContains(t, impure, imp, "%s must stay free of clocks, networks, databases and logs", name)
			}
		}
	}
}

func packages(t *testing.T) []pkg {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "./...").Output()
	require.NoError(t, err)
	var all []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		if p.ImportPath != "plotwarden" {
			all = append(all, p)
		}
	}
}

// row finds a package's own row, or else that of the longest prefix.
func row(name string) ([]string, bool) {
	if r, ok := arrows[name]; ok {
		return r, true
	}
	for at := strings.LastIndex(name, "/"); at >= 0; at = strings.LastIndex(name[:at], "/") {
		if r, ok := arrows[name[:at+1]]; ok {
			return r, true
		}
	}
	return nil, false
}

func covers(list []string, name string) bool {
	return slices.ContainsFunc(list, func(l string) bool {
		return l == name || strings.HasSuffix(l, "/") && strings.HasPrefix(name, l)
	})
}
