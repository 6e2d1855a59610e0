package web

import (
	"fmt"
	"net/http"
	"runtime/debug"
)

// fault is what the error page shows.
type fault struct{ Title, Text string }

func (s *server) notFound(w http.ResponseWriter, r *http.Request, text string) {
	f := fault{"Not found", text}
	s.show(w, r, http.StatusNotFound, "error", frame{Title: f.Title, Body: f})
}

// fail logs a fault once and answers with a page that shows none of its inside.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	s.Log.ErrorContext(r.Context(), "page failed", "path", r.URL.Path, "error", err)
	f := fault{"This page could not be made", "Something went wrong on the server. The fault is in its log. What you saw on other pages still holds."}
	t := s.pages.byName["error"]
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusInternalServerError)
	if err := t.ExecuteTemplate(w, "layout", frame{Title: f.Title, Demo: s.Demo, Attribution: s.Attribution, Version: s.Version, Body: f}); err != nil {
		s.Log.ErrorContext(r.Context(), "error page failed", "error", err)
	}
}

// rescue turns a panic in a handler into a 500, so that one page cannot end the
// service.
func (s *server) rescue(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler { //nolint:errorlint // compared as net/http does
					panic(p)
				}
				s.fail(w, r, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
			}
		}()
		next.ServeHTTP(w, r)
	})
}
