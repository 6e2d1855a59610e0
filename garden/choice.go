package garden

import (
	"fmt"
	"strings"
)

// Susceptibility is how readily a cultivar takes disease.
type Susceptibility string

// Cover is what stands over a planting.
type Cover string

// Mulch is what lies on the soil.
type Mulch string

// Irrigation is how water is given.
type Irrigation string

// The choices; the empty one of each is "not said".
const (
	Susceptible           Susceptibility = "susceptible"
	ModeratelySusceptible Susceptibility = "moderately susceptible"
	ModeratelyResistant   Susceptibility = "moderately resistant"
	Resistant             Susceptibility = "resistant"

	NoCover   Cover = "none"
	RowCover  Cover = "row cover" // fleece or netting on hoops or on the plants
	InsectNet Cover = "insect net"
	Tunnel    Cover = "tunnel" // rain is kept off

	NoMulch Mulch = "none"
	Straw   Mulch = "straw"
	Leaves  Mulch = "leaves"
	Compost Mulch = "compost"
	Film    Mulch = "film"

	NoIrrigation Irrigation = "none"
	Drip         Irrigation = "drip"
	ByHand       Irrigation = "by hand"  // at the base
	Overhead     Irrigation = "overhead" // wets leaves
)

var (
	susceptibilities = []string{string(Susceptible), string(ModeratelySusceptible), string(ModeratelyResistant), string(Resistant)}
	covers           = []string{string(NoCover), string(RowCover), string(InsectNet), string(Tunnel)}
	mulches          = []string{string(NoMulch), string(Straw), string(Leaves), string(Compost), string(Film)}
	irrigations      = []string{string(NoIrrigation), string(Drip), string(ByHand), string(Overhead)}
)

// UnmarshalText reads one of the choices.
func (s *Susceptibility) UnmarshalText(b []byte) error {
	return choose((*string)(s), b, susceptibilities)
}

// UnmarshalText reads one of the choices.
func (c *Cover) UnmarshalText(b []byte) error { return choose((*string)(c), b, covers) }

// UnmarshalText reads one of the choices.
func (m *Mulch) UnmarshalText(b []byte) error { return choose((*string)(m), b, mulches) }

// UnmarshalText reads one of the choices.
func (i *Irrigation) UnmarshalText(b []byte) error { return choose((*string)(i), b, irrigations) }

func choose(out *string, b []byte, known []string) error {
	for _, k := range known {
		if k == string(b) {
			*out = k
			return nil
		}
	}
	return fmt.Errorf("%q is not one of: %s", b, strings.Join(known, ", "))
}
