package config

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"plotwarden/strict"
)

// Load reads a configuration file. threats are the ids of the catalogue. The
// error is strict.Faults with all that is wrong, in the order of the text.
// Relative paths in the file are taken from the file's own folder and returned
// as such; the files of passwords and keys must be there.
func Load(path string, threats []string) (*Config, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, strict.Faults{{File: path, Message: plainPathError(err)}}
	}
	defer f.Close()
	c := parse(path, f, threats)
	dir := filepath.Dir(path)
	c.resolve(dir, &c.cfg.Store)
	c.secretFile(dir, &c.cfg.Mail.PasswordFile)
	for i := range c.cfg.Weather.Sources {
		c.secretFile(dir, &c.cfg.Weather.Sources[i].APIKeyFile)
	}
	return c.result()
}

// Parse reads a configuration from r; name stands for the file in faults. It
// opens no file: paths stay as written and are not looked at.
func Parse(name string, r io.Reader, threats []string) (*Config, error) {
	return parse(name, r, threats).result()
}

func parse(name string, r io.Reader, threats []string) *checker {
	c := &checker{cfg: Defaults()}
	c.where, c.faults = strict.Decode(name, r, &c.cfg)
	if !c.where.Has(&c.cfg) {
		return c // not YAML at all
	}
	c.decoded = places(c.faults)
	fill(&c.cfg, c.where)
	c.check(threats)
	return c
}

func (c *checker) result() (*Config, error) {
	if err := c.faults.Err(); err != nil {
		return nil, err
	}
	nameEntries(&c.cfg)
	if len(c.warnings) > 0 {
		_ = c.warnings.Err() // sorts
		c.cfg.Warnings = c.warnings
	}
	return &c.cfg, nil
}

func (c *checker) resolve(dir string, path *string) {
	if *path != "" && !filepath.IsAbs(*path) {
		*path = filepath.Join(dir, *path)
	}
}

func (c *checker) secretFile(dir string, path *string) {
	if *path == "" {
		return
	}
	c.resolve(dir, path)
	info, err := os.Stat(*path)
	if err != nil {
		c.fault(path, "%s", plainPathError(err))
		return
	}
	if _, err := secret(*path); err != nil {
		c.fault(path, "%v", err)
		return
	}
	if info.Mode().Perm()&0o004 != 0 {
		c.warn(path, "%s can be read by everyone on this machine; chmod 600 it", *path)
	}
}

// maxSecret is more than any password or key; a longer file is another file.
const maxSecret = 4096

// secret reads a file that holds one line. An empty path is an empty secret.
func secret(path string) (string, error) {
	if path == "" {
		return "", nil
	}
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("%s", plainPathError(err))
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxSecret+1))
	if err != nil {
		return "", fmt.Errorf("%s", plainPathError(err))
	}
	s := strings.TrimSpace(string(b))
	if s == "" || len(b) > maxSecret || strings.ContainsAny(s, "\r\n\x00") {
		return "", fmt.Errorf("%s does not hold one line with the secret and nothing else", path)
	}
	return s, nil
}

// plainPathError is the system's message without the name of the call.
func plainPathError(err error) string {
	if p, ok := err.(*os.PathError); ok {
		return p.Path + ": " + p.Err.Error()
	}
	return err.Error()
}
