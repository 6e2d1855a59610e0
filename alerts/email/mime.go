package email

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"net/textproto"
	"strings"
	"time"
)

// envelope is whom the mail is from and for, as the server is told.
type envelope struct{ from, to string }

// write makes the mail itself. The same mail gives the same bytes.
func (m *Mail) write(from string) ([]byte, envelope, error) {
	sender, err := mail.ParseAddress(from)
	if err != nil {
		return nil, envelope{}, fmt.Errorf("sender %q: %w", from, err)
	}
	rcpt, err := mail.ParseAddress(m.To)
	if err != nil {
		return nil, envelope{}, fmt.Errorf("address %q: %w", m.To, err)
	}
	if strings.ContainsAny(m.Unsubscribe, "\r\n<> ") || strings.ContainsAny(m.List+m.ID+m.CID, "\r\n") {
		return nil, envelope{}, errors.New("the address to unsubscribe, an id or the list id has a character that ends a header")
	}
	var b bytes.Buffer
	head := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s: %s\r\n", name, value)
		}
	}
	head("Date", m.Date.Format(time.RFC1123Z))
	head("From", sender.String())
	head("To", rcpt.String())
	head("Message-ID", "<"+m.ID+">")
	head("Subject", subject(m.Subject))
	// Says to other programs that nobody typed it, so that none answers it
	// (RFC 3834, section 5).
	head("Auto-Submitted", "auto-generated")
	head("List-Id", m.List)
	if m.Unsubscribe != "" {
		head("List-Unsubscribe", "<"+m.Unsubscribe+">")
		head("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
	}
	head("MIME-Version", "1.0")
	p := m.parts()
	for _, k := range []string{"Content-Type", "Content-Transfer-Encoding"} {
		head(k, p.head.Get(k))
	}
	b.WriteString("\r\n")
	if err := p.body(&b); err != nil {
		return nil, envelope{}, err
	}
	return b.Bytes(), envelope{sender.Address, rcpt.Address}, nil
}

// subject encodes what is not ASCII and folds between the encoded words (RFC 2047,
// section 2: a line has 76 characters at the most).
func subject(s string) string {
	return strings.ReplaceAll(mime.QEncoding.Encode("utf-8", s), "?= =?", "?=\r\n =?")
}

// part is one part of a mail.
type part struct {
	head textproto.MIMEHeader
	body func(w io.Writer) error
}

// parts nests what there is: the attachment beside the rest, the picture beside
// the HTML that shows it, the HTML as the other form of the text (RFC 2046,
// section 5.1; RFC 2387).
func (m *Mail) parts() part {
	p := m.text("text/plain", m.Text)
	if m.HTML != "" {
		html := m.text("text/html", m.HTML)
		if len(m.Picture) > 0 {
			html = m.multi("related", `; type="text/html"`, html, encoded(textproto.MIMEHeader{
				"Content-Type": {`image/png; name="lead-line.png"`}, "Content-Id": {"<" + m.CID + ">"}, "Content-Disposition": {`inline; filename="lead-line.png"`},
			}, m.Picture))
		}
		p = m.multi("alternative", "", p, html)
	}
	if len(m.Calendar) > 0 {
		p = m.multi("mixed", "", p, encoded(textproto.MIMEHeader{
			"Content-Type": {"text/calendar; charset=utf-8; method=PUBLISH"}, "Content-Disposition": {`attachment; filename="garden.ics"`},
		}, m.Calendar))
	}
	return p
}

func (m *Mail) text(kind, text string) part {
	return part{textproto.MIMEHeader{"Content-Type": {kind + "; charset=utf-8"}, "Content-Transfer-Encoding": {"quoted-printable"}}, func(w io.Writer) error {
		q := quotedprintable.NewWriter(w)
		if _, err := io.WriteString(q, text); err != nil {
			return err
		}
		return q.Close()
	}}
}

func encoded(head textproto.MIMEHeader, body []byte) part {
	head.Set("Content-Transfer-Encoding", "base64")
	return part{head, func(w io.Writer) error {
		s := base64.StdEncoding.EncodeToString(body)
		for len(s) > 0 {
			n := min(76, len(s))
			if _, err := io.WriteString(w, s[:n]+"\r\n"); err != nil {
				return err
			}
			s = s[n:]
		}
		return nil
	}}
}

// multi joins parts. The boundary follows from the mail's id, so that the same
// mail gives the same bytes, and differs from kind to kind, as nested ones must. No
// encoded part has a line that begins with it: = of quoted-printable is followed by
// digits or the line's end, and base64 has no hyphen.
func (m *Mail) multi(kind, more string, parts ...part) part {
	stem, _, _ := strings.Cut(m.ID, "@")
	boundary := "=_" + kind + "-" + clean(stem)
	return part{textproto.MIMEHeader{"Content-Type": {"multipart/" + kind + more + `; boundary="` + boundary + `"`}}, func(w io.Writer) error {
		mw := multipart.NewWriter(w)
		if err := mw.SetBoundary(boundary); err != nil {
			return err
		}
		for _, p := range parts {
			pw, err := mw.CreatePart(p.head)
			if err != nil {
				return err
			}
			if err := p.body(pw); err != nil {
				return err
			}
		}
		return mw.Close()
	}}
}

// clean keeps what a boundary may hold (RFC 2046, section 5.1.1: 70 characters).
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return -1
	}, s)
	return s[:min(50, len(s))]
}
