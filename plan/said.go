package plan

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
)

// Said is a sentence before it is written: its English form, which is its key in
// the catalogue of languages, and what stands in it. The same sentence can so be
// written in a reader's language and units.
type Said struct {
	// Key has one %s for each argument; without arguments it is taken as it is.
	Key  string `json:"key"`
	Args []Arg  `json:"args,omitempty"`
}

// ArgKind says what an argument is.
type ArgKind string

// The kinds of argument, with the fields that they use.
const (
	ArgDay    ArgKind = "day"    // Day
	ArgMoment ArgKind = "moment" // Day and Minute, local
	ArgNumber ArgKind = "number" // Value alone; its unit is another argument or in the key
	ArgFigure ArgKind = "figure" // Value with Unit, which is turned into the reader's
	ArgCount  ArgKind = "count"  // Value and the noun of one, Text: "day"
	ArgTerm   ArgKind = "term"   // Text, English, which a language may have
	ArgName   ArgKind = "name"   // Text as people typed it, in every language the same
	ArgSaid   ArgKind = "said"   // Said, within the sentence
	ArgList   ArgKind = "list"   // List, with commas between
)

// Arg is one thing that stands in a sentence.
type Arg struct {
	Kind   ArgKind    `json:"kind"`
	Day    civil.Date `json:"day,omitempty"`
	Minute int        `json:"minute,omitempty"` // of the local day, 0 to 1439
	Value  float64    `json:"value,omitempty"`
	Unit   string     `json:"unit,omitempty"` // "mm", "C", "degree-days F"
	Text   string     `json:"text,omitempty"`
	Said   *Said      `json:"said,omitempty"`
	List   []Arg      `json:"list,omitempty"`
}

// Digits writes a figure of a sentence without digits that mean nothing.
func Digits(x float64) string {
	if math.Abs(x) >= 20 || x == math.Trunc(x) {
		return strconv.FormatFloat(math.Round(x), 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}

func said(key string, args ...Arg) Said { return Said{Key: key, Args: args} }

func onDay(d civil.Date) Arg            { return Arg{Kind: ArgDay, Day: d} }
func figure(x float64, unit string) Arg { return Arg{Kind: ArgFigure, Value: x, Unit: unit} }
func digits(x float64) Arg              { return Arg{Kind: ArgNumber, Value: x} }
func counted(n int, noun string) Arg    { return Arg{Kind: ArgCount, Value: float64(n), Text: noun} }
func term(s string) Arg                 { return Arg{Kind: ArgTerm, Text: s} }
func given(s string) Arg                { return Arg{Kind: ArgName, Text: s} }
func within(s Said) Arg                 { return Arg{Kind: ArgSaid, Said: &s} }
func atTime(site *garden.Site, t time.Time) Arg {
	l := t.In(site.Location())
	return Arg{Kind: ArgMoment, Day: civil.Of(t, site.Location()), Minute: 60*l.Hour() + l.Minute()}
}

// English writes the sentence in English and metric units, with a capital.
func (s Said) English() string { return upper(s.english()) }

func (s Said) english() string {
	if len(s.Args) == 0 {
		return s.Key
	}
	args := make([]any, len(s.Args))
	for i := range s.Args {
		args[i] = s.Args[i].english()
	}
	return fmt.Sprintf(s.Key, args...)
}

func (a *Arg) english() string {
	switch a.Kind {
	case ArgDay:
		return day(a.Day)
	case ArgMoment:
		return fmt.Sprintf("%s %02d:%02d", day(a.Day), a.Minute/60, a.Minute%60)
	case ArgNumber:
		return Digits(a.Value)
	case ArgFigure:
		return strings.TrimSpace(Digits(a.Value) + " " + a.Unit)
	case ArgCount:
		return count(int(a.Value), a.Text, a.Text+"s")
	case ArgSaid:
		if a.Said == nil {
			return ""
		}
		return a.Said.english()
	case ArgList:
		out := make([]string, len(a.List))
		for i := range a.List {
			out[i] = a.List[i].english()
		}
		return strings.Join(out, ", ")
	}
	return a.Text
}

// tell sets what a step says.
func (s *Step) tell(all ...Said) { s.Text, s.Said = inEnglish(all), all }

// wait sets what a step waits for; it is put into sentences, so that it has no
// capital.
func (s *Step) wait(all ...Said) {
	words := make([]string, len(all))
	for i := range all {
		words[i] = all[i].english()
	}
	s.When, s.WhenSaid = strings.Join(words, ", "), all
	if len(all) == 0 {
		s.When, s.WhenSaid = "", nil
	}
}

// called names a number by a sentence.
func called(name Said, n Number) Number {
	n.Name, n.Said = name.english(), &name
	return n
}

// inEnglish joins sentences.
func inEnglish(all []Said) string {
	out := make([]string, len(all))
	for i := range all {
		out[i] = all[i].English()
	}
	return strings.Join(out, " ")
}

// because makes a reason of its sentences.
func because(code string, all ...Said) Reason {
	return Reason{Code: code, Text: inEnglish(all), Said: all}
}

// add puts a further sentence behind a reason.
func (r *Reason) add(more ...Said) {
	r.Said = append(r.Said[:len(r.Said):len(r.Said)], more...)
	r.Text = inEnglish(r.Said)
}
