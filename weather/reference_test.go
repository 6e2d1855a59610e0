package weather

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

const referenceDir = "../testdata/reference"

// readTable reads a CSV file with a header into rows of named fields.
func readTable(t testing.TB, path string) []map[string]string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return parseTable(t, b)
}

func parseTable(t testing.TB, b []byte) []map[string]string {
	t.Helper()
	recs, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, recs)
	rows := make([]map[string]string, 0, len(recs)-1)
	for _, rec := range recs[1:] {
		row := make(map[string]string, len(rec))
		for i, f := range rec {
			row[recs[0][i]] = f
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// runNode runs a reference script with the npm package it needs and returns what
// it prints. It skips the test where node or the package is absent.
func runNode(t *testing.T, script, pkg string) []byte {
	t.Helper()
	dir := os.Getenv("PLOTWARDEN_NODE_MODULES")
	if dir == "" {
		t.Skip("PLOTWARDEN_NODE_MODULES names no node_modules folder")
	}
	if _, err := os.Stat(filepath.Join(dir, pkg)); err != nil {
		t.Skipf("npm package %s is not installed in PLOTWARDEN_NODE_MODULES", pkg)
	}
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed")
	}
	dir, err = filepath.Abs(dir)
	require.NoError(t, err)
	cmd := exec.Command(node, script)
	cmd.Env = append(os.Environ(), "NODE_PATH="+dir)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	return out
}
