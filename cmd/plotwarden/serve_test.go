package main

import (
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhereTheStoreLies(t *testing.T) {
	env := func(pairs map[string]string) func(string) string { return func(k string) string { return pairs[k] } }
	no, yes := func(string) bool { return false }, func(string) bool { return true }
	for _, c := range []struct {
		env   map[string]string
		there func(string) bool
		want  string
	}{
		{map[string]string{"XDG_DATA_HOME": "/data", "HOME": "/home/w"}, yes, "plotwarden.db"},
		{map[string]string{"XDG_DATA_HOME": "/data", "HOME": "/home/w"}, no, "/data/plotwarden/plotwarden.db"},
		{map[string]string{"XDG_DATA_HOME": "data", "HOME": "/home/w"}, no, "/home/w/.local/share/plotwarden/plotwarden.db"},
		{nil, no, "plotwarden.db"},
	} {
		got, err := ownStore(env(c.env), c.there)
		require.NoError(t, err)
		assert.Equal(t, c.want, got)
	}
}

// Nothing needs to be written before the first start: one line says what to open.
func TestServeWithoutAConfiguration(t *testing.T) {
	dir := t.TempDir()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	r, w := io.Pipe()
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, []string{"serve", "--store", filepath.Join(dir, "data", "p.db"), "--listen", "127.0.0.1:0"}, streams{strings.NewReader(""), w, io.Discard}, func(int) {})
		_ = w.Close()
	}()
	line := make([]byte, 200)
	n, err := r.Read(line)
	require.NoError(t, err)
	go func() { _, _ = io.Copy(io.Discard, r) }()
	at := regexp.MustCompile(`http://\S+`).FindString(string(line[:n]))
	require.NotEmpty(t, at, "%s", line[:n])
	var status int
	require.Eventually(t, func() bool {
		resp, err := http.Get(at)
		if err != nil {
			return false
		}
		status = resp.StatusCode
		return resp.Body.Close() == nil
	}, 20*time.Second, 100*time.Millisecond)
	assert.Equal(t, http.StatusOK, status)
	info, err := os.Stat(filepath.Join(dir, "data"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	stop()
	assert.Equal(t, 0, <-code)
}

func TestServeTakesEitherAConfigurationOrItsOwnFlags(t *testing.T) {
	var said strings.Builder
	code := run(t.Context(), []string{"serve", "--config", "x.yaml", "--store", "y"}, streams{strings.NewReader(""), io.Discard, &said}, func(int) {})
	assert.Equal(t, 2, code)
	assert.Contains(t, said.String(), "for running without a configuration")
	code = run(t.Context(), []string{"serve", "--listen", "here"}, streams{strings.NewReader(""), io.Discard, &said}, func(int) {})
	assert.Equal(t, 2, code)
}
