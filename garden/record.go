package garden

import (
	"time"

	"plotwarden/civil"
)

// Record is one entry of the treatment log with every field that the record
// rules of the United States and the European Union and one farm-assurance
// checklist ask for. Most may stay empty on a garden plot. A record is never
// changed: a correction is a new record that says which one it replaces.
type Record struct {
	ID string `yaml:"id" json:"id"`
	// Replaces is the id of the record that this one corrects, Why says why, and
	// Withdrawn says that the work was not done after all.
	Replaces  string    `yaml:"replaces" json:"replaces,omitempty"`
	Why       string    `yaml:"why" json:"why,omitempty"`
	Withdrawn bool      `yaml:"withdrawn" json:"withdrawn,omitempty"`
	Entered   time.Time `yaml:"entered" json:"entered,omitzero"`
	EnteredBy string    `yaml:"entered_by" json:"enteredBy,omitempty"` // person id

	Site        string    `yaml:"site" json:"site"`
	Plot        string    `yaml:"plot" json:"plot,omitempty"`
	Planting    string    `yaml:"planting" json:"planting"`
	Place       string    `yaml:"place" json:"place,omitempty"` // where on the ground, or coordinates
	Start       time.Time `yaml:"start" json:"start"`
	End         time.Time `yaml:"end" json:"end,omitzero"`
	By          string    `yaml:"by" json:"by,omitempty"` // person id
	Certificate string    `yaml:"certificate" json:"certificate,omitempty"`
	Area        float64   `yaml:"area" json:"area,omitempty"`
	AreaUnit    string    `yaml:"area_unit" json:"areaUnit,omitempty"`

	Crop     string   `yaml:"crop" json:"crop,omitempty"` // crop id
	EPPO     string   `yaml:"eppo" json:"eppo,omitempty"`
	Cultivar string   `yaml:"cultivar" json:"cultivar,omitempty"`
	BBCH     *int     `yaml:"bbch" json:"bbch,omitempty"`       // growth stage, 0 to 99
	Threats  []string `yaml:"threats" json:"threats,omitempty"` // catalogue ids
	Target   string   `yaml:"target" json:"target,omitempty"`   // in the grower's words

	Material   string       `yaml:"material" json:"material,omitempty"` // id of the grower's Material
	Product    string       `yaml:"product" json:"product,omitempty"`   // as the grower writes it
	Ingredient string       `yaml:"ingredient" json:"ingredient,omitempty"`
	Kind       MaterialKind `yaml:"kind" json:"kind,omitempty"`
	Registered string       `yaml:"registration" json:"registration,omitempty"`
	Amount     *float64     `yaml:"amount" json:"amount,omitempty"` // of product, not of mix
	AmountUnit string       `yaml:"amount_unit" json:"amountUnit,omitempty"`
	Water      *float64     `yaml:"water" json:"water,omitempty"`
	WaterUnit  string       `yaml:"water_unit" json:"waterUnit,omitempty"`
	Method     string       `yaml:"method" json:"method,omitempty"` // "hand sprayer", "by hand"
	Test       bool         `yaml:"test" json:"test,omitempty"`     // a first use on a few leaves

	Seen    Seen         `yaml:"seen" json:"seen,omitzero"`
	Weather *HourWeather `yaml:"weather" json:"weather,omitempty"` // filled in by the program
	Label   LabelValues  `yaml:"label" json:"label,omitzero"`

	// ReEntry and HarvestFrom are worked out from the label values when the
	// record is made; zero is not known.
	ReEntry     time.Time  `yaml:"re_entry" json:"reEntry,omitzero"`
	HarvestFrom civil.Date `yaml:"harvest_from" json:"harvestFrom,omitempty"`

	// Against are the codes of the checks that stood against the work when it was
	// logged, and Despite is the person's reason for having done it all the same. A
	// log of what was done stays true: it is never refused.
	Against []string `yaml:"against" json:"against,omitempty"`
	Despite string   `yaml:"despite" json:"despite,omitempty"`

	Reason   RecordReason `yaml:"reason" json:"reason,omitempty"`
	Result   Result       `yaml:"result" json:"result,omitempty"`
	ResultOn civil.Date   `yaml:"result_on" json:"resultOn,omitempty"`
	Photos   []string     `yaml:"photos" json:"photos,omitempty"` // names under which they are kept
	Note     string       `yaml:"note" json:"note,omitempty"`
}

// Seen is what the person saw of the weather and the flowers at the time.
type Seen struct {
	WindFrom string   `yaml:"wind_from" json:"windFrom,omitempty"` // "SW"
	Wind     *Speed   `yaml:"wind" json:"wind,omitempty"`
	Temp     *Degrees `yaml:"temp" json:"temp,omitempty"`
	Sky      string   `yaml:"sky" json:"sky,omitempty"`
	Bloom    Bloom    `yaml:"bloom" json:"bloom,omitempty"`
	Bees     string   `yaml:"bees" json:"bees,omitempty"`
}

// HourWeather is the weather of the hour in which the work began, from the
// site's own series. A nil value is not known.
type HourWeather struct {
	Temp   *float64 `yaml:"temp" json:"temp,omitempty"`      // C
	RH     *float64 `yaml:"rh" json:"rh,omitempty"`          // %
	Wind   *float64 `yaml:"wind" json:"wind,omitempty"`      // m/s at 10 m
	Rain   *float64 `yaml:"rain" json:"rain,omitempty"`      // mm in the hour
	Cloud  *float64 `yaml:"cloud" json:"cloud,omitempty"`    // %
	DeltaT *float64 `yaml:"delta_t" json:"deltaT,omitempty"` // C
	Source string   `yaml:"source" json:"source,omitempty"`  // name and kind of where it came from
}

// LabelValues are the label's values as they stood when the record was made.
type LabelValues struct {
	Date           civil.Date `yaml:"date" json:"date,omitempty"`
	IntervalDays   int        `yaml:"interval_days" json:"intervalDays,omitempty"` // 0 is not said
	SeasonMax      int        `yaml:"season_max" json:"seasonMax,omitempty"`       // 0 is not said
	PreHarvestDays *int       `yaml:"pre_harvest_days" json:"preHarvestDays,omitempty"`
	ReEntryHours   *int       `yaml:"re_entry_hours" json:"reEntryHours,omitempty"`
	ReEntryDry     bool       `yaml:"re_entry_dry" json:"reEntryDry,omitempty"`
}

// RecordReason is what led to the work.
type RecordReason string

// The reasons.
const (
	ByModel    RecordReason = "model"
	ByScouting RecordReason = "scouting"
	ByCalendar RecordReason = "calendar"
)

// UnmarshalText reads one of the reasons.
func (r *RecordReason) UnmarshalText(b []byte) error {
	return choose((*string)(r), b, []string{string(ByModel), string(ByScouting), string(ByCalendar)})
}

// Result is how the planting looked later, beside how it looked before.
type Result string

// The results; the empty one is "not looked".
const (
	Better Result = "better"
	Same   Result = "same"
	Worse  Result = "worse"
	Harmed Result = "leaves harmed"
)

// UnmarshalText reads one of the results.
func (r *Result) UnmarshalText(b []byte) error {
	return choose((*string)(r), b, []string{string(Better), string(Same), string(Worse), string(Harmed)})
}
