package catalog

import (
	"flag"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/strict"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		require.NoError(t, os.WriteFile(name, []byte(got), 0o644))
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// Every file of testdata/bad is wrong in its own way; the .err beside it has
// what a volunteer reads.
func TestBadFiles(t *testing.T) {
	names, err := fs.Glob(os.DirFS("testdata/bad"), "*.yaml")
	require.NoError(t, err)
	require.Greater(t, len(names), 15)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile("testdata/bad/" + name)
			require.NoError(t, err)
			_, err = LoadFS(fstest.MapFS{"data/" + name: {Data: text}}, "data")
			require.Error(t, err)
			faults, ok := strict.AsFaults(err)
			require.True(t, ok, "faults with their places, not %T", err)
			for _, f := range faults {
				assert.Equal(t, "data/"+name, f.File)
			}
			golden(t, "testdata/bad/"+strings.TrimSuffix(name, ".yaml")+".err", err.Error()+"\n")
		})
	}
}

func TestFolder(t *testing.T) {
	_, err := LoadFS(fstest.MapFS{}, "nowhere")
	assert.ErrorContains(t, err, "read the catalogue folder nowhere")

	c, err := LoadFS(fstest.MapFS{"d/README.md": {}, "d/.keep": {}, "d/notes.txt": {}}, "d")
	require.NoError(t, err)
	assert.Empty(t, c.Threats)

	_, err = LoadFS(fstest.MapFS{"d/flea.yml": {}, "d/sub/x.yaml": {}}, "d")
	assert.ErrorContains(t, err, "d/flea.yml: is not a data file; only files that end in .yaml are read")
	assert.ErrorContains(t, err, "d/sub: is not a data file")

	// Faults of several files come together.
	_, err = LoadFS(fstest.MapFS{"d/a.yaml": {Data: []byte("nmae: x\n")}, "d/b.yaml": {Data: []byte("name: [")}}, "d")
	assert.ErrorContains(t, err, "d/a.yaml:1:1")
	assert.ErrorContains(t, err, "d/b.yaml")
}

func FuzzLoad(f *testing.F) {
	for _, dir := range []string{"data", "testdata/bad"} {
		names, err := fs.Glob(os.DirFS(dir), "*.yaml")
		if err != nil {
			f.Fatal(err)
		}
		for i, name := range names {
			if dir == "data" && i%8 != 0 {
				continue
			}
			text, err := os.ReadFile(dir + "/" + name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(text))
		}
	}
	base, err := Load()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		files := fstest.MapFS{"d/fuzzed.yaml": {Data: []byte(text)}}
		for _, load := range []func() (*Catalogue, error){
			func() (*Catalogue, error) { return LoadFS(files, "d") },
			func() (*Catalogue, error) { return base.With(files, "d") },
		} {
			c, err := load()
			if err != nil {
				if fs, ok := strict.AsFaults(err); !ok || len(fs) == 0 {
					t.Fatalf("an error that is not a list of faults: %v", err)
				}
				continue
			}
			for i := range c.Threats {
				for _, m := range c.Threats[i].Models {
					if m.Spec == nil {
						t.Fatalf("%s was let in without a spec", m.ID)
					}
				}
			}
			if th, ok := c.ByID("fuzzed"); ok && Page(*th) == "" {
				t.Fatal("no page")
			}
		}
	})
}
