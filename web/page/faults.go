package page

import (
	"encoding/json"
	"fmt"
	"net/http"
	"runtime/debug"
)

// Fault is what the error page shows.
type Fault struct{ Title, Text string }

// Say answers with a page that holds a title and one sentence.
func (k *Kit) Say(w http.ResponseWriter, r *http.Request, status int, f Fault) {
	if isAPI(r) {
		problem(w, status, f)
		return
	}
	k.own.Show(w, r, status, "error", Frame{Title: f.Title, Body: f})
}

// NotFound says that a page is not there.
func (k *Kit) NotFound(w http.ResponseWriter, r *http.Request, text string) {
	k.Say(w, r, http.StatusNotFound, Fault{"Not found", text})
}

// Refuse says that the reader may not do that.
func (k *Kit) Refuse(w http.ResponseWriter, r *http.Request, text string) {
	k.Say(w, r, http.StatusForbidden, Fault{"Not allowed", text})
}

// Fail logs a fault once and answers with a page that shows none of its inside.
func (k *Kit) Fail(w http.ResponseWriter, r *http.Request, err error) {
	k.o.Log.ErrorContext(r.Context(), "page failed", "path", r.URL.Path, "error", err)
	f := Fault{"This page could not be made", "Something went wrong on the server. The fault is in its log. What you saw on other pages still holds."}
	if isAPI(r) {
		problem(w, http.StatusInternalServerError, f)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusInternalServerError)
	if err := k.own.execute(w, "en", "error", shell{Frame: Frame{Title: f.Title, Body: f}, Language: "en", Demo: k.o.Demo, Attribution: k.credits(), Version: k.o.Version}); err != nil {
		k.o.Log.ErrorContext(r.Context(), "error page failed", "error", err)
	}
}

// Rescue turns a panic in a handler into a 500, so that one page cannot end the
// service.
func (k *Kit) Rescue(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler { //nolint:errorlint // compared as net/http does
					panic(p)
				}
				k.Fail(w, r, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// problem answers a program as RFC 9457 has it.
func problem(w http.ResponseWriter, status int, f Fault) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]any{"title": f.Title, "status": status, "detail": f.Text}) // whoever asked is gone
}
