package store

import "errors"

// What ails an engine, for log, metric and health page. Each error that an engine
// returns says the way out as well.
var (
	ErrDamaged  = errors.New("the database is damaged")
	ErrFull     = errors.New("no room on the disk")
	ErrReadOnly = errors.New("the database takes no changes")
	ErrDisk     = errors.New("the disk failed")
	ErrLocked   = errors.New("the database is locked")
)

// Fault is the short, stable name of what ails an engine: "damaged", "full",
// "read-only", "disk", "locked"; empty for an error of another sort.
func Fault(err error) string {
	for _, f := range []struct {
		err  error
		name string
	}{{ErrDamaged, "damaged"}, {ErrFull, "full"}, {ErrReadOnly, "read-only"}, {ErrDisk, "disk"}, {ErrLocked, "locked"}} {
		if errors.Is(err, f.err) {
			return f.name
		}
	}
	return ""
}
