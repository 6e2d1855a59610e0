package garden

import (
	"fmt"
	"reflect"
	"strings"
)

// Fault is a problem named by where it is rather than by a pointer.
type Fault struct {
	// Field is the path within the part that was checked, in the names of its JSON:
	// "plots[0].plantings[2].plantedOut"; empty for the part as a whole.
	Field   string
	Message string
}

// FaultsOf turns the problems of a part into faults by field. root points to the
// part that was checked.
func FaultsOf(root any, problems []Problem) []Fault {
	out := make([]Fault, len(problems))
	for i, p := range problems {
		at := p.At
		if p.Field != nil {
			at = p.Field
		}
		out[i] = Fault{FieldPath(root, at), p.Message}
	}
	return out
}

// FieldPath returns where in root a field lies that at points to; empty when it
// is root itself or lies outside.
func FieldPath(root, at any) string {
	want := reflect.ValueOf(at)
	if want.Kind() != reflect.Pointer || want.IsNil() {
		return ""
	}
	path, _ := fieldPath(reflect.ValueOf(root), want, "")
	return path
}

func fieldPath(v, want reflect.Value, path string) (string, bool) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return "", false
		}
		if v.Type() == want.Type() && v.Pointer() == want.Pointer() {
			return path, true
		}
		return fieldPath(v.Elem(), want, path)
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() {
				continue
			}
			if p, ok := addressed(v.Field(i), want, join(path, jsonName(f))); ok {
				return p, true
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			if p, ok := addressed(v.Index(i), want, fmt.Sprintf("%s[%d]", path, i)); ok {
				return p, true
			}
		}
	}
	return "", false
}

// addressed looks at a field itself, then into it.
func addressed(v, want reflect.Value, path string) (string, bool) {
	if v.CanAddr() && v.Addr().Type() == want.Type() && v.Addr().Pointer() == want.Pointer() {
		return path, true
	}
	return fieldPath(v, want, path)
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func jsonName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	if name == "" {
		return f.Name
	}
	return name
}
