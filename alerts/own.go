package alerts

import (
	"errors"
	"fmt"
	htmltemplate "html/template"
	"io/fs"
	"slices"
	"strings"
	"text/template"
	"time"

	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
)

// The files of an operator's own templates. Either may be absent.
const (
	OwnHTML = "digest.html"
	OwnText = "digest.txt"
)

// Templates render digests with the operator's own templates, and with the
// built-in ones where there is none or where one is broken. The zero value has
// none.
type Templates struct {
	html map[garden.Language]*htmltemplate.Template // by whether it is Spanish
	text map[garden.Language]*template.Template
}

// maxTemplate bounds a template's file, bytes.
const maxTemplate = 256 << 10

// LoadTemplates reads the operator's templates from a folder and tries each on
// an example with every part a digest can have. One that does not parse, fails,
// or leaves out what must be said wherever it applies is not used: faults has
// one error for it, which names the file.
func LoadTemplates(folder fs.FS) (t *Templates, faults []error) {
	t = &Templates{}
	example := exampleDigest()
	use := func(name string, parse func(text string) error, render func() (string, error), forget func()) {
		text, err := readTemplate(folder, name)
		if errors.Is(err, fs.ErrNotExist) {
			return
		}
		if err == nil {
			err = parse(text)
		}
		if err == nil {
			var got string
			if got, err = render(); err == nil {
				err = saysAll(got)
			}
		}
		if err != nil {
			forget()
			faults = append(faults, fmt.Errorf("template %s is not used, the built-in one is: %w", name, err))
		}
	}
	use(OwnHTML, func(s string) (err error) {
		t.html = map[garden.Language]*htmltemplate.Template{}
		for _, v := range []lang.Voice{lang.New("", ""), lang.New(garden.Spanish, "")} {
			if t.html[v.Language()], err = htmltemplate.New(OwnHTML).Funcs(digestFuncs(v)).Parse(s); err != nil {
				return err
			}
		}
		return nil
	}, func() (string, error) { return t.ownHTML(example) }, func() { t.html = nil })
	use(OwnText, func(s string) (err error) {
		t.text = map[garden.Language]*template.Template{}
		for _, v := range []lang.Voice{lang.New("", ""), lang.New(garden.Spanish, "")} {
			if t.text[v.Language()], err = template.New(OwnText).Funcs(template.FuncMap(digestFuncs(v))).Parse(s); err != nil {
				return err
			}
		}
		return nil
	}, func() (string, error) { return t.ownText(example) }, func() { t.text = nil })
	return t, faults
}

func readTemplate(folder fs.FS, name string) (string, error) {
	info, err := fs.Stat(folder, name)
	if err != nil {
		return "", err
	}
	if info.Size() > maxTemplate {
		return "", fmt.Errorf("it has %d bytes; %d are the most", info.Size(), maxTemplate)
	}
	b, err := fs.ReadFile(folder, name)
	return string(b), err
}

// saysAll looks for the words that no message may leave out.
func saysAll(got string) error {
	flat := strings.Join(strings.Fields(got), " ")
	e := exampleDigest()
	for what, text := range map[string]string{
		"the caution (.Caution of each of .D.New)":   Caution,
		"what is blind (.Since of each of .D.Blind)": e.Blind[0].Since,
		"the lead (.D.Lead)":                         e.Lead,
		"what is new (.Threat of each of .D.New)":    e.New[0].Threat,
		"the demonstration's note (.D.Demo)":         e.Demo,
	} {
		if !strings.Contains(flat, text) {
			return fmt.Errorf("it leaves out %s", what)
		}
	}
	return nil
}

// Render writes both forms of a digest. Where an own template fails on it the
// built-in form is there all the same, and faults says so.
func (t *Templates) Render(d *Digest) (text, html string, faults []error) {
	text = d.Text()
	html, err := d.HTML()
	if err != nil {
		faults = append(faults, err)
	}
	if t == nil {
		return text, html, faults
	}
	if t.html != nil {
		if got, err := t.ownHTML(d); err != nil {
			faults = append(faults, fmt.Errorf("template %s failed, the built-in one is used: %w", OwnHTML, err))
		} else {
			html = got
		}
	}
	if t.text != nil {
		if got, err := t.ownText(d); err != nil {
			faults = append(faults, fmt.Errorf("template %s failed, the built-in one is used: %w", OwnText, err))
		} else {
			text = got
		}
	}
	return text, html, faults
}

func (t *Templates) ownHTML(d *Digest) (string, error) {
	var b strings.Builder
	err := t.html[d.voice().Language()].Execute(&b, templateData(d))
	return b.String(), err
}

func (t *Templates) ownText(d *Digest) (string, error) {
	var b strings.Builder
	err := t.text[d.voice().Language()].Execute(&b, templateData(d))
	return b.String(), err
}

// exampleDigest has every part that a digest can have. It is invented.
func exampleDigest() *Digest {
	n := Notice{
		Readiness: plan.Act, Threat: "Example threat", Beds: []Bed{{"Bed 1: Tomato", "https://beds.example/x"}}, Change: "New.", When: "by tomorrow",
		Sure: "Most likely 12 Jun.", Why: "An example.", First: []StepLine{{"Cover the bed.", "by tomorrow"}}, More: 1, Next: "Cover the bed.",
		Dry: "today 06:00 to 09:00", Caution: Caution, Numbers: []string{"total: 612 degree-days F (confirmed)"}, Model: "Example, Author 1999",
		Link: "https://beds.example/x", Acts: []Act{{"Done", "https://beds.example/act/x"}},
	}
	return &Digest{
		SiteID: "north", Site: "North", PersonID: "ada", Person: "Ada", Slot: time.Date(2026, 6, 4, 6, 0, 0, 0, time.UTC), Day: "Thu 4 Jun",
		Subject: "North: 1 to act on — Thu 4 Jun", Lead: "1 to act on, 1 blind.", Demo: "This is an example.", New: []Notice{n}, Open: slices.Clone([]Notice{n}),
		Near: []string{"Example threat: found at South on 3 Jun."}, Apart: []string{"Two sources differ."}, Due: []string{"Today 07:00: rinse it off."},
		Picture: Picture{CID: "line@example", Alt: "An example.", Width: 360, Height: 100},
		Gone:    []string{"Example threat, Bed 2."}, Blind: []Blind{{Since: "Blind since Tue 2 Jun 14:00.", What: []string{"Example threat, Bed 3"}}},
		Dry: []DryDay{{"today", "06:00 to 09:00", true}, {"tomorrow", "none: wind", false}}, Rest: "Also watched: 1 quiet.", Left: "Left out by your choice: 1 done by you.",
		Link: "https://beds.example", Stop: "https://beds.example/act/y", Subscribe: []Act{{CalendarLabel, "https://beds.example/calendar/z"}}, Credits: []string{"Weather by a service"},
		Told: &Told{},
	}
}
