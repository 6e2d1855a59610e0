package page

import "net/http"

// T returns what puts a fixed English text, with the verbs of fmt, into the language
// of a reader.
func (k *Kit) T(r *http.Request) func(text string, args ...any) string {
	return translator(k.Language(r))
}
