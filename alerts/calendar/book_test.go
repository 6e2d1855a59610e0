package calendar

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/plan"
)

func mustMake(t require.TestingT, in Input, last Book) ([]byte, Book) {
	ics, book, err := Make(in, last)
	require.NoError(t, err)
	return ics, book
}

func TestWhatDidNotChangeKeepsItsRevision(t *testing.T) {
	in := example(t)
	first, book := mustMake(t, in, nil)
	kept, err := json.Marshal(book)
	require.NoError(t, err)
	book, err = ParseBook(kept)
	require.NoError(t, err)
	in.Now = in.Now.Add(20 * time.Minute) // the next round, the same weather
	second, after := mustMake(t, in, book)
	assert.Equal(t, string(first), string(second))
	again, err := json.Marshal(after)
	require.NoError(t, err)
	assert.JSONEq(t, string(kept), string(again))
}

func TestWhatChangedGetsAHigherRevision(t *testing.T) {
	in := example(t)
	_, book := mustMake(t, in, nil)
	next := changed(in)
	_, after := mustMake(t, next, book)

	am := in.uid("dry hours", "2026-06-04 am", "0")
	assert.Greater(t, after[am].Sequence, book[am].Sequence, "the hours moved")
	assert.Equal(t, next.Now, after[am].Stamp)
	pm := in.uid("dry hours", "2026-06-04 pm", "0")
	assert.True(t, after[pm].Cancelled, "hours that are off are cancelled, not forgotten")
	assert.Greater(t, after[pm].Sequence, book[pm].Sequence)
	assert.True(t, after[in.uid("keep out", "r1")].Cancelled)
	last := in.uid("last day", "tom-1", "late-blight")
	assert.Equal(t, book[last], after[last])

	// Said once, a cancellation stays as it is, until its time is over.
	next.Now = next.Now.Add(time.Hour)
	_, later := mustMake(t, next, after)
	assert.Equal(t, after[pm], later[pm])
	next.Now = time.Date(2026, 6, 4, 19, 0, 0, 0, time.UTC)
	_, later = mustMake(t, next, later)
	assert.NotContains(t, later, pm)

	// What comes back is planned again, above its cancellation.
	in.Now = next.Now.Add(-2 * time.Hour)
	_, back := mustMake(t, in, after)
	assert.False(t, back[pm].Cancelled)
	assert.Greater(t, back[pm].Sequence, after[pm].Sequence)
}

// A text alone is no new revision (RFC 5546, section 2.1.4), but a new stamp.
func TestANewTextKeepsTheSequence(t *testing.T) {
	in := example(t)
	_, book := mustMake(t, in, nil)
	in.Now = in.Now.Add(time.Hour)
	in.Assessments[0].Steps[0].Text = "take off all leaves that touch the soil"
	last := in.uid("last day", "tom-1", "late-blight")
	_, after := mustMake(t, in, book)
	assert.Equal(t, book[last].Sequence, after[last].Sequence)
	assert.Equal(t, in.Now, after[last].Stamp)
}

// Over any course of the weather, and with a book that is lost at any time, the
// revision of a name never goes back while its event changes.
func TestRevisionsNeverGoBack(t *testing.T) {
	base := example(t)
	rapid.Check(t, func(t *rapid.T) {
		in := base
		var book Book
		seen := map[string]Entry{}
		for range rapid.IntRange(2, 12).Draw(t, "rounds") {
			in.Now = in.Now.Add(time.Duration(rapid.IntRange(1, 90).Draw(t, "minutes")) * time.Minute)
			in.Hours = nil
			for h := range 20 {
				from := base.Now.Truncate(time.Hour).Add(time.Duration(h) * time.Hour)
				in.Hours = append(in.Hours, plan.Hours{From: from, To: from.Add(time.Hour), Good: rapid.Bool().Draw(t, "good")})
			}
			if rapid.IntRange(0, 9).Draw(t, "lost") == 0 {
				book = nil
			}
			book = book.revise(in.events(), in.Now, in.loc())
			for uid, e := range book {
				if was, ok := seen[uid]; ok {
					if e.Sequence < was.Sequence {
						t.Fatalf("revision of %s went from %d to %d", uid, was.Sequence, e.Sequence)
					}
					if !sameTime(&was.Event, &e.Event) && e.Sequence == was.Sequence {
						t.Fatalf("%s moved without a new revision", uid)
					}
				}
				seen[uid] = e
			}
		}
	})
}

func TestParseBook(t *testing.T) {
	b, err := ParseBook(nil)
	require.NoError(t, err)
	assert.Nil(t, b)
	_, err = ParseBook([]byte(`[1]`))
	assert.ErrorContains(t, err, "read the calendar's book")
}

func FuzzParseBook(f *testing.F) {
	f.Add([]byte(`{"a":{"event":{"uid":"a","day":"2026-06-04","until":"2026-06-05","summary":"s"},"sequence":3,"stamp":"2026-06-04T04:10:00Z","mark":"","cancelled":true}}`))
	f.Add([]byte(`{"a":{"event":{"uid":"b"}}}`))
	in := example(&testing.T{})
	f.Fuzz(func(t *testing.T, b []byte) {
		book, err := ParseBook(b)
		if err != nil {
			return
		}
		if _, _, err := Make(in, book); err != nil {
			t.Fatal(err)
		}
	})
}
