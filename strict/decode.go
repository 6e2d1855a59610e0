package strict

import (
	"encoding"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// Where remembers the place of every decoded value, so that a later check can
// name the line of a value that is well-formed but wrong.
type Where struct {
	File  string
	nodes map[any]*yaml.Node
}

// Fault makes a fault at the place where the value behind ptr was decoded. ptr
// must be a pointer into the struct that was given to Decode.
func (w *Where) Fault(ptr any, format string, args ...any) Fault {
	f := Fault{File: w.File, Message: fmt.Sprintf(format, args...)}
	if n, ok := w.nodes[ptr]; ok {
		f.Line, f.Column = n.Line, n.Column
	}
	return f
}

// Has says whether the value behind ptr was written in the file.
func (w *Where) Has(ptr any) bool { _, ok := w.nodes[ptr]; return ok }

// Decode reads one YAML document into out, a pointer to a struct. Field names
// come from the yaml tag. It goes on after a fault and returns all of them:
// syntax, unknown and doubled keys, wrong types, and what a field's
// UnmarshalText refuses. A yaml.Node field takes its part undecoded.
func Decode(file string, r io.Reader, out any) (*Where, Faults) {
	w := &Where{File: file, nodes: map[any]*yaml.Node{}}
	var doc yaml.Node
	dec := yaml.NewDecoder(r)
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			return w, Faults{{File: file, Message: "the file is empty"}}
		}
		return w, Faults{syntax(file, err)}
	}
	var rest yaml.Node
	if err := dec.Decode(&rest); err == nil {
		return w, Faults{{File: file, Line: rest.Line, Column: rest.Column, Message: "a second document after --- is not read; put it in a file of its own"}}
	} else if !errors.Is(err, io.EOF) {
		return w, Faults{syntax(file, err)}
	}
	d := decoder{w: w}
	d.value(doc.Content[0], reflect.ValueOf(out).Elem(), "")
	return w, d.faults
}

// DecodeNode reads a node that an earlier Decode took undecoded.
func DecodeNode(file string, n *yaml.Node, out any) (*Where, Faults) {
	w := &Where{File: file, nodes: map[any]*yaml.Node{}}
	d := decoder{w: w}
	d.value(n, reflect.ValueOf(out).Elem(), "")
	return w, d.faults
}

func syntax(file string, err error) Fault {
	f := Fault{File: file, Message: strings.TrimPrefix(err.Error(), "yaml: ")}
	if n, _ := fmt.Sscanf(f.Message, "line %d:", &f.Line); n == 1 {
		f.Column = 1
		_, f.Message, _ = strings.Cut(f.Message, ": ")
	}
	return f
}

type decoder struct {
	w      *Where
	faults Faults
	depth  int
}

func (d *decoder) fault(n *yaml.Node, format string, args ...any) {
	d.faults = append(d.faults, Fault{d.w.File, n.Line, n.Column, fmt.Sprintf(format, args...)})
}

var (
	nodeType = reflect.TypeFor[yaml.Node]()
	textType = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// maxDepth bounds nesting and, with it, alias expansion.
const maxDepth = 40

func (d *decoder) value(n *yaml.Node, v reflect.Value, path string) {
	d.depth++
	defer func() { d.depth-- }()
	if d.depth > maxDepth {
		d.fault(n, "nested too deeply")
		return
	}
	if n.Kind == yaml.AliasNode {
		d.fault(n, "aliases (*%s) are not read; write the value out", n.Value)
		return
	}
	if v.CanAddr() {
		d.w.nodes[v.Addr().Interface()] = n
	}
	if v.Type() == nodeType {
		v.Set(reflect.ValueOf(*n))
		return
	}
	if n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		return // written but empty: the zero value
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem(), path)
		return
	}
	if v.CanAddr() && v.Addr().Type().Implements(textType) {
		d.text(n, v, path)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.structure(n, v, path)
	case reflect.Slice:
		d.slice(n, v, path)
	case reflect.Map:
		d.mapping(n, v, path)
	default:
		d.scalar(n, v, path)
	}
}

func (d *decoder) text(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.ScalarNode {
		d.fault(n, "%s: want one value, not a %s", path, kindName(n))
		return
	}
	err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(n.Value))
	if _, isTime := v.Interface().(time.Time); isTime && err != nil {
		err = fmt.Errorf("%q is not a time of the form 2026-06-04T19:30:00-04:00", n.Value)
	}
	if err != nil {
		d.fault(n, "%s: %v", path, err)
	}
}

func (d *decoder) structure(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.MappingNode {
		d.fault(n, "%s: want keys and values, not a %s", orRoot(path), kindName(n))
		return
	}
	fields, names := fieldsOf(v)
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, val := n.Content[i], n.Content[i+1]
		f, ok := fields[k.Value]
		if !ok {
			d.fault(k, "%s", Unknown("key", k.Value, names))
			continue
		}
		if line, dup := seen[k.Value]; dup {
			d.fault(k, "key %q stands already at line %d", k.Value, line)
			continue
		}
		seen[k.Value] = k.Line
		d.value(val, f, join(path, k.Value))
	}
}

func (d *decoder) slice(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.SequenceNode {
		d.fault(n, "%s: want a list (lines that begin with -), not a %s", orRoot(path), kindName(n))
		return
	}
	// Set to its full length first: a place is remembered by its address.
	v.Set(reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content)))
	for i, c := range n.Content {
		d.value(c, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
	}
}

func (d *decoder) mapping(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.MappingNode || v.Type().Key().Kind() != reflect.String {
		d.fault(n, "%s: want keys and values, not a %s", orRoot(path), kindName(n))
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		key := reflect.ValueOf(k.Value).Convert(v.Type().Key())
		if v.MapIndex(key).IsValid() {
			d.fault(k, "key %q stands twice", k.Value)
			continue
		}
		e := reflect.New(v.Type().Elem()).Elem()
		d.value(n.Content[i+1], e, join(path, k.Value))
		v.SetMapIndex(key, e)
	}
}

func (d *decoder) scalar(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.ScalarNode {
		d.fault(n, "%s: want one value, not a %s", path, kindName(n))
		return
	}
	if v.Kind() == reflect.String {
		// Taken as written: 0123 and 2026-05-01 stay what the user typed.
		v.SetString(n.Value)
		return
	}
	if !set(v, n.Value) {
		d.fault(n, "%s: %q is not %s", path, n.Value, typeName(v.Kind()))
	}
}

// set parses a plain value. The YAML library's own conversion is not used: it
// cuts 2.5 to 2 for a whole number, and reads "yes" as true.
func set(v reflect.Value, s string) bool {
	switch {
	case v.Kind() == reflect.Bool:
		v.SetBool(s == "true")
		return s == "true" || s == "false"
	case v.CanInt():
		i, err := strconv.ParseInt(s, 10, v.Type().Bits())
		v.SetInt(i)
		return err == nil
	case v.CanUint():
		u, err := strconv.ParseUint(s, 10, v.Type().Bits())
		v.SetUint(u)
		return err == nil
	case v.CanFloat():
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
			return false
		}
		v.SetFloat(f)
		return true
	}
	return false
}

func fieldsOf(v reflect.Value) (map[string]reflect.Value, []string) {
	fields := map[string]reflect.Value{}
	var names []string
	for i := range v.NumField() {
		sf := v.Type().Field(i)
		name, opts, _ := strings.Cut(sf.Tag.Get("yaml"), ",")
		if name == "-" || !sf.IsExported() {
			continue
		}
		if opts == "inline" {
			inner, innerNames := fieldsOf(v.Field(i))
			for k, f := range inner {
				fields[k] = f
			}
			names = append(names, innerNames...)
			continue
		}
		if name == "" {
			name = strings.ToLower(sf.Name)
		}
		fields[name] = v.Field(i)
		names = append(names, name)
	}
	return fields, names
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func orRoot(path string) string {
	if path == "" {
		return "the file"
	}
	return path
}

func kindName(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "set of keys"
	case yaml.SequenceNode:
		return "list"
	default:
		return "single value"
	}
}

func typeName(k reflect.Kind) string {
	switch k {
	case reflect.Bool:
		return "true or false"
	case reflect.Float32, reflect.Float64:
		return "a number"
	default:
		return "a whole number in range"
	}
}
