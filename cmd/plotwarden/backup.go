package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"plotwarden/store"
	"plotwarden/store/dump"
	"plotwarden/store/engine"
	"plotwarden/store/engines"
)

type backupCmd struct {
	configFlag
	Force bool   `help:"Write over a file that is there."`
	Out   string `arg:"" placeholder:"OUT" help:"File to write."`
}

// Help describes the output.
func (*backupCmd) Help() string {
	return `Writes everything that the store of a configuration has into one file, as it stood at one moment; the service may run meanwhile. The file holds what the store holds, secrets of messages and hashes of passwords too: keep it as you keep the store. It is read again before it gets its name. Prints the rows and a hash of each table.`
}

// Run writes and checks the file.
func (c *backupCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, _, err := c.load(s.err)
	if err != nil {
		return err
	}
	if _, err := os.Stat(c.Out); err == nil && !c.Force {
		return inputError{fmt.Errorf("%s is there already; choose another name, or add --force", c.Out)}
	}
	st, err := openStore(ctx, cfg)
	if err != nil {
		return err
	}
	defer closing(st, &err)
	if err := st.Check(ctx); err != nil {
		return fmt.Errorf("nothing was written, so that no good backup goes for a bad one: %w", err)
	}
	sum, err := writeBackup(ctx, c.Out, st)
	if err != nil {
		return err
	}
	fmt.Fprint(s.out, sum)
	return nil
}

// writeBackup writes beside the file, reads what it wrote, and then gives it its
// name: a crash or a full disk leaves the earlier file.
func writeBackup(ctx context.Context, out string, st engine.Full) (sum dump.Summary, err error) {
	f, err := os.CreateTemp(filepath.Dir(out), filepath.Base(out)+".*.part") // mode 600
	if err != nil {
		return nil, fmt.Errorf("write the backup: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if sum, err = dump.Write(ctx, f, st, time.Now(), programVersion()); err != nil {
		return nil, err
	}
	if err := f.Sync(); err != nil {
		return nil, fmt.Errorf("write the backup: %w", err)
	}
	if _, err := f.Seek(0, 0); err != nil {
		return nil, fmt.Errorf("read the backup again: %w", err)
	}
	again, err := dump.Verify(f)
	if err != nil {
		return nil, err
	}
	if d := sum.Diff(again); d != "" {
		return nil, fmt.Errorf("the disk gives back other than was written: %s", d)
	}
	if err := os.Rename(f.Name(), out); err != nil {
		return nil, fmt.Errorf("write the backup: %w", err)
	}
	return sum, f.Close()
}

type restoreCmd struct {
	configFlag
	Force bool   `help:"Replace what the store has; a damaged SQLite file is put aside."`
	In    string `arg:"" placeholder:"IN" help:"File that backup wrote."`
}

// Help describes the output.
func (*restoreCmd) Help() string {
	return `Fills the store of a configuration from a backup, of whatever engine that was: all of it or, when the file is not whole, nothing. Stop the service before. A store that has something is refused without --force. Prints the rows and a hash of each table, as backup did.`
}

// Run fills the store.
func (c *restoreCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, _, err := c.load(s.err)
	if err != nil {
		return err
	}
	f, err := os.Open(c.In)
	if err != nil {
		return inputError{fmt.Errorf("read the backup: %w", err)}
	}
	defer f.Close()
	if _, err := dump.Verify(f); err != nil { // before anything is touched
		return inputError{fmt.Errorf("%s: %w", c.In, err)}
	}
	if _, err := f.Seek(0, 0); err != nil {
		return fmt.Errorf("read the backup: %w", err)
	}
	password, err := cfg.StorePassword()
	if err != nil {
		return inputError{err}
	}
	o := engines.Options{Password: password}
	st, err := engines.Open(ctx, cfg.Store, o)
	if errors.Is(err, store.ErrDamaged) && c.Force && !engines.Postgres(cfg.Store) {
		to, perr := putAside(cfg.Store, time.Now())
		if perr != nil {
			return errors.Join(err, perr)
		}
		fmt.Fprintf(s.err, "the damaged file is now %s\n", to)
		st, err = engines.Open(ctx, cfg.Store, o)
	}
	if err != nil {
		return err
	}
	defer closing(st, &err)
	sum, err := dump.Read(ctx, f, st, c.Force)
	switch {
	case errors.Is(err, engine.ErrNotEmpty):
		return inputError{fmt.Errorf("%w; --force replaces what it has", err)}
	case errors.Is(err, dump.ErrBroken):
		return inputError{fmt.Errorf("%s: %w", c.In, err)}
	case err != nil:
		return err
	}
	fmt.Fprint(s.out, sum)
	return nil
}

// putAside renames a SQLite file with what belongs to it.
func putAside(path string, now time.Time) (string, error) {
	to := path + ".damaged-" + now.UTC().Format("20060102-150405")
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Rename(path+end, to+end); err != nil && !(end != "" && errors.Is(err, fs.ErrNotExist)) {
			return "", fmt.Errorf("put the damaged file aside: %w", err)
		}
	}
	return to, nil
}
