package bench

import (
	"net/http"

	"plotwarden/web/page"
)

type letterView struct {
	Name, At       string
	Markdown, HTML page.Field
}

// letterPage shows the draft, to read, edit, copy and take away.
func (s *server) letterPage(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok {
		return
	}
	t := s.Kit.T(r)
	l, err := s.Letter(r.Context(), x.ID)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	html, err := l.HTML()
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	v := letterView{
		Name: name(x), At: at(x.ID),
		Markdown: page.Field{Name: "text", Label: t("The letter as Markdown"), Type: "textarea", Value: l.Markdown(), Hint: t("Read it, change what you know better, then copy it or take it away.")},
		HTML:     page.Field{Name: "html", Label: t("The same as HTML"), Type: "textarea", Value: html},
	}
	s.pages.Show(w, r, http.StatusOK, "letter", page.Frame{Title: t("Newsletter of %s", v.Name), Here: "region", Body: v})
}

// download gives back what was edited, as a file.
func (s *server) download(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok {
		return
	}
	if html := r.PostFormValue("html"); html != "" {
		attach(w, "letter-"+x.ID+".html", "text/html; charset=utf-8", []byte(html))
		return
	}
	attach(w, "letter-"+x.ID+".md", "text/markdown; charset=utf-8", []byte(r.PostFormValue("text")))
}
