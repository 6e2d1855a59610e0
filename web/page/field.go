package page

// Field is one field of a form, drawn by {{template "field" .}}: its label above,
// what is wrong beside it. The zero Type is "text".
type Field struct {
	Name, Label, Value string
	Type               string // text, password, email, number, date, time, search; textarea; select
	Hint               string // what to write, in a few words
	Fault              string // what is wrong and how to mend it; empty when nothing is
	Complete           string // autocomplete; "off" when empty
	Mode               string // inputmode
	Required           bool
	Max                int // characters at most; 0 is as many as fit
	Min, Step          string
	Top                string // the largest number or latest day
	Choices            []Choice
}

// Choice is one entry of a select.
type Choice struct {
	Value, Text string
	Chosen      bool
}

// Faults returns the fields with something wrong, for {{template "faults" .}},
// which stands on top of the form and leads to each.
func Faults(fields ...Field) []Field {
	var out []Field
	for _, f := range fields {
		if f.Fault != "" {
			out = append(out, f)
		}
	}
	return out
}
