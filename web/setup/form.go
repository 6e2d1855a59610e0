package setup

import (
	"encoding"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/web/page"
)

// sent reads what a form sent, and gathers what is wrong with it by field.
type sent struct {
	v      url.Values
	posted bool
	faults map[string]string
}

func sentBy(r *http.Request) *sent {
	_ = r.PostFormValue("") // reads what a program with a token sent; a browser's form was read before
	if r.PostForm == nil {
		r.PostForm = url.Values{}
	}
	return &sent{v: r.PostForm, posted: r.Method == http.MethodPost, faults: map[string]string{}}
}

func (f *sent) text(name string) string { return strings.TrimSpace(f.v.Get(name)) }

// read puts a field into out, which stays empty when the field is.
func (f *sent) read(name string, out encoding.TextUnmarshaler) {
	if text := f.text(name); text != "" {
		if err := out.UnmarshalText([]byte(text)); err != nil {
			f.faults[name] = upperFirst(err.Error())
		}
	}
}

func (f *sent) number(name string, out *float64) {
	text := strings.Replace(f.text(name), ",", ".", 1)
	if text == "" {
		return
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		f.faults[name] = fmt.Sprintf("%q is not a number", f.text(name))
		return
	}
	*out = x
}

func (f *sent) whole(name string) *int {
	text := f.text(name)
	if text == "" {
		return nil
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		f.faults[name] = fmt.Sprintf("%q is not a whole number", text)
		return nil
	}
	return &n
}

func (f *sent) wholeOr0(name string) int {
	if n := f.whole(name); n != nil {
		return *n
	}
	return 0
}

// list returns the ticked boxes of a group, those that are among the allowed.
func (f *sent) list(name string, allowed func(string) bool) []string {
	var out []string
	for _, x := range f.v[name] {
		if allowed == nil || allowed(x) {
			out = append(out, x)
		}
	}
	return out
}

// errFaults is returned from within a change when the form itself is wrong.
var errFaults = errors.New("the form has faults")

// errMeanwhile is returned from within a change when somebody changed the same.
var errMeanwhile = errors.New("changed meanwhile")

func (f *sent) err() error {
	if len(f.faults) > 0 {
		return errFaults
	}
	return nil
}

// refused takes in the faults of a change and says whether there were any: then
// the form is shown again. whole is the field that shows what belongs to none.
func (f *sent) refused(err error, whole string, names map[string]string) bool {
	var no *ground.Refused
	switch {
	case errors.Is(err, errFaults):
		return true
	case errors.Is(err, errMeanwhile):
		f.faults[whole] = "Somebody else changed this meanwhile. What you typed is still here; what is there now is beneath “Earlier versions”. Send again to put yours in its place."
		return true
	case errors.As(err, &no):
		for _, x := range no.Faults {
			f.fault(x, whole, names)
		}
		return true
	}
	return false
}

func (f *sent) fault(x garden.Fault, whole string, names map[string]string) {
	field := x.Field[strings.LastIndexByte(x.Field, '.')+1:]
	if at := strings.IndexByte(field, '['); at >= 0 {
		field = field[:at]
	}
	if as, ok := names[field]; ok {
		field = as
	}
	if field == "" || names == nil && field == "id" {
		field = whole
	}
	if f.faults[field] == "" {
		f.faults[field] = upperFirst(x.Message)
	}
}

// fill puts values and faults into fields: what was sent where something was, else
// what they hold. A fault of a field that is not there goes to the first.
func (f *sent) fill(fields ...[]page.Field) {
	placed := map[string]bool{}
	for _, part := range fields {
		for i := range part {
			at := &part[i]
			if f.posted && f.v.Has(at.Name) && at.Type != "password" {
				at.Value = f.v.Get(at.Name)
				for j := range at.Choices {
					at.Choices[j].Chosen = at.Choices[j].Value == at.Value
				}
			}
			if at.Fault = f.faults[at.Name]; at.Fault != "" {
				placed[at.Name] = true
			}
		}
	}
	for name, text := range f.faults {
		if !placed[name] && len(fields) > 0 && len(fields[0]) > 0 && fields[0][0].Fault == "" {
			fields[0][0].Fault = text
		}
	}
}

func upperFirst(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// choices are the entries of a select; the first is "not said".
func choices(none, now string, pairs ...string) []page.Choice {
	out := []page.Choice{{Text: none, Chosen: now == ""}}
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, page.Choice{Value: pairs[i], Text: pairs[i+1], Chosen: pairs[i] == now})
	}
	return out
}

func num(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func numOr(x float64) string {
	if x == 0 {
		return ""
	}
	return num(x)
}

func intOr(x int) string {
	if x == 0 {
		return ""
	}
	return strconv.Itoa(x)
}

func intPtr(x *int) string {
	if x == nil {
		return ""
	}
	return strconv.Itoa(*x)
}
