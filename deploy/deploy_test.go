// Package deploy_test holds what stands in deploy/ against the program.
package deploy_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/service"
)

// tool returns a program's path. Where it is not installed the test is skipped,
// except under CI, which installs it.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") != "" {
		t.Fatalf("%s is not installed, and under CI it must be", name)
	}
	t.Skipf("%s is not installed", name)
	return ""
}

func run(t *testing.T, dir, name string, args ...string) string {
	t.Helper()
	c := exec.CommandContext(t.Context(), tool(t, name), args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// An alert or a chart over a metric that does not exist never fires and stays
// empty, and nobody sees why.
func TestMetricsExist(t *testing.T) {
	names := map[string]bool{"plotwarden_build_info": true}
	descriptions := make(chan *prometheus.Desc, 1000)
	service.NewMetrics("test").Registry.Describe(descriptions)
	close(descriptions)
	name := regexp.MustCompile(`fqName: "([^"]+)"`)
	for d := range descriptions {
		names[name.FindStringSubmatch(d.String())[1]] = true
	}
	used := regexp.MustCompile(`\bplotwarden_[a-z_]+`)
	n := 0
	for _, file := range []string{"prometheus/plotwarden.rules.yaml", "prometheus/plotwarden.rules_test.yaml", "grafana/plotwarden.json"} {
		body, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, m := range used.FindAllString(string(body), -1) {
			n++
			assert.True(t, names[strings.TrimSuffix(m, "_bucket")], "%s uses %s, which the program does not have", file, m)
		}
	}
	assert.Greater(t, n, 30)
}

func TestPrometheusRules(t *testing.T) {
	assert.Contains(t, run(t, "prometheus", "promtool", "test", "rules", "plotwarden.rules_test.yaml"), "SUCCESS")
}

// Every panel has a title of its own, a query, and a place that no other has.
func TestBoard(t *testing.T) {
	body, err := os.ReadFile("grafana/plotwarden.json")
	require.NoError(t, err)
	var board struct {
		Panels []struct {
			ID      int
			Title   string
			GridPos struct{ X, Y, W, H int }
			Targets []struct{ Expr string }
		}
	}
	require.NoError(t, json.Unmarshal(body, &board))
	require.NotEmpty(t, board.Panels)
	taken := map[[2]int]string{}
	ids, titles := map[int]bool{}, map[string]bool{}
	for _, p := range board.Panels {
		assert.False(t, ids[p.ID] || titles[p.Title], p.Title)
		ids[p.ID], titles[p.Title] = true, true
		assert.NotEmpty(t, p.Targets, p.Title)
		for x := p.GridPos.X; x < p.GridPos.X+p.GridPos.W; x++ {
			for y := p.GridPos.Y; y < p.GridPos.Y+p.GridPos.H; y++ {
				assert.Empty(t, taken[[2]int{x, y}], p.Title)
				taken[[2]int{x, y}] = p.Title
				assert.Less(t, x, 24)
			}
		}
	}
}

// systemd's own score of what the unit leaves open, from 0 (nothing) to 10.
func TestUnit(t *testing.T) {
	unit, err := filepath.Abs("systemd/plotwarden.service")
	require.NoError(t, err)
	out := run(t, ".", "systemd-analyze", "security", "--offline=true", "--threshold=15", "--no-pager", unit)
	score := regexp.MustCompile(`Overall exposure level for \S+ ([0-9.]+)`).FindStringSubmatch(strings.ReplaceAll(out, ":", ""))
	require.Len(t, score, 2, out)
	t.Log("systemd-analyze security:", score[1])
}
