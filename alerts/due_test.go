package alerts

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/plan"
)

// Work that follows earlier work is told with its time and bed, in both forms, and
// also to who wants silence when nothing is new.
func TestDueWorkIsTold(t *testing.T) {
	in := Input{Person: garden.Person{ID: "ada", Name: "Ada", Quiet: true}, Site: site(), Slot: at(today, 6), Catalogue: threats{}, Told: &Told{}}
	_, send := Compose(in)
	require.False(t, send, "nothing is new")
	in.Reminders = []plan.Reminder{
		{Record: "r1", Plot: "b3", Planting: "tom", At: at(today, 7), Text: "After the mix: rinse it off."},
		{At: at(today+1, 17), Text: "Night to Sat 6 Jun 1 C. Cover <the beds>."},
	}
	d, send := Compose(in)
	require.True(t, send)
	assert.Equal(t, []string{"Thu 4 Jun 07:00, Bed 3 (tomato): After the mix: rinse it off.", "Fri 5 Jun 17:00: Night to Sat 6 Jun 1 C. Cover <the beds>."}, d.Due)
	assert.Contains(t, d.Text(), "DUE TODAY AND TOMORROW\n- Thu 4 Jun 07:00, Bed 3 (tomato): After the mix: rinse it off.")
	html, err := d.HTML()
	require.NoError(t, err)
	assert.Contains(t, html, "Cover &lt;the beds&gt;.")

	in.Person.Language = garden.Spanish
	d, _ = Compose(in)
	assert.Contains(t, d.Text(), "PARA HOY Y MAÑANA")
	assert.Contains(t, d.Due[0], "[en] After the mix", "what is not in their language is marked")
}
