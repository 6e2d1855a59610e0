package garden

// Rotation is how many years a family is kept off a bed after it stood there.
type Rotation struct {
	Family   string
	Years    int    // the shortest that the source gives
	UpTo     int    // the longest; equal to Years when the source gives one number
	Except   string // a disease that needs longer, with its years
	Source   string
	Standing string // in the words of the catalogue: "confirmed", "from memory"
}

// RotationNote goes with every rotation on a small ground. It is derived from
// how the diseases travel.
const RotationNote = "On a plot of a few square metres rotation mainly removes old debris; it does not stop spores that come on the wind."

const rotationTable = "UConn IPM rotation table; MacNab & Zitter (Penn State and Cornell, updated 2020)"

// rotations is empty for families whose years no source gave.
var rotations = map[string]Rotation{
	nights:   {nights, 3, 4, "Verticillium wilt 4 years", rotationTable, "confirmed"},
	brassica: {brassica, 2, 4, "clubroot 7 years", rotationTable, "confirmed"},
	cucurbit: {cucurbit, 2, 2, "", rotationTable + "; at least", "confirmed"},
	legumes:  {legumes, 2, 2, "", rotationTable + "; at least", "confirmed"},
	beets:    {beets, 3, 3, "", rotationTable, "confirmed"},
	daisies:  {daisies, 3, 3, "", rotationTable + ", for lettuce", "confirmed"},
	alliums:  {alliums, 3, 3, "", "no text", "from memory"},
}

// RotationOf returns the years for a family, and whether a source gives them.
func RotationOf(family string) (Rotation, bool) {
	r, ok := rotations[family]
	return r, ok
}
