package config

import (
	"net/url"
	"strings"
)

// remote says that the store is a database server.
func (c *Config) remote() bool {
	return strings.HasPrefix(c.Store, "postgres://") || strings.HasPrefix(c.Store, "postgresql://")
}

// StorePassword reads the password of the PostgreSQL user; empty when no file is
// named.
func (c *Config) StorePassword() (string, error) { return secret(c.StorePasswordFile) }

// store checks where everything is kept. No fault repeats the address: it may hold
// a password.
func (c *checker) store() {
	at := &c.cfg.Store
	switch {
	case *at == "":
		c.fault(at, "store is empty; write the path of the SQLite file")
	case c.cfg.remote():
		u, err := url.Parse(*at)
		if err != nil {
			c.fault(at, "store is not an address of the form postgres://user@host/database")
			return
		}
		if _, set := u.User.Password(); set || u.Query().Has("password") {
			c.fault(at, "store has a password in it; put the password into a file and name that in store_password_file")
		}
	case strings.Contains(*at, "://"):
		c.fault(at, "store is neither a path nor an address of the form postgres://user@host/database")
	case c.cfg.StorePasswordFile != "":
		c.missing(&c.cfg.StorePasswordFile, at, "store_password_file is for a PostgreSQL store; a SQLite file has no password")
	}
}
