package signed

import (
	"bytes"
	_ "embed"
	"html/template"
	"net/http"

	"plotwarden/civil"
	"plotwarden/lang"
)

var (
	//go:embed page.html
	pageHTML string
	//go:embed act.css
	styleCSS []byte

	pageTemplate = template.Must(template.New("page").Parse(pageHTML))
)

const styleName = "act.css"

// policy allows the page's own style sheet and its own form, and nothing else.
const policy = "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// page is one page in words that are ready to show.
type page struct {
	Lang, Style, Title string
	For                string
	Lines              []string
	Warn               string // what was wrong with the form

	Button, Do string // empty: no form
	Date       *dateField
	Note       string // beneath the button

	BackAsk, Back string // the form that takes it back
	Site, SiteURL string
}

type dateField struct {
	Label            string
	First, Last, Day civil.Date
}

// words are the sentences of an action.
type words struct{ title, ask, button, after lang.Key }

var wordsOf = map[Action]words{
	Done:        {lang.DoneTitle, lang.DoneAsk, lang.DoneButton, lang.DoneAfter},
	NotNow:      {lang.NotNowTitle, lang.NotNowAsk, lang.NotNowButton, lang.NotNowAfter},
	NotMine:     {lang.NotMineTitle, lang.NotMineAsk, lang.NotMineButton, lang.NotMineAfter},
	Mute:        {lang.MuteTitle, lang.MuteAsk, lang.MuteButton, lang.MuteAfter},
	Unsubscribe: {lang.StopTitle, lang.StopAsk, lang.StopButton, lang.StopAfter},
}

func newPage(c Claim, s Subject) page {
	what := s.What
	if c.Action == Unsubscribe {
		what = s.Site
	}
	p := page{Lang: s.Lang.Tag(), Title: s.Lang.Say(wordsOf[c.Action].title, what), For: s.Lang.Say(lang.ActFor, s.Person, s.Site)}
	if s.Page != "" {
		p.Site, p.SiteURL = s.Lang.Say(lang.ActSite), s.Page
	}
	return p
}

func askPage(c Claim, s Subject, today civil.Date, warn string) page {
	p := newPage(c, s)
	w := wordsOf[c.Action]
	var args []any
	if c.Action == NotNow {
		args = append(args, s.Lang.FullDate(orDefault(c.Until, today)))
	}
	p.Lines = []string{s.Lang.Say(w.ask, args...)}
	p.Button, p.Do, p.Note, p.Warn = s.Lang.Say(w.button), doAct, s.Lang.Say(lang.ActNothingYet), warn
	if c.Action == Mute {
		first, last := muteRange(today)
		p.Date = &dateField{Label: s.Lang.Say(lang.MuteUntil), First: first, Last: last, Day: min(max(orDefault(c.Until, today), first), last)}
	}
	return p
}

func donePage(c Claim, s Subject) page {
	p := newPage(c, s)
	var args []any
	switch c.Action {
	case NotNow, Mute:
		args = append(args, s.Lang.FullDate(c.Until))
	case Unsubscribe:
		args = append(args, s.Site)
	}
	p.Lines = []string{s.Lang.Say(wordsOf[c.Action].after, args...)}
	p.BackAsk, p.Back, p.Do = s.Lang.Say(lang.ActBackAsk), s.Lang.Say(lang.ActBack), doUndo
	return p
}

func undonePage(c Claim, s Subject) page {
	p := newPage(c, s)
	p.Lines = []string{s.Lang.Say(lang.ActTakenBack)}
	return p
}

func faultPage(l lang.Voice, text string) page {
	return page{Lang: l.Tag(), Title: l.Say(lang.LinkFault), Lines: []string{text}}
}

// render writes a page. The address of the page is the authority to act: it must
// not reach other sites, caches or search engines.
func render(w http.ResponseWriter, status int, p page) {
	p.Style = Path + styleName
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, p); err != nil {
		http.Error(w, "the page could not be made", http.StatusInternalServerError)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Language", p.Lang)
	h.Set("Content-Security-Policy", policy)
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Robots-Tag", "noindex, nofollow")
	h.Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // a reader that has gone needs no answer
}

func style(w http.ResponseWriter, _ *http.Request) {
	h := w.Header()
	h.Set("Content-Type", "text/css; charset=utf-8")
	h.Set("Cache-Control", "public, max-age=3600")
	h.Set("X-Content-Type-Options", "nosniff")
	_, _ = w.Write(styleCSS)
}
