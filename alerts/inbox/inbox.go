// Package inbox is a small mail receiver for the demonstration and for tests:
// it takes mail over SMTP and keeps each one as an .eml file in a folder, which
// any mail program opens.
package inbox

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/mail"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/emersion/go-smtp"
)

// maxMail bounds one mail; a digest has about 20 KB.
const maxMail = 8 << 20

// Inbox is a running receiver.
type Inbox struct {
	dir    string
	server *smtp.Server
	listen net.Listener
	done   chan error

	mu   sync.Mutex
	next int // number of the next mail
}

// Listen receives mail at addr ("127.0.0.1:0" takes a free port) and keeps it
// in dir, which is made where needed. Anyone who reaches the port can leave
// mail, so addr must be a loopback address.
func Listen(addr, dir string) (*Inbox, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("receive mail at %s: %w", addr, err)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("receive mail at %s: the receiver takes mail from anyone; give it a loopback address such as 127.0.0.1:2525", addr)
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, fmt.Errorf("make the mail folder: %w", err)
	}
	in := &Inbox{dir: dir, done: make(chan error, 1)}
	have, err := in.Files()
	if err != nil {
		return nil, err
	}
	if len(have) > 0 { // go on after the last number
		if _, err := fmt.Sscanf(filepath.Base(have[len(have)-1]), "%d", &in.next); err == nil {
			in.next++
		}
	}
	in.listen, err = net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("receive mail at %s: %w", addr, err)
	}
	in.server = smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &session{in: in}, nil }))
	in.server.Domain = "localhost"
	in.server.MaxMessageBytes = maxMail
	in.server.MaxRecipients = 100
	in.server.ReadTimeout = time.Minute
	in.server.WriteTimeout = time.Minute
	in.server.ErrorLog = log.New(io.Discard, "", 0) // what goes wrong, the sender is told
	go func() { in.done <- in.server.Serve(in.listen) }()
	return in, nil
}

// Addr returns the address that it listens at.
func (in *Inbox) Addr() string { return in.listen.Addr().String() }

// Close stops receiving. What was acknowledged is on disk.
func (in *Inbox) Close() error {
	err := in.server.Close()
	if errors.Is(err, smtp.ErrServerClosed) {
		err = nil
	}
	if served := <-in.done; served != nil && !errors.Is(served, net.ErrClosed) && !errors.Is(served, smtp.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	in.done <- nil // closing twice is no error
	if err != nil {
		return fmt.Errorf("stop receiving mail: %w", err)
	}
	return nil
}

// Files returns the paths of the mails kept so far, in order of arrival.
func (in *Inbox) Files() ([]string, error) {
	files, err := filepath.Glob(filepath.Join(in.dir, "*.eml"))
	if err != nil {
		return nil, fmt.Errorf("list the mail folder: %w", err)
	}
	slices.Sort(files)
	return files, nil
}

// keep writes a mail in one step: it is there whole or not at all, also after
// a kill or a power cut.
func (in *Inbox) keep(raw []byte) (err error) {
	in.mu.Lock()
	defer in.mu.Unlock()
	f, err := os.CreateTemp(in.dir, ".part-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(raw)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), filepath.Join(in.dir, fmt.Sprintf("%06d-%s.eml", in.next, stem(raw)))); err != nil {
		return err
	}
	in.next++
	return syncFolder(in.dir)
}

// stem names a mail by its recipient and its Message-ID, so that a mail that
// came twice shows as such in a listing.
func stem(raw []byte) string {
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		return "unreadable"
	}
	to := "someone"
	if a, err := mail.ParseAddress(m.Header.Get("To")); err == nil {
		to, _, _ = strings.Cut(a.Address, "@")
	}
	to = strings.Map(func(r rune) rune {
		if r < 128 && (r == '-' || r == '.' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z') {
			return r
		}
		return '_'
	}, to)
	sum := sha256.Sum256([]byte(m.Header.Get("Message-ID")))
	return to[:min(len(to), 40)] + "-" + hex.EncodeToString(sum[:4])
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// session is one SMTP conversation.
type session struct {
	in   *Inbox
	from string
	to   []string
}

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	s.from = from
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.to = append(s.to, to)
	return nil
}

func (s *session) Data(r io.Reader) error {
	body, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	head := fmt.Sprintf("Return-Path: <%s>\r\nDelivered-To: %s\r\n", s.from, strings.Join(s.to, ", "))
	if err := s.in.keep(append([]byte(head), body...)); err != nil {
		return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: "the mail cannot be kept: " + oneLine(err)}
	}
	return nil
}

func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }

func (s *session) Reset() { s.from, s.to = "", nil }

func (s *session) Logout() error { return nil }
