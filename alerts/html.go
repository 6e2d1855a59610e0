package alerts

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
)

//go:embed templates/digest.html
var digestHTML string

var digestTemplates = map[garden.Language]*template.Template{}

func init() {
	for _, v := range []lang.Voice{lang.New(garden.English, ""), lang.New(garden.Spanish, "")} {
		digestTemplates[v.Language()] = template.Must(template.New("digest").Funcs(digestFuncs(v)).Parse(digestHTML))
	}
}

// digestFuncs are what templates of a digest may call.
func digestFuncs(v lang.Voice) template.FuncMap {
	return template.FuncMap{
		"t":     v.T,
		"look":  LookOf,
		"word":  v.Ready,
		"upper": strings.ToUpper,
		"more":  func(n int) string { return more(v, n) },
		"lang": func() string {
			return v.Tag()
		},
		// en marks a text that is English, so that a screen reader says it so.
		"en": func(s string) any {
			text, foreign := lang.Unmark(s)
			if !foreign {
				return s
			}
			return template.HTML(`<span lang="en">[en] ` + template.HTMLEscapeString(text) + `</span>`) //nolint:gosec // escaped
		},
		"foreign": func() string {
			if !v.IsEnglish() {
				return v.T(englishNote)
			}
			return ""
		},
		"cid": func(id string) template.URL { return template.URL("cid:" + id) }, //nolint:gosec // an id of our own
		// ink is the colour of a readiness for a style attribute.
		"ink": func(r plan.Readiness) template.CSS { return template.CSS(LookOf(r).Light) },
		// darkInks are the rules that change those colours on dark ground.
		"darkInks": func() template.CSS {
			var b strings.Builder
			for r := plan.Present; r <= plan.Quiet; r++ {
				l := LookOf(r)
				fmt.Fprintf(&b, ".r-%s{color:%s!important;border-color:%s!important}", l.Word, l.Dark, l.Dark)
			}
			return template.CSS(b.String())
		},
		"blind":  func() plan.Readiness { return plan.Blind },
		"advice": func() string { return v.T(blindAdvice) },
	}
}

// templateData is what templates of a digest get.
func templateData(d *Digest) map[string]any { return map[string]any{"D": d, "Footer": d.footer()} }

// HTML renders the digest as one HTML page that needs nothing from outside: no
// picture, no font, no script. Styles stand inline, because many mail programs
// drop all others; the ones in the head only adapt it to dark ground.
func (d *Digest) HTML() (string, error) {
	var b strings.Builder
	if err := digestTemplates[d.voice().Language()].Execute(&b, templateData(d)); err != nil {
		return "", fmt.Errorf("render digest %s: %w", d.Key("html"), err)
	}
	return b.String(), nil
}
