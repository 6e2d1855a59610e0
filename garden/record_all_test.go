package garden

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestOnRecord(t *testing.T) {
	site := &Site{ID: "north", Zone: "Etc/UTC"}
	at := func(h int) time.Time { return time.Date(2026, 6, 1, h, 0, 0, 0, time.UTC) }
	records := []Record{{ID: "r", Site: "north", Start: at(9), Replaces: "a"}}
	stored := []Treatment{{ID: "r", Site: "north", At: at(9)}, {ID: "b", Site: "north", At: at(7), PreHarvestDays: 3}}
	file := []Treatment{{ID: "a", Site: "north", At: at(8)}, {ID: "b", Site: "north", At: at(7)}, {ID: "c", Site: "south", At: at(6)}}
	got := OnRecord(site, records, nil, stored, file)
	var ids []string
	for _, r := range got {
		ids = append(ids, r.ID)
	}
	assert.Equal(t, []string{"b", "a", "r"}, ids, "each once, what was corrected with them")
	assert.Equal(t, 3, *got[0].Label.PreHarvestDays)
	assert.Len(t, records, 1, "what was given is not changed")
}
