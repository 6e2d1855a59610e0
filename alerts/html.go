package alerts

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"plotwarden/plan"
)

//go:embed templates/digest.html
var digestHTML string

var digestTemplate = template.Must(template.New("digest").Funcs(digestFuncs).Parse(digestHTML))

// digestFuncs are what templates of a digest may call.
var digestFuncs = template.FuncMap{
	"look":  LookOf,
	"upper": strings.ToUpper,
	"more":  moreWords,
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
	"advice": func() string { return blindAdvice },
}

// templateData is what templates of a digest get.
func templateData(d *Digest) map[string]any { return map[string]any{"D": d, "Footer": d.footer()} }

// HTML renders the digest as one HTML page that needs nothing from outside: no
// picture, no font, no script. Styles stand inline, because many mail programs
// drop all others; the ones in the head only adapt it to dark ground.
func (d *Digest) HTML() (string, error) {
	var b strings.Builder
	if err := digestTemplate.Execute(&b, templateData(d)); err != nil {
		return "", fmt.Errorf("render digest %s: %w", d.Key("html"), err)
	}
	return b.String(), nil
}
