package store

import "time"

// Kinds of thing.
const (
	SiteThing     = "site"     // garden.Site with its plots and plantings
	PersonThing   = "person"   // garden.Person
	RegionThing   = "region"   // garden.Region
	MaterialThing = "material" // garden.Material
	SettingThing  = "setting"  // one setting of the service that the owner made in the browser
)

// Thing is one version of one part of the ground that people made in the browser
// rather than in the configuration file. Versions are kept, so that a change can
// be seen, undone and asked about.
type Thing struct {
	Kind, ID string
	Body     []byte // JSON of the garden's type
	// Rev grows by every change of any thing; the store sets it. A reader that
	// asks for what came after the last Rev it saw misses nothing.
	Rev     int64
	Deleted bool
	At      time.Time
	By      string // person id
	Why     string // may be empty
}
