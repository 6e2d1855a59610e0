package garden

// MaterialKind is how a material works, which decides what wears it off and what
// it must not meet.
type MaterialKind string

// The kinds; the empty one is "not said".
const (
	KindProtectant  MaterialKind = "protectant"  // stays on the leaf and works only before infection
	KindEradicant   MaterialKind = "eradicant"   // knocks back what is there
	KindSystemic    MaterialKind = "systemic"    // goes into the plant
	KindContact     MaterialKind = "contact"     // works on what it wets, nothing stays: pyrethrins
	KindBiological  MaterialKind = "biological"  // living things or what they make: Bacillus, spinosad
	KindOil         MaterialKind = "oil"         // petroleum, plant or neem oil
	KindSulfur      MaterialKind = "sulfur"      //
	KindCopper      MaterialKind = "copper"      //
	KindSoap        MaterialKind = "soap"        //
	KindBicarbonate MaterialKind = "bicarbonate" //
	KindFilm        MaterialKind = "clay film"   // kaolin
	KindDust        MaterialKind = "dust"        //
	KindHomeMix     MaterialKind = "home mix"    // without a label
)

var materialKinds = []string{
	string(KindProtectant), string(KindEradicant), string(KindSystemic), string(KindContact), string(KindBiological),
	string(KindOil), string(KindSulfur), string(KindCopper), string(KindSoap), string(KindBicarbonate),
	string(KindFilm), string(KindDust), string(KindHomeMix),
}

// UnmarshalText reads one of the kinds.
func (k *MaterialKind) UnmarshalText(b []byte) error {
	return choose((*string)(k), b, materialKinds)
}

// MaterialKinds returns the kinds in the order in which a form offers them.
func MaterialKinds() []MaterialKind {
	out := make([]MaterialKind, len(materialKinds))
	for i, k := range materialKinds {
		out[i] = MaterialKind(k)
	}
	return out
}

// BeeRule is what the label says of bees.
type BeeRule string

// The rules; the empty one is "not said".
const (
	BeesAway      BeeRule = "when bees are away"  // evening or night only while anything blooms
	BeesNotBloom  BeeRule = "never on open bloom" // no hour is right while anything blooms
	BeesNoMention BeeRule = "no bee statement"
)

// UnmarshalText reads one of the rules.
func (r *BeeRule) UnmarshalText(b []byte) error {
	return choose((*string)(r), b, []string{string(BeesAway), string(BeesNotBloom), string(BeesNoMention)})
}

// Bloom is whether anything is in flower where a material would land, weeds too.
type Bloom string

// The answers; the empty one is "not said".
const (
	NoBloom   Bloom = "none"
	OpenBloom Bloom = "open"
)

// UnmarshalText reads one of the answers.
func (x *Bloom) UnmarshalText(b []byte) error {
	return choose((*string)(x), b, []string{string(NoBloom), string(OpenBloom)})
}
