package api

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The document keeps to OpenAPI 3.1 as the npm package
// @seriousme/openapi-schema-validator reads the specification's own schema.
func TestDocumentIsOpenAPI(t *testing.T) {
	dir, err := filepath.Abs(os.Getenv("PLOTWARDEN_NODE_MODULES"))
	require.NoError(t, err)
	validator := filepath.Join(dir, "@seriousme", "openapi-schema-validator", "index.js")
	if _, err := os.Stat(validator); err != nil || os.Getenv("PLOTWARDEN_NODE_MODULES") == "" {
		t.Skip("no @seriousme/openapi-schema-validator: npm ci in testdata/node, and set PLOTWARDEN_NODE_MODULES to its node_modules folder")
	}
	check := func(file string) string {
		out, err := exec.CommandContext(t.Context(), "node", "--input-type=module", "-e", `
import { Validator } from "`+validator+`";
const v = new Validator();
const r = await v.validate("`+file+`");
console.log(r.valid, v.version);`).CombinedOutput()
		require.NoError(t, err, string(out))
		return string(out)
	}
	file, err := filepath.Abs("testdata/openapi.json")
	require.NoError(t, err)
	assert.Equal(t, "true 3.1\n", check(file))
	broken := filepath.Join(t.TempDir(), "broken.json")
	require.NoError(t, os.WriteFile(broken, []byte(`{"openapi":"3.1.0","info":{"title":"x"}}`), 0o600))
	assert.Contains(t, check(broken), "false", "the validator finds fault")
}
