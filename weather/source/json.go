package source

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// DecodeJSON decodes a body into v and names what is wrong with it: empty, a
// web page, cut off, or not the documented shape. Unknown members are ignored:
// services add some without notice.
func DecodeJSON(source string, body []byte, v any) error {
	if cause := bodyCause("", body); cause != "" {
		return Errorf(source, cause, "%s", excerpt(body))
	}
	err := json.Unmarshal(body, v)
	var syntax *json.SyntaxError
	var own *Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &own):
		return err
	case errors.Is(err, io.ErrUnexpectedEOF), errors.As(err, &syntax) && syntax.Offset >= int64(len(body)):
		return Errorf(source, Truncated, "the answer of %d bytes ends too early: %w", len(body), err)
	}
	return Errorf(source, BadJSON, "%w", err)
}

// bodyCause looks at the first bytes of a body that should hold data.
func bodyCause(contentType string, body []byte) string {
	b := bytes.TrimSpace(bytes.TrimPrefix(body, []byte("\xef\xbb\xbf")))
	switch {
	case len(b) == 0:
		return EmptyBody
	case strings.Contains(strings.ToLower(contentType), "html") || b[0] == '<':
		return HTMLBody
	}
	return ""
}

// excerpt returns the start of a body, on one line, for a message.
func excerpt(body []byte) string {
	const most = 120
	s := strings.Join(strings.Fields(strings.ToValidUTF8(string(body[:min(len(body), 4*most)]), "?")), " ")
	if s == "" {
		return "the answer is empty"
	}
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "..."
	}
	return fmt.Sprintf("the answer begins %q", s)
}
