package plan

import (
	"bytes"
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/strict"
)

//go:embed data/options.yaml
var optionsFile []byte

// Acts is when a material works.
type Acts string

// The ways in which materials work.
const (
	Preventive Acts = "preventive" // before it comes
	Curative   Acts = "curative"   // on what is there
	Both       Acts = "both"
)

// Words says it for a grower.
func (a Acts) Words() string {
	switch a {
	case Preventive:
		return "before it comes"
	case Curative:
		return "on what is there"
	}
	return "before it comes and on what is there"
}

// Wear is what ends a material on the leaf.
type Wear string

// The ways in which materials end.
const (
	ByWeather Wear = "weather" // rain and days together
	ByWetting Wear = "wetting" // any rain or dew
	BySun     Wear = "sun"     // days of light
	OnceDry   Wear = "dry"     // nothing is left once it has dried
)

// Ingredient is what is known of an active ingredient or a home mix. It has no
// rate, interval or other value of a label.
type Ingredient struct {
	Name     string              `yaml:"name" json:"name"`
	Match    []string            `yaml:"match" json:"-"` // words by which a label's ingredient is known
	Whole    []string            `yaml:"whole" json:"-"` // words that mean it only when they stand alone
	Kind     garden.MaterialKind `yaml:"kind" json:"kind"`
	Acts     Acts                `yaml:"acts" json:"acts"`
	How      string              `yaml:"how" json:"how"`
	Wears    Wear                `yaml:"wears" json:"wears"`
	Sun      SunDays             `yaml:"sun" json:"sun,omitzero"`
	Bees     string              `yaml:"bees" json:"bees,omitempty"`
	Cautions []string            `yaml:"cautions" json:"cautions,omitempty"`
	Threats  []string            `yaml:"threats" json:"threats,omitempty"`
	// Crops are those on which the trials were; a home mix is for no other.
	Crops    []string    `yaml:"crops" json:"crops,omitempty"`
	Source   risk.Source `yaml:"source" json:"source"`
	Evidence []Evidence  `yaml:"evidence" json:"evidence,omitempty"`
}

// SunDays is after how many days of light a material is thin and gone.
type SunDays struct {
	Thin int `yaml:"thin_days" json:"thin"`
	Gone int `yaml:"gone_days" json:"gone"`
}

// Evidence is one finding of a trial, null results among them.
type Evidence struct {
	Result string      `yaml:"result" json:"result"` // "helped", "partly", "no effect"
	Text   string      `yaml:"text" json:"text"`
	Source risk.Source `yaml:"source" json:"source"`
}

// stop is when spraying against some threats may end.
type stop struct {
	Threats []string    `yaml:"threats"`
	From    int         `yaml:"from_days"` // before the last pick
	To      int         `yaml:"to_days"`
	Text    string      `yaml:"text"`
	Source  risk.Source `yaml:"source"`
}

type knowledge struct {
	Ingredients []Ingredient `yaml:"ingredients"`
	HomeMixes   []Ingredient `yaml:"home_mixes"`
	Stops       []stop       `yaml:"stops"`
}

// known reads the data that ships with the program; a test reads it first.
var known = sync.OnceValue(func() *knowledge {
	var k knowledge
	if _, faults := strict.Decode("plan/data/options.yaml", bytes.NewReader(optionsFile), &k); len(faults) > 0 {
		panic(fmt.Sprintf("plan: %v", faults))
	}
	return &k
})

// Ingredients returns all active ingredients that are known.
func Ingredients() []Ingredient { return slices.Clone(known().Ingredients) }

// HomeMixes returns the home mixes whose evidence is known.
func HomeMixes() []Ingredient { return slices.Clone(known().HomeMixes) }

// IngredientOf finds what is known of an ingredient as a label or a grower
// writes it; the longest match counts, so that "neem oil" is not just an oil. It
// is nil when nothing is known.
func IngredientOf(text string) *Ingredient {
	text = strings.ToLower(strings.TrimSpace(text))
	k := known()
	var best *Ingredient
	length := 0
	for _, list := range [][]Ingredient{k.Ingredients, k.HomeMixes} {
		for i := range list {
			if slices.Contains(list[i].Whole, text) {
				return &list[i]
			}
			for _, m := range append([]string{list[i].Name}, list[i].Match...) {
				if len(m) > length && strings.Contains(text, strings.ToLower(m)) {
					best, length = &list[i], len(m)
				}
			}
		}
	}
	return best
}

// UnmarshalText reads one of the words.
func (a *Acts) UnmarshalText(b []byte) error {
	return oneOf((*string)(a), b, string(Preventive), string(Curative), string(Both))
}

// UnmarshalText reads one of the words.
func (w *Wear) UnmarshalText(b []byte) error {
	return oneOf((*string)(w), b, string(ByWeather), string(ByWetting), string(BySun), string(OnceDry))
}

func oneOf(out *string, b []byte, words ...string) error {
	if !slices.Contains(words, string(b)) {
		return fmt.Errorf("%q is not one of: %s", b, strings.Join(words, ", "))
	}
	*out = string(b)
	return nil
}
