package page

import (
	"fmt"
	"net/http"
)

// Languages returns the languages that pages are made in.
func Languages() []string { return []string{"en"} }

// Language returns the reader's language.
func (k *Kit) Language(r *http.Request) string { return "en" }

func translator(language string) func(text string, args ...any) string {
	return func(text string, args ...any) string {
		if len(args) == 0 {
			return text
		}
		return fmt.Sprintf(text, args...)
	}
}
