package letter

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"
)

// draft is the first line of both forms.
const draft = "Draft. Read it, change what you know better, and take out this line before you send it."

var (
	//go:embed letter.html
	letterHTML string

	letterTemplate = template.Must(template.New("letter").Parse(letterHTML))
)

// HTML writes the draft as one page that needs nothing from outside.
func (l *Letter) HTML() (string, error) {
	var b strings.Builder
	if err := letterTemplate.Execute(&b, map[string]any{"L": l, "Draft": draft, "Caution": Caution}); err != nil {
		return "", fmt.Errorf("write the letter: %w", err)
	}
	return b.String(), nil
}

// Markdown writes the draft in CommonMark.
func (l *Letter) Markdown() string {
	var b strings.Builder
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
	line("*%s*\n\n# %s\n\n%s", draft, plain(l.Title), plain(l.Lead))
	for _, it := range l.Items {
		line("\n## %s", plain(it.Name))
		if it.Latin != "" {
			line("\n*%s*", plain(it.Latin))
		}
		list("Seen", it.Seen)
		list("Predicted: conditions favour it", it.Predicted)
		if it.LookFor != "" {
			list("What to look for", []string{it.LookFor})
		}
		list("The number to act at", it.ActAt)
		list("What to do first", it.Do)
		list("Active ingredients that are known of", it.Materials)
		if len(it.Materials) > 0 {
			line("\n%s", plain(Caution))
		}
		if it.NextCheck != "" {
			line("\n**Next check:** %s", plain(it.NextCheck))
		}
	}
	list("Blind: nothing can be said, and that is no all-clear", l.Blind)
	line("\n**Next check:** %s\n\n%s", plain(l.NextCheck), plain(l.NotTold))
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
