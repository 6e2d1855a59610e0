package feed

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/alerts"
	"plotwarden/lang"
	"plotwarden/plan"
)

var update = flag.Bool("update", false, "write the golden files")

var slot = time.Date(2026, 6, 4, 4, 30, 0, 0, time.UTC)

func digest(day int) *alerts.Digest {
	at := slot.AddDate(0, 0, day)
	return &alerts.Digest{
		SiteID: "long-field", Site: "Long Field", PersonID: "ada", Person: "Ada", Slot: at, Day: at.Format("Mon 2 Jan"),
		Subject: "Long Field: 1 to act on, 1 blind — " + at.Format("Mon 2 Jan"), Lead: "1 to act on, 1 blind.", Link: "https://beds.example.org/site/long-field",
		New: []alerts.Notice{{
			Readiness: plan.Act, Threat: "Late blight", Beds: []alerts.Bed{{Name: "Bed 3: Tomato", Link: "https://beds.example.org/x?a=1&b=2"}, {Name: `Bed "7" <wet>`}},
			Change: "New.", When: "by tomorrow", Sure: "Expected on 6 Jun.", Why: "Invented: 18 wet hours & more.", First: []alerts.StepLine{{Text: "Take off the lowest leaves.", By: "by tomorrow"}},
			Dry: "today 06:00 to 09:00", Caution: alerts.Caution, Numbers: []string{"wet hours: 18 h (invented; from memory)"}, Model: "An invented model",
		}},
		Open:  []alerts.Notice{{Readiness: plan.Approaching, Threat: "Squash vine borer", Beds: []alerts.Bed{{Name: "Bed 9: Squash"}}, When: "before Wed 17 Jun", Next: "Cover the bed."}},
		Gone:  []string{"Cabbage aphid, Bed 2: Kale: was act, now quiet."},
		Blind: []alerts.Blind{{Since: "Blind since Tue 2 Jun 14:00 (2 days).", What: []string{"Early blight, Bed 7: Tomato"}}},
		Dry:   []alerts.DryDay{{Day: "today", Hours: "06:00 to 09:00", Good: true}}, Rest: "Also watched: 2 quiet.", Credits: []string{"Weather: invented"},
	}
}

func example(t require.TestingT) Feed {
	f := Feed{
		SiteID: "long-field", Site: "Long Field", PersonID: "ada", Home: "https://beds.example.org", Self: "https://beds.example.org/feed/x",
		Page: "https://beds.example.org/site/long-field", Since: slot.AddDate(0, -1, 0),
	}
	for day := range 3 {
		e, err := EntryOf(digest(day))
		require.NoError(t, err)
		f.Entries = append(f.Entries, e)
	}
	return f
}

// node is an element as an independent reader sees it.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Nodes   []node     `xml:",any"`
}

func (n node) all(name string) (out []node) {
	for _, c := range n.Nodes {
		if c.XMLName.Local == name && c.XMLName.Space == "http://www.w3.org/2005/Atom" {
			out = append(out, c)
		}
	}
	return out
}

func (n node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

type failer interface {
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// read parses a feed and checks what RFC 4287 requires: section 4.1.1 for the
// feed, 4.1.2 for entries, 3.3 for dates, 4.2.6 for ids, 4.2.7 for links.
func read(t failer, b []byte) node {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimSpace(b)))
	var root node
	if err := d.Decode(&root); err != nil {
		t.Fatalf("not XML: %v\n%s", err, b)
	}
	if _, err := d.Token(); err != io.EOF {
		t.Errorf("more after the feed: %v", err)
	}
	if root.XMLName.Local != "feed" || root.XMLName.Space != "http://www.w3.org/2005/Atom" {
		t.Fatalf("root is %v", root.XMLName)
	}
	one := func(n node, name string) node {
		all := n.all(name)
		if len(all) != 1 {
			t.Fatalf("%d of %s in %s", len(all), name, n.XMLName.Local)
		}
		return all[0]
	}
	ids := map[string]bool{}
	common := func(n node) {
		u, err := url.Parse(one(n, "id").Text)
		if err != nil || !u.IsAbs() || ids[u.String()] {
			t.Errorf("id %q is no IRI or not unique", one(n, "id").Text)
		}
		ids[u.String()] = true
		one(n, "title")
		if _, err := time.Parse(time.RFC3339, one(n, "updated").Text); err != nil {
			t.Errorf("updated: %v", err)
		}
		alternate := map[string]bool{}
		for _, l := range n.all("link") {
			if l.attr("href") == "" {
				t.Errorf("a link has no href")
			}
			if l.attr("rel") == "alternate" {
				if alternate[l.attr("type")] {
					t.Errorf("two alternate links of a type")
				}
				alternate[l.attr("type")] = true
			}
		}
	}
	common(root)
	if one(one(root, "author"), "name").Text == "" { // for all entries
		t.Errorf("the author has no name")
	}
	entries := false
	for _, n := range root.Nodes {
		if n.XMLName.Local == "entry" {
			entries = true
		} else if entries {
			t.Errorf("%s stands after an entry", n.XMLName.Local)
		}
	}
	for _, e := range root.all("entry") {
		common(e)
		if _, err := time.Parse(time.RFC3339, one(e, "published").Text); err != nil {
			t.Errorf("published: %v", err)
		}
		if one(e, "content").attr("type") != "html" {
			t.Errorf("content is no html")
		}
		for _, c := range e.all("category") {
			if c.attr("term") == "" {
				t.Errorf("a category has no term")
			}
		}
	}
	return root
}

func TestGolden(t *testing.T) {
	got, err := Write(example(t))
	require.NoError(t, err)
	read(t, got)
	if *update {
		require.NoError(t, os.WriteFile("testdata/feed.xml", got, 0o644))
	}
	want, err := os.ReadFile("testdata/feed.xml")
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "run with -update to accept")
}

func TestReadBack(t *testing.T) {
	f := example(t)
	b, err := Write(f)
	require.NoError(t, err)
	root := read(t, b)
	assert.Equal(t, "en", root.attr("lang"))
	assert.Equal(t, "Morning messages of Long Field", root.all("title")[0].Text)
	assert.Equal(t, "2026-06-06T04:30:00Z", root.all("updated")[0].Text, "of the newest entry")
	entries := root.all("entry")
	require.Len(t, entries, 3)
	for i, e := range entries {
		want := f.Entries[2-i]
		assert.Equal(t, want.Title, e.all("title")[0].Text)
		assert.Equal(t, want.HTML, e.all("content")[0].Text)
		assert.Equal(t, want.Link, e.all("link")[0].attr("href"))
		var words []string
		for _, c := range e.all("category") {
			words = append(words, c.attr("term"))
		}
		assert.Equal(t, []string{"act", "approaching", "blind"}, words)
	}
	for _, part := range []string{"► ACT: Late blight", "∅ BLIND", "not the same as no risk", "&lt;wet&gt;", `href="https://beds.example.org/x?a=1&amp;b=2"`, alerts.Caution, "from memory"} {
		assert.Contains(t, f.Entries[0].HTML, part)
	}
}

func TestIDsStayAndDiffer(t *testing.T) {
	ids := func(f Feed) (out []string) {
		b, err := Write(f)
		require.NoError(t, err)
		root := read(t, b)
		out = append(out, root.all("id")[0].Text)
		for _, e := range root.all("entry") {
			out = append(out, e.all("id")[0].Text)
		}
		return out
	}
	f := example(t)
	first := ids(f)
	f.Entries[0].Title, f.Entries[0].HTML = "another", "<p>another</p>"
	f.Self, f.Page, f.Site = "", "", "Renamed"
	assert.Equal(t, first, ids(f), "an id does not follow the words")
	for _, s := range first {
		assert.NotContains(t, s, "ada")
	}
	f.Home = "https://other.example.org"
	for i, s := range ids(f) {
		assert.NotEqual(t, first[i], s)
	}
}

func TestAnUpdatedEntryMovesUpAndStandsOnce(t *testing.T) {
	f := example(t)
	again := f.Entries[0]
	again.Updated, again.Title = slot.AddDate(0, 0, 5), "corrected"
	f.Entries = append(f.Entries, again)
	b, err := Write(f)
	require.NoError(t, err)
	entries := read(t, b).all("entry")
	require.Len(t, entries, 3)
	assert.Equal(t, "corrected", entries[0].all("title")[0].Text)
	assert.Equal(t, "2026-06-04T04:30:00Z", entries[0].all("published")[0].Text)
	assert.Equal(t, "2026-06-09T04:30:00Z", entries[0].all("updated")[0].Text)
}

func TestEmptyLongAndFaulty(t *testing.T) {
	b, err := Write(Feed{SiteID: "s", Since: slot, Lang: lang.Spanish})
	require.NoError(t, err)
	root := read(t, b)
	assert.Equal(t, "2026-06-04T04:30:00Z", root.all("updated")[0].Text)
	assert.Equal(t, "es", root.attr("lang"))
	var f Feed
	for i := range Most + 5 {
		f.Entries = append(f.Entries, Entry{Key: fmt.Sprint(i), Title: fmt.Sprint(i), Published: slot.AddDate(0, 0, i)})
	}
	f.SiteID = "s"
	b, err = Write(f)
	require.NoError(t, err)
	entries := read(t, b).all("entry")
	require.Len(t, entries, Most)
	assert.Equal(t, fmt.Sprint(Most+4), entries[0].all("title")[0].Text)
	_, err = Write(Feed{Entries: []Entry{{Key: "a"}}})
	assert.ErrorContains(t, err, "no key or no time")
}

// Any text gives a feed that an XML reader takes (XML 1.0 allows no control
// characters), with the same number of entries.
func TestAnyTextGivesAFeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.Just("\x00\x0b\xff]]><entry>&amp;</entry>\ufffe"))
		d := digest(0)
		d.Site, d.Subject, d.Lead = text.Draw(t, "site"), text.Draw(t, "subject"), text.Draw(t, "lead")
		d.New[0].Threat, d.New[0].Beds[0].Link, d.Link = text.Draw(t, "threat"), text.Draw(t, "bed link"), "https://x/"+text.Draw(t, "link")
		e, err := EntryOf(d)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(e.HTML, "<entry>") || strings.Contains(strings.ToLower(e.HTML), `href="javascript`) {
			t.Fatalf("markup came through: %s", e.HTML)
		}
		b, err := Write(Feed{SiteID: "s", Site: d.Site + "x", Since: slot, Entries: []Entry{e}})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(read(t, b).all("entry")); n != 1 {
			t.Fatalf("%d entries", n)
		}
	})
}

func TestETag(t *testing.T) {
	a, err := Write(example(t))
	require.NoError(t, err)
	b, err := Write(example(t))
	require.NoError(t, err)
	assert.Equal(t, string(a), string(b))
	assert.Equal(t, ETag(a), ETag(b))
	assert.NotEqual(t, ETag(a), ETag(nil))
}
