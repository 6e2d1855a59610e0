package alerts

import (
	"encoding/json"
	"fmt"

	"plotwarden/civil"
	"plotwarden/plan"
)

// Told is what a person knows of a site after a message: for each planting and
// threat what was last said of it in full. Comparing with it, and not with the
// round before, finds what is new to the person: also what changed at noon, or
// drifted a day at a time.
type Told struct {
	Entries map[string]Entry `json:"entries"`
	Finds   []string         `json:"finds,omitempty"` // ids of neighbours' finds
}

// Entry is what was last said of one threat to one planting.
type Entry struct {
	Readiness plan.Readiness `json:"readiness"`
	Code      string         `json:"code"`          // of the reason
	P50       civil.Date     `json:"p50,omitempty"` // likely date
	Chance    float64        `json:"chance"`        // within 14 days; 0 without an outlook
	Dated     bool           `json:"dated"`         // there was an outlook
}

func toldKey(a *plan.Assessment) string { return a.Planting + "/" + a.Threat }

func entryOf(a *plan.Assessment) Entry {
	e := Entry{Readiness: a.Readiness, Code: a.Reason.Code}
	if a.Outlook != nil {
		e.Dated, e.P50, e.Chance = true, a.Outlook.P50, a.Outlook.Chance[1]
	}
	return e
}

// after returns what the person knows after this digest, which tells of some of
// all items. What was not told in full keeps its old entry, so that small steps
// add up, and what was left out by choice is new once it comes back.
func (in *Input) after(all, told []item) *Told {
	out := &Told{Entries: map[string]Entry{}}
	if in.Told != nil {
		for i := range all {
			if e, ok := in.Told.Entries[toldKey(&all[i].Assessment)]; ok {
				out.Entries[toldKey(&all[i].Assessment)] = e
			}
		}
	}
	for i := range told {
		key := toldKey(&told[i].Assessment)
		if _, known := out.Entries[key]; !known || told[i].change.isNews() {
			out.Entries[key] = entryOf(&told[i].Assessment)
		}
	}
	return out
}

// Encode writes it for the store.
func (t *Told) Encode() ([]byte, error) {
	b, err := json.Marshal(t)
	if err != nil {
		return nil, fmt.Errorf("encode what was told: %w", err)
	}
	return b, nil
}

// ParseTold reads what Encode wrote. Nothing at all is nil: a first message.
func ParseTold(b []byte) (*Told, error) {
	if len(b) == 0 {
		return nil, nil
	}
	var t Told
	if err := json.Unmarshal(b, &t); err != nil {
		return nil, fmt.Errorf("read what was told: %w", err)
	}
	return &t, nil
}
