package logfile

import (
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
)

// column is one field of an entry, found by its JSON name.
type column struct {
	name  string // with dots between parts
	index []int
	typ   reflect.Type // without its pointer
	text  bool         // JSON has a string of it
}

var textual = reflect.TypeFor[encoding.TextUnmarshaler]()

// columnsOf lists the fields of an entry in the order of its type.
func columnsOf[T any]() []column { return fields(reflect.TypeFor[T](), "", nil) }

func fields(t reflect.Type, prefix string, at []int) (out []column) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		typ := f.Type
		if typ.Kind() == reflect.Pointer {
			typ = typ.Elem()
		}
		index := append(append([]int(nil), at...), i)
		text := reflect.PointerTo(typ).Implements(textual)
		if typ.Kind() == reflect.Struct && !text {
			out = append(out, fields(typ, prefix+name+".", index)...)
			continue
		}
		out = append(out, column{prefix + name, index, typ, text || typ.Kind() == reflect.String})
	}
	return out
}

// cell is the field of an entry as text; empty when it is not set.
func (c column) cell(entry any) (string, error) {
	v := reflect.ValueOf(entry).Elem()
	for _, i := range c.index {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return "", nil
			}
			v = v.Elem()
		}
		v = v.Field(i)
	}
	if v.IsZero() { // a pointer to zero is not
		return "", nil
	}
	b, err := json.Marshal(v.Interface())
	if err != nil {
		return "", fmt.Errorf("%s: %w", c.name, err)
	}
	if c.text {
		var s string
		err := json.Unmarshal(b, &s)
		return s, err
	}
	if list, ok := v.Interface().([]string); ok && plain(list) {
		return strings.Join(list, "; "), nil
	}
	return string(b), nil
}

// plain holds for lists that come back from between semicolons.
func plain(list []string) bool {
	for _, s := range list {
		if s == "" || strings.TrimSpace(s) != s || strings.Contains(s, ";") || s[0] == '[' {
			return false
		}
	}
	return true
}

// set reads a cell into the field of an entry; an empty one leaves it unset.
func (c column) set(entry any, cell string) error {
	if cell == "" {
		return nil
	}
	raw := []byte(cell)
	var err error
	switch {
	case c.text:
		raw, err = json.Marshal(cell)
	case c.typ.Kind() == reflect.Slice && cell[0] != '[':
		var list []string
		for _, s := range strings.Split(cell, ";") {
			list = append(list, strings.TrimSpace(s))
		}
		raw, err = json.Marshal(list)
	}
	if err != nil {
		return err
	}
	v := reflect.ValueOf(entry).Elem()
	for _, i := range c.index {
		v = made(v).Field(i)
	}
	if err := json.Unmarshal(raw, made(v).Addr().Interface()); err != nil {
		return fmt.Errorf("%q cannot be read: %w", cell, err)
	}
	return nil
}

// made follows a pointer, which it makes where it is nil.
func made(v reflect.Value) reflect.Value {
	if v.Kind() != reflect.Pointer {
		return v
	}
	if v.IsNil() {
		v.Set(reflect.New(v.Type().Elem()))
	}
	return v.Elem()
}
