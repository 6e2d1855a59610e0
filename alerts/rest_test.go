package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
)

// chose is the choice of a kind made after the message of an input.
func chose(t *testing.T, in Input, kind, planting, threat string, until civil.Date) Chosen {
	t.Helper()
	d, _ := Compose(in)
	raw := store.Choice{Person: in.Person.ID, Site: "north", Kind: kind, Planting: planting, Threat: threat, Until: until, Seen: d.Told.SeenOf(planting, threat)}
	out, err := ChosenBy(in.Person.ID, []store.Choice{raw, {Person: "someone-else", Kind: store.ChoseNotMine}})
	require.NoError(t, err)
	return out
}

// told says in which part of the message a threat is named.
func told(d *Digest, threat string) string {
	for _, n := range d.New {
		if n.Threat == threat {
			return "new"
		}
	}
	for _, n := range d.Open {
		if n.Threat == threat {
			return "open"
		}
	}
	return ""
}

const borer = "Squash vine borer"

func withBorer(edit func(*plan.Assessment)) Input {
	in := toldBefore(busy())
	a := vineBorer()
	edit(&a)
	in.Assessments[0] = a
	return in
}

func same(*plan.Assessment) {}

func worse(a *plan.Assessment) { a.Readiness = plan.Act }

func moved(days int) func(*plan.Assessment) {
	return func(a *plan.Assessment) {
		o := *a.Outlook
		o.P50 = o.P50.AddDays(days)
		a.Outlook = &o
	}
}

func TestWhatIsDoneRestsUntilSomethingChanges(t *testing.T) {
	chosen := chose(t, busy(), store.ChoseDone, "squash", "vine-borer", 0)
	for name, c := range map[string]struct {
		edit func(*plan.Assessment)
		want string
	}{
		"the same":            {same, ""},
		"three days later":    {moved(3), ""},
		"four days later":     {moved(4), "new"},
		"to act on":           {worse, "new"},
		"the last day nears":  {func(a *plan.Assessment) { a.Steps = []plan.Step{{Kind: plan.CoverBed, By: today + 1}} }, ""},
		"chance up by a step": {func(a *plan.Assessment) { o := *a.Outlook; o.Chance[1] = 0.4; a.Outlook = &o }, "new"},
		"another reason":      {func(a *plan.Assessment) { a.Reason.Code = "other" }, "new"},
	} {
		in := withBorer(c.edit)
		in.Chosen = chosen
		d, _ := Compose(in)
		assert.Equal(t, c.want, told(&d, borer), name)
		assert.Equal(t, c.want == "", d.Left == "Left out by your choice: 1 done by you.", "%s: %s", name, d.Left)
		assert.NotEmpty(t, told(&d, "Late blight"), "others are told as ever")
	}
	// Once it was told anew it stays open: what was done was done for something else.
	in := withBorer(worse)
	in.Chosen = chosen
	next := toldBefore(in)
	d, _ := Compose(next)
	assert.Equal(t, "open", told(&d, borer))
}

func TestWhatIsPutOffComesBackOnItsDayOrWhenMorePressing(t *testing.T) {
	chosen := chose(t, busy(), store.ChoseNotNow, "squash", "vine-borer", today+2)
	compose := func(edit func(*plan.Assessment), later int) string {
		in := withBorer(edit)
		in.Chosen = chosen
		in.Slot = at(today.AddDays(later), 6)
		for i := range in.Assessments {
			in.Assessments[i].Round = in.Slot
		}
		d, _ := Compose(in)
		return told(&d, borer)
	}
	assert.Equal(t, "", compose(same, 2))
	assert.Equal(t, "", compose(moved(9), 2), "a date is no reason to break in")
	assert.Equal(t, "open", compose(same, 3))
	assert.Equal(t, "new", compose(worse, 1))
	in := withBorer(func(a *plan.Assessment) {
		*a = base("squash", "vine-borer", plan.Blind, "gap-hides", "Weather is missing.")
	})
	in.Chosen = chosen
	d, _ := Compose(in)
	require.Len(t, d.Blind, 1, "blindness is told whatever was put off")
}

func TestNotMyCropAndMutes(t *testing.T) {
	in := withBorer(worse)
	in.Chosen = chose(t, busy(), store.ChoseNotMine, "squash", "", 0)
	d, _ := Compose(in)
	assert.Empty(t, told(&d, borer))
	assert.Equal(t, "Left out by your choice: 1 not your crop.", d.Left)
	assert.Contains(t, d.Text(), d.Left)
	page, err := d.HTML()
	require.NoError(t, err)
	assert.Contains(t, page, d.Left)

	in.Chosen = chose(t, busy(), store.ChoseMute, "", "late-blight", today)
	d, _ = Compose(in)
	assert.Empty(t, told(&d, "Late blight"), "in both beds")
	assert.Equal(t, "Left out by your choice: 2 muted: late blight up to 4 Jun.", d.Left)
	in.Slot = at(today+1, 6)
	d, _ = Compose(in)
	assert.NotEmpty(t, told(&d, "Late blight"), "the mute has ended")

	in.Chosen = nil
	in.Person.Mute = []garden.Mute{{Threat: "late-blight", Until: today + 1}}
	d, _ = Compose(in)
	assert.Empty(t, told(&d, "Late blight"), "by the person's settings")
}

// What was muted before it was ever told of is new when the mute ends.
func TestWhatWasNeverToldIsNewAfterAMute(t *testing.T) {
	in := busy()
	in.Person.Mute = []garden.Mute{{Threat: "vine-borer", Until: today}}
	next := toldBefore(in)
	next.Slot = at(today+1, 6)
	d, _ := Compose(next)
	assert.Equal(t, "new", told(&d, borer))
}

func TestAMessageThatLeavesAllOutDoesNotSoundLikeAnAllClear(t *testing.T) {
	in := busy()
	in.Assessments = []plan.Assessment{vineBorer()}
	in.Person.Mute = []garden.Mute{{Threat: "vine-borer", Until: today}}
	d, _ := Compose(in)
	assert.NotContains(t, d.Text(), "Nothing is expected")
	assert.Contains(t, d.Lead, "apart from what you chose to be left out")
}

func TestDaysOfRest(t *testing.T) {
	p := garden.Person{Holidays: []garden.Holiday{{From: today, To: today + 1}}}
	assert.True(t, Rests(&p, today))
	assert.False(t, Rests(&p, today+2))
	p = garden.Person{Weekly: garden.On(time.Thursday)}
	assert.False(t, Rests(&p, today))
	for d := today + 1; d < today+7; d++ {
		assert.True(t, Rests(&p, d))
	}
	assert.True(t, Chosen{{Kind: store.ChoseStop, Channel: "email"}}.Stopped("email"))
	assert.False(t, Chosen{{Kind: store.ChoseStop, Channel: "email"}}.Stopped("push"))
	assert.True(t, Chosen{{Kind: store.ChoseStop}}.Stopped("push"))
}
