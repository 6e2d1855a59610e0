// Package pgtest gives tests an empty place in a real PostgreSQL server: the one
// at PLOTWARDEN_POSTGRES, or a private one that it starts with the installed
// binaries in a temporary folder, over a Unix socket.
package pgtest

import (
	"context"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Env names an existing server: the address of a database in which the user may
// make schemas.
const Env = "PLOTWARDEN_POSTGRES"

// Server is one running server.
type Server struct {
	Address string // of its database
	dir     string
	bin     string
	who     *syscall.Credential
	life    io.Closer // the server ends when this process does
	cmd     *exec.Cmd
}

var (
	once    sync.Once
	shared  *Server
	failed  error
	numbers atomic.Int64
)

// Main runs the tests of a package and then ends the server that they shared, if
// there was one.
func Main(m *testing.M) {
	code := m.Run()
	Stop()
	os.Exit(code)
}

// Stop ends the server that the tests shared, for a package with a TestMain of its
// own.
func Stop() {
	if shared != nil {
		shared.Stop("fast")
		_ = os.RemoveAll(shared.dir)
	}
}

// New returns the address of an empty schema, which goes when the test ends. It
// skips the test where there is no server and none can be started; under CI=true
// that fails. The package's TestMain must call Main or Stop.
func New(t testing.TB) string {
	t.Helper()
	return NewIn(t, sharedServer(t))
}

func sharedServer(t testing.TB) *Server {
	t.Helper()
	if a := os.Getenv(Env); a != "" {
		return &Server{Address: a}
	}
	once.Do(func() { shared, failed = start() })
	orSkip(t, failed)
	return shared
}

// Private starts a server that the test may kill.
func Private(t testing.TB) *Server {
	t.Helper()
	s, err := start()
	orSkip(t, err)
	t.Cleanup(func() {
		s.Stop("immediate")
		_ = os.RemoveAll(s.dir)
	})
	return s
}

func orSkip(t testing.TB, err error) {
	t.Helper()
	switch {
	case err == nil:
	case os.Getenv("CI") == "true":
		t.Fatalf("PostgreSQL must be there: %v", err)
	default:
		t.Skipf("no PostgreSQL (%v); install it, or set %s", err, Env)
	}
}

// NewIn is New in a given server.
func NewIn(t testing.TB, s *Server) string {
	t.Helper()
	name := fmt.Sprintf("test_%d_%d", os.Getpid(), numbers.Add(1))
	run := func(statement string) {
		ctx := context.Background()
		c, err := pgx.Connect(ctx, s.Address)
		if err != nil {
			t.Fatalf("connect to the test server: %v", err)
		}
		defer c.Close(ctx)
		if _, err := c.Exec(ctx, statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	run("CREATE SCHEMA " + name)
	if s.cmd == nil || s == shared { // a private server goes as a whole
		t.Cleanup(func() { run("DROP SCHEMA " + name + " CASCADE") })
	}
	u, err := url.Parse(s.Address)
	if err != nil {
		t.Fatalf("address of the test server: %v", err)
	}
	q := u.Query()
	q.Set("search_path", name)
	u.RawQuery = q.Encode()
	return u.String()
}

// start makes and starts a server.
func start() (*Server, error) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if len(found) == 0 {
		p, err := exec.LookPath("initdb")
		if err != nil {
			return nil, fmt.Errorf("initdb is not installed")
		}
		found = []string{filepath.Dir(p)}
	}
	s := &Server{bin: found[len(found)-1]}
	var err error
	if s.dir, err = os.MkdirTemp("", "pw-pg"); err != nil {
		return nil, err
	}
	if os.Getuid() == 0 { // the server refuses to run as root
		if s.who, err = plainUser(); err != nil {
			return nil, err
		}
		if err := os.Chown(s.dir, int(s.who.Uid), int(s.who.Gid)); err != nil {
			return nil, err
		}
	}
	data := filepath.Join(s.dir, "data")
	if out, err := s.command("initdb", "-D", data, "-U", "plot", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	s.Address = "postgres://plot@/postgres?host=" + url.QueryEscape(s.dir)
	return s, s.Start()
}

func plainUser() (*syscall.Credential, error) {
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err1 == nil && err2 == nil {
			return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, nil
		}
	}
	return nil, fmt.Errorf("no user postgres or nobody to run the server as")
}

func (s *Server) command(name string, args ...string) *exec.Cmd {
	c := exec.Command(filepath.Join(s.bin, name), args...)
	c.Dir, c.Env = s.dir, []string{"LC_ALL=C", "PATH=/usr/bin:/bin", "HOME=" + s.dir}
	c.SysProcAttr = &syscall.SysProcAttr{Credential: s.who}
	return c
}

// Start starts the server and waits until it answers.
func (s *Server) Start() error {
	// The shell ends the server when the pipe closes, also when this process is
	// killed.
	s.cmd = s.command("postgres")
	s.cmd.Path = "/bin/sh"
	s.cmd.Args = []string{"sh", "-c", `"$0" "$@" & p=$!; (cat >/dev/null; kill -QUIT $p 2>/dev/null) <&0 & wait $p`,
		filepath.Join(s.bin, "postgres"), "-D", filepath.Join(s.dir, "data"), "-k", s.dir, "-h", "", "-F", "-c", "max_connections=100", "-c", "shared_buffers=64MB", "-c", "max_wal_size=2GB"}
	life, err := s.cmd.StdinPipe()
	if err != nil {
		return err
	}
	log, err := os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	defer log.Close()
	s.life, s.cmd.Stdout, s.cmd.Stderr = life, log, log
	if err := s.cmd.Start(); err != nil {
		return err
	}
	for range 300 {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		c, err := pgx.Connect(ctx, s.Address)
		if err == nil {
			_ = c.Close(ctx)
			cancel()
			return nil
		}
		cancel()
		time.Sleep(50 * time.Millisecond)
	}
	said, _ := os.ReadFile(filepath.Join(s.dir, "log"))
	return fmt.Errorf("the server did not come up: %s", strings.TrimSpace(string(said)))
}

// Stop ends the server: "fast" lets it write, "immediate" is as if it were killed.
func (s *Server) Stop(mode string) {
	if s.cmd == nil {
		return
	}
	_ = s.command("pg_ctl", "stop", "-D", filepath.Join(s.dir, "data"), "-m", mode, "-w", "-t", "20").Run()
	_ = s.life.Close()
	_ = s.cmd.Wait()
	s.cmd = nil
}
