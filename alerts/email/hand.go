package email

import (
	"fmt"

	"github.com/wneessen/go-mail/smtp"
)

// step is a failure with the command that met it.
type step struct {
	command string
	err     error
}

// Error names the command.
func (s *step) Error() string { return fmt.Sprintf("%s: %v", s.command, s.err) }

// Unwrap returns the failure.
func (s *step) Unwrap() error { return s.err }

// hand gives one mail over an open connection. Nil means that the server has
// answered to its end that it took it.
func hand(c *smtp.Client, to envelope, raw []byte) error {
	if err := c.Mail("<" + to.from + ">"); err != nil {
		return &step{"MAIL FROM", err}
	}
	if err := c.Rcpt("<" + to.to + ">"); err != nil {
		return &step{"RCPT TO", err}
	}
	w, err := c.Data()
	if err != nil {
		return &step{"DATA", err}
	}
	if _, err := w.Write(raw); err != nil {
		return &step{"the mail", err}
	}
	if err := w.Close(); err != nil {
		return &step{"end of the mail", err}
	}
	return nil
}
