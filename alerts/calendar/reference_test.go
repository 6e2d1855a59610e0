package calendar

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
)

// nodeModules returns the folder of the reference libraries. Where it is absent
// the test is skipped, but for a run that promises them.
func nodeModules(t *testing.T, pkg string) (node, dir string) {
	t.Helper()
	missing := t.Skipf
	if os.Getenv("CI") == "true" {
		missing = t.Fatalf
	}
	dir = os.Getenv("PLOTWARDEN_NODE_MODULES")
	if dir == "" {
		missing("PLOTWARDEN_NODE_MODULES names no node_modules folder")
	}
	if _, err := os.Stat(filepath.Join(dir, pkg)); err != nil {
		missing("npm package %s is not installed in PLOTWARDEN_NODE_MODULES", pkg)
	}
	node, err := exec.LookPath("node")
	if err != nil {
		missing("node is not installed")
	}
	dir, err = filepath.Abs(dir)
	require.NoError(t, err)
	return node, dir
}

type readEvent struct {
	UID, Stamp, Zone, Start, End, Summary, Description, Location, URL, Status, Transp string
	Sequence                                                                          int
	AllDay                                                                            bool
	Alarms                                                                            []struct {
		Action, Description string
		Seconds             float64
	}
}

type readCalendar struct {
	Version, Prodid, Method, Name, XName, Description, Refresh string
	Events                                                     []readEvent
}

func readBack(t *testing.T, calendars ...[]byte) []readCalendar {
	t.Helper()
	node, modules := nodeModules(t, "ical.js")
	cmd := exec.Command(node, "testdata/read.js")
	cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
	texts := make([]string, len(calendars))
	for i, c := range calendars {
		texts[i] = string(c)
	}
	in, err := json.Marshal(texts)
	require.NoError(t, err)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	var all []readCalendar
	require.NoError(t, json.Unmarshal(out, &all))
	require.Len(t, all, len(calendars))
	return all
}

// The reference library (npm ical.js 2.2.1) reads back every event as it was
// meant.
func TestReferenceLibraryReadsTheSame(t *testing.T) {
	for _, c := range []struct {
		name   string
		lang   lang.Voice
		method string
	}{{"feed", lang.English, ""}, {"attachment", lang.Spanish, Publish}} {
		t.Run(c.name, func(t *testing.T) {
			in := example(t)
			in.Lang, in.Method = c.lang, c.method
			_, book := mustMake(t, in, nil)
			in = changed(in)
			ics, book := mustMake(t, in, book)
			got := readBack(t, ics)[0]
			assert.Equal(t, "2.0", got.Version)
			assert.Equal(t, "-//plotwarden//calendar//"+strings.ToUpper(c.lang.Tag()), got.Prodid)
			assert.Equal(t, c.method, got.Method)
			// The library knows neither name and leaves both as they are written.
			name := strings.NewReplacer(",", `\,`, ";", `\;`).Replace(c.lang.Say(lang.CalendarName, in.Site.Name))
			assert.Equal(t, []string{name, name}, []string{got.Name, got.XName})
			assert.Equal(t, c.lang.Say(lang.CalendarAbout), got.Description)
			assert.Equal(t, "PT1H", got.Refresh)

			want := in.events()
			if c.method != "" {
				off := book.cancelled()
				require.NotEmpty(t, off)
				want = append(want, off...)
			}
			require.Len(t, got.Events, len(want))
			for i, e := range want {
				compare(t, &in, book, e, got.Events[i])
			}
		})
	}
}

func compare(t *testing.T, in *Input, book Book, e event, got readEvent) {
	assert.Equal(t, e.UID, got.UID)
	assert.Equal(t, e.Summary, got.Summary)
	assert.Equal(t, in.Site.Name, got.Location)
	assert.Equal(t, e.URL, got.URL)
	assert.Equal(t, "TRANSPARENT", got.Transp)
	assert.Equal(t, book[e.UID].Sequence, got.Sequence)
	stamp, err := time.Parse(time.RFC3339, got.Stamp)
	require.NoError(t, err)
	assert.True(t, book[e.UID].Stamp.Equal(stamp))
	assert.Equal(t, !e.timed(), got.AllDay)
	if e.timed() {
		assert.Equal(t, "UTC", got.Zone)
		for _, x := range []struct {
			want time.Time
			got  string
		}{{e.From, got.Start}, {e.To, got.End}} {
			at, err := time.Parse(time.RFC3339, x.got)
			require.NoError(t, err)
			assert.True(t, x.want.Equal(at), "%s is %s", x.want, at)
		}
	} else {
		assert.Equal(t, []string{e.Day.String(), e.Until.String()}, []string{got.Start, got.End})
	}
	if e.Cancelled {
		assert.Equal(t, "CANCELLED", got.Status)
		assert.Empty(t, got.Alarms)
		return
	}
	assert.Equal(t, "CONFIRMED", got.Status)
	assert.True(t, strings.HasPrefix(got.Description, e.Description), "%q\n%q", got.Description, e.Description)
	if e.Remind {
		require.Len(t, got.Alarms, 1)
		assert.Equal(t, -1800.0, got.Alarms[0].Seconds)
		assert.Equal(t, "DISPLAY", got.Alarms[0].Action)
	} else {
		assert.Empty(t, got.Alarms)
	}
}

// hostile are names that people or other programs could write.
var hostile = []string{
	`a\nb\\n,;:"quoted"`, "two\nlines", "cr\rBEGIN:VEVENT", "crlf\r\nEND:VCALENDAR\r\n", "\u2028separator", "tab\there", "nul\x00bell\a",
	"bad \xff utf8", strings.Repeat("ü", 200), strings.Repeat("🌱", 60), strings.Repeat("long-word", 40), "x " + strings.Repeat("y", 80) + " z", `%d %s %[1]d`, " lead and trail ",
}

func withTexts(in Input, name, what string) Input {
	in.Site = &garden.Site{ID: in.Site.ID, Name: name, Zone: in.Site.Zone, Plots: slices.Clone(in.Site.Plots)}
	for i := range in.Site.Plots {
		in.Site.Plots[i].Name = name
	}
	in.Assessments = slices.Clone(in.Assessments)
	for i := range in.Assessments {
		a := &in.Assessments[i]
		a.Reason.Text = what
		a.Steps = slices.Clone(a.Steps)
		for j := range a.Steps {
			a.Steps[j].Text = what
		}
	}
	in.Records = slices.Clone(in.Records)
	for i := range in.Records {
		in.Records[i].Product = what
	}
	in.Threats = threats{"late-blight": name, "cabbageworm": what, "bean-beetle": name}
	return in
}

func TestReferenceLibraryReadsHostileTexts(t *testing.T) {
	var all [][]byte
	for _, s := range hostile {
		ics, _ := mustMake(t, withTexts(example(t), "n"+s, "w"+s), nil)
		all = append(all, ics)
	}
	for n, got := range readBack(t, all...) {
		in := withTexts(example(t), "n"+hostile[n], "w"+hostile[n])
		want := in.events()
		require.Len(t, got.Events, len(want), "%q", hostile[n])
		for i, e := range want {
			assert.Equal(t, e.UID, got.Events[i].UID)
			assert.Equal(t, line(e.Summary), got.Events[i].Summary)
			assert.Equal(t, line(in.Site.Name), got.Events[i].Location)
			assert.True(t, strings.HasPrefix(got.Events[i].Description, text(e.Description)), "%q\n%q", got.Events[i].Description, text(e.Description))
		}
	}
}

// The form holds for any text: lines of at most 75 octets that end with CR LF
// and are whole UTF-8 (RFC 5545, section 3.1), the same number of entries, and
// no line that is not one of ours.
func TestFormHoldsForAnyText(t *testing.T) {
	base := example(t)
	names := []string{"BEGIN", "END", "VERSION", "PRODID", "CALSCALE", "NAME", "X-WR-CALNAME", "DESCRIPTION", "X-WR-CALDESC", "X-WR-TIMEZONE", "REFRESH-INTERVAL",
		"X-PUBLISHED-TTL", "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "URL", "LOCATION", "TRANSP", "STATUS", "ACTION", "TRIGGER"}
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }))
		in := withTexts(base, part.Draw(t, "name"), part.Draw(t, "what"))
		ics, _ := mustMake(t, in, nil)
		if n := strings.Count(string(ics), "\r\nBEGIN:VEVENT\r\n"); n != len(in.events()) {
			t.Fatalf("%d events are %d", len(in.events()), n)
		}
		lines := strings.Split(strings.TrimSuffix(string(ics), "\r\n"), "\r\n")
		for _, l := range lines {
			if len(l) > 75 || !utf8.ValidString(l) || strings.ContainsAny(l, "\r\n") {
				t.Fatalf("bad line %q", l)
			}
			if strings.HasPrefix(l, " ") {
				continue
			}
			name := l[:strings.IndexAny(l+":", ":;")]
			if !slices.Contains(names, name) {
				t.Fatalf("a line of its own: %q", l)
			}
		}
	})
}

// A reader in the day of a clock change sees whole days and instants as meant.
func TestClockChanges(t *testing.T) {
	for _, zone := range []string{"America/Havana", "America/Santiago", "Africa/Cairo", "Australia/Lord_Howe", "Asia/Kathmandu"} {
		in := example(t)
		in.Site = &garden.Site{ID: "s", Name: "s", Zone: zone, Plots: in.Site.Plots}
		loc := in.Site.Location()
		for d := range 366 {
			in.Now = time.Date(2026, 1, 1, 11, 0, 0, 0, time.UTC).AddDate(0, 0, d)
			_, before := in.Now.AddDate(0, 0, -2).In(loc).Zone()
			_, after := in.Now.AddDate(0, 0, 4).In(loc).Zone()
			if before == after && d%30 != 0 {
				continue // no change near
			}
			in.Hours = []plan.Hours{{From: in.Now, To: in.Now.Add(3 * time.Hour), Good: true}}
			for i := range in.Assessments {
				in.Assessments[i].Round = in.Now
			}
			in.Records = []garden.Record{{ID: "r", Planting: "tom-1", Start: in.Now, Product: "x", Label: garden.LabelValues{PreHarvestDays: ptr(3), ReEntryHours: ptr(24)}}}
			in.Records[0].Fill(in.Site, nil)
			ids := map[string]bool{}
			for _, e := range in.events() {
				require.False(t, ids[e.UID])
				ids[e.UID] = true
				if e.timed() {
					require.True(t, e.To.After(e.From), "%s %s", zone, in.Now)
				} else {
					require.Greater(t, e.Until, e.Day)
				}
			}
			dry := byAbout(t, in, "dry hours", in.Now.In(loc).Format("2006-01-02 pm"), "0")
			if in.Now.In(loc).Hour() < 12 {
				dry = byAbout(t, in, "dry hours", in.Now.In(loc).Format("2006-01-02")+" am", "0")
			}
			require.NotNil(t, dry, "%s %s", zone, in.Now)
			require.Equal(t, 3*time.Hour, dry.To.Sub(dry.From))
		}
	}
}
