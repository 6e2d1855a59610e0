package wetness

import "fmt"

// State is whether leaves are wet in one hour.
type State uint8

// The states.
const (
	Unknown State = iota
	Dry
	Wet
)

// String returns the plain word.
func (s State) String() string {
	switch s {
	case Unknown:
		return "unknown"
	case Dry:
		return "dry"
	case Wet:
		return "wet"
	}
	return fmt.Sprintf("State(%d)", uint8(s))
}

// Count returns how many hours are wet and how many are unknown.
func Count(hours []State) (wet, unknown int) {
	for _, s := range hours {
		switch s {
		case Wet:
			wet++
		case Unknown:
			unknown++
		}
	}
	return wet, unknown
}
