package main

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The manual page names every command and option, and man reads it without a
// complaint.
func TestManual(t *testing.T) {
	var out, errs bytes.Buffer
	require.Zero(t, run(t.Context(), []string{"manual"}, streams{strings.NewReader(""), &out, &errs}, func(int) {}), errs.String())
	text := out.String()
	for _, part := range []string{".TH PLOTWARDEN 1", ".SS demo\n", ".SS calc degreedays", `\-\-cutoff`, ".SH EXIT STATUS", "The label is the law"} {
		assert.Contains(t, text, part)
	}
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(line, ".") {
			assert.Regexp(t, `^\.(TH|SH|SS|B|I|RI|TP|PP|EX|EE)( |$)`, line)
		}
	}
	man, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("groff is not installed")
	}
	c := exec.CommandContext(t.Context(), man, "-man", "-Tutf8", "-ww", "-z")
	c.Stdin = &out
	said, err := c.CombinedOutput()
	require.NoError(t, err)
	for _, line := range strings.Split(strings.TrimSpace(string(said)), "\n") {
		if line != "" {
			assert.Contains(t, line, "cannot adjust line") // a long word in a narrow column
		}
	}
}
