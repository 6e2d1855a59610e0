package letter

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"plotwarden/lang"
)

// draft is the first line of both forms.
const draft = "Draft. Read it, change what you know better, and take out this line before you send it."

var (
	//go:embed letter.html
	letterHTML string

	letterTemplate = template.Must(template.New("letter").Funcs(template.FuncMap{"t": lang.English.T, "lang": lang.English.Tag, "en": foreign}).Parse(letterHTML))
)

// HTML writes the draft as one page that needs nothing from outside.
func (l *Letter) HTML() (string, error) {
	var b strings.Builder
	own, err := letterTemplate.Clone()
	if err != nil {
		return "", fmt.Errorf("write the letter: %w", err)
	}
	own.Funcs(template.FuncMap{"t": l.voice.T, "lang": l.voice.Tag})
	if err := own.Execute(&b, map[string]any{"L": l, "Draft": l.voice.T(draft), "Caution": l.voice.T(Caution)}); err != nil {
		return "", fmt.Errorf("write the letter: %w", err)
	}
	return b.String(), nil
}

// foreign puts the language to a text that is English in a letter that is not, so
// that a screen reader says it so.
func foreign(s string) any {
	text, is := lang.Unmark(s)
	if !is {
		return s
	}
	return template.HTML(`<span lang="en">[en] ` + template.HTMLEscapeString(text) + `</span>`) //nolint:gosec // escaped
}

// Markdown writes the draft in CommonMark.
func (l *Letter) Markdown() string {
	var b strings.Builder
	t := l.voice.T
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	list := func(head string, items []string) {
		if len(items) == 0 {
			return
		}
		line("\n**%s**\n", head)
		for _, x := range items {
			line("- %s", plain(x))
		}
	}
	line("*%s*\n\n# %s\n\n%s", t(draft), plain(l.Title), plain(l.Lead))
	for _, it := range l.Items {
		line("\n## %s", plain(it.Name))
		if it.Latin != "" {
			line("\n*%s*", plain(it.Latin))
		}
		list(t("Seen"), it.Seen)
		list(t("Predicted: conditions favour it"), it.Predicted)
		if it.LookFor != "" {
			list(t("What to look for"), []string{it.LookFor})
		}
		list(t("The number to act at"), it.ActAt)
		list(t("What to do first"), it.Do)
		list(t("Active ingredients that are known of"), it.Materials)
		if len(it.Materials) > 0 {
			line("\n%s", plain(t(Caution)))
		}
		if it.NextCheck != "" {
			line("\n**%s** %s", t("Next check:"), plain(it.NextCheck))
		}
	}
	list(t("Blind: nothing can be said, and that is no all-clear"), l.Blind)
	line("\n**%s** %s\n\n%s", t("Next check:"), plain(l.NextCheck), plain(l.NotTold))
	for _, c := range l.Credits {
		line("\n%s", plain(c))
	}
	return b.String()
}

// plain keeps what people typed from being read as marks: a backslash before any
// ASCII punctuation that means something stands for itself (CommonMark 0.31.2,
// section 2.4).
func plain(s string) string {
	var b strings.Builder
	for _, r := range strings.Join(strings.Fields(s), " ") {
		if strings.ContainsRune("\\`*_[]<>#|~", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
