package config

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"plotwarden/strict"
)

// Threats returns the ids of all threats when the data files of a folder are
// added to the catalogue; an empty folder adds none. Its strict.Faults are
// reported with those of the configuration.
type Threats func(folder string) ([]string, error)

// Load reads a configuration file. The error is strict.Faults with all that is
// wrong, in the order of the text. Relative paths in the file are taken from the
// file's own folder and returned as such; the files of passwords and keys must
// be there.
func Load(path string, threats Threats) (*Config, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, strict.Faults{{File: path, Message: plainPathError(err)}}
	}
	defer f.Close()
	c := parse(path, filepath.Dir(path), f, threats)
	c.secretFile(&c.cfg.Mail.PasswordFile)
	c.secretFile(&c.cfg.StorePasswordFile)
	for i := range c.cfg.Weather.Sources {
		s := &c.cfg.Weather.Sources[i]
		for _, at := range s.secretFiles() {
			c.secretFile(at)
		}
		c.tokenFile(s)
	}
	for _, at := range c.cfg.secretPaths() {
		c.secretFile(at)
	}
	c.templates()
	return c.result()
}

// Parse reads a configuration from r; name stands for the file in faults. It
// opens no file: paths stay as written and are not looked at, save what threats
// does.
func Parse(name string, r io.Reader, threats Threats) (*Config, error) {
	return parse(name, "", r, threats).result()
}

func parse(name, dir string, r io.Reader, threats Threats) *checker {
	c := &checker{cfg: Defaults()}
	c.where, c.faults = strict.Decode(name, r, &c.cfg)
	if !c.where.Has(&c.cfg) {
		return c // not YAML at all
	}
	c.decoded = places(c.faults)
	fill(&c.cfg, c.where)
	c.cfg.Written = written(&c.cfg, c.where)
	paths := []*string{&c.cfg.StorePasswordFile, &c.cfg.Catalogue, &c.cfg.Mail.PasswordFile, &c.cfg.Digest.Templates}
	paths = append(paths, c.cfg.secretPaths()...)
	for i := range c.cfg.Weather.Sources {
		paths = append(paths, c.cfg.Weather.Sources[i].secretFiles()...)
	}
	if !c.cfg.remote() {
		paths = append(paths, &c.cfg.Store)
	}
	for _, at := range paths {
		resolve(dir, at)
	}
	c.check(c.threats(threats))
	return c
}

// threats asks for the ids. Where the added folder cannot be read, the ids of
// the catalogue alone still serve to judge the rest.
func (c *checker) threats(of Threats) []string {
	ids, err := of(c.cfg.Catalogue)
	if err == nil {
		return ids
	}
	if more, ok := strict.AsFaults(err); ok {
		c.faults = append(c.faults, more...)
	} else {
		c.fault(&c.cfg.Catalogue, "%s", plainPathError(err))
	}
	ids, _ = of("")
	return ids
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

func resolve(dir string, path *string) {
	if dir != "" && *path != "" && !filepath.IsAbs(*path) {
		*path = filepath.Join(dir, *path)
	}
}

// secretFile looks at the file that a value names.
func (c *checker) secretFile(at *string) {
	path := *at
	if path == "" {
		return
	}
	info, err := os.Stat(path)
	if err == nil {
		_, err = secret(path)
	}
	if err != nil {
		c.fault(at, "%s", plainPathError(err))
		return
	}
	if info.Mode().Perm()&0o004 != 0 {
		c.warn(at, "%s can be read by everyone on this machine; chmod 600 it", path)
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
	if p := (*os.PathError)(nil); errors.As(err, &p) {
		return p.Path + ": " + p.Err.Error()
	}
	return err.Error()
}
