package page

import (
	"bytes"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"html/template"
	"mime"
	"net/http"
	"net/url"
	"strings"

	"plotwarden/access"
)

// CheckField is the name of the hidden field that {{check}} puts into a form, and
// CheckHeader that of the header in which a script may send the same.
const (
	CheckField  = "check"
	CheckHeader = "X-Check"
)

// checkMark stands in a rendered page where the reader's secret goes. Templates are
// parsed once for all readers, and {{check}} must work at any depth of one. Nobody
// outside knows the mark, so nobody can place it.
var checkMark = rand.Text()

// check is {{check}}: every <form method="post"> needs it.
func check() template.HTML {
	return template.HTML(`<input type="hidden" name="` + CheckField + `" value="` + checkMark + `">`) //nolint:gosec // two constants and a random word
}

func fillCheck(page []byte, who access.Who) []byte {
	return bytes.ReplaceAll(page, []byte(checkMark), []byte(template.HTMLEscapeString(who.Check)))
}

// checked reads the form and compares its secret. It answers where it does not
// fit, and says whether it does.
func (k *Kit) checked(w http.ResponseWriter, r *http.Request, who access.Who) bool {
	if !k.ReadForm(w, r) { // handlers count on it, however the secret comes
		return false
	}
	got := r.Header.Get(CheckHeader)
	if got == "" {
		got = r.PostFormValue(CheckField)
	}
	if who.Check == "" || subtle.ConstantTimeCompare([]byte(got), []byte(who.Check)) != 1 {
		k.Refuse(w, r, "This form is from before you signed in. Go back, load the page again, and send it once more.")
		return false
	}
	return true
}

// formMemory is how much of a form with files is held in memory, bytes; the rest
// goes to temporary files.
const formMemory = 1 << 20

// ReadForm parses the form of a request. It answers where that fails, and says
// whether it went well. Mux did it for every form that brought {{check}}.
func (k *Kit) ReadForm(w http.ResponseWriter, r *http.Request) bool {
	var err error
	if t, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); t == "multipart/form-data" {
		err = r.ParseMultipartForm(formMemory)
	} else {
		err = r.ParseForm()
	}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		k.Say(w, r, http.StatusRequestEntityTooLarge, Fault{"Too large", "What was sent is too large. Send less, or a smaller picture."})
	case err != nil:
		k.Say(w, r, http.StatusBadRequest, Fault{"Not readable", "The form could not be read. Go back and send it once more."})
	}
	return err == nil
}

// SignInPath is where people sign in.
const SignInPath = "/sign-in"

// AskIn answers somebody who has to sign in first: a browser that wants a page is
// sent to do so and comes back, all others get 401.
func (k *Kit) AskIn(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	if safe(r.Method) && !isAPI(r) {
		to := SignInPath
		if at := r.URL.RequestURI(); at != "/" {
			to += "?to=" + url.QueryEscape(at)
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	k.Say(w, r, http.StatusUnauthorized, Fault{"Not signed in", "Sign in, then try again."})
}

func isJSON(r *http.Request) bool {
	t, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return t == "application/json" || t == "application/merge-patch+json"
}

func isAPI(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/") }
