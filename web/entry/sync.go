package entry

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"plotwarden/garden"
	"plotwarden/web/page"
)

// queued is one entry that waited on a phone: the form as it was filled in, who
// filled it in and when.
type queued struct {
	Kind    string     `json:"kind"` // "look" or "treatment"
	Entered time.Time  `json:"entered"`
	Person  string     `json:"person"`
	Fields  url.Values `json:"fields"`
	Photos  []string   `json:"photos"` // base64
}

// outcome is what became of it.
type outcome struct {
	ID     string      `json:"id"`
	State  state       `json:"state"`
	Href   string      `json:"href,omitempty"`   // of the entry that stands
	Text   string      `json:"text,omitempty"`   // of the entry that stands in the way
	Faults []fault     `json:"faults,omitempty"` // of one that is refused
	Checks []checkLine `json:"checks,omitempty"` // of a treatment: what stood against it
}

type fault struct {
	Field string `json:"field"`
	Label string `json:"label"`
	Text  string `json:"text"`
}

// mostQueued is how many entries one request brings.
const mostQueued = 20

// sync takes what a phone kept while it had no connection. Each entry stands for
// itself: what is wrong with one does not hold up the others, and one that was
// taken before is known by its id.
func (s *server) sync(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	var in struct {
		Entries []queued `json:"entries"`
	}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil || len(in.Entries) > mostQueued {
		s.json(w, r, http.StatusBadRequest, map[string]string{"error": fmt.Sprintf("send {entries: [{kind, entered, person, fields, photos}]}, %d at most", mostQueued)})
		return
	}
	out := make([]outcome, len(in.Entries))
	for i := range in.Entries {
		o, err := s.take(r, site, &in.Entries[i])
		if err != nil {
			s.Kit.Fail(w, r, err) // what went well is known when it is sent again
			return
		}
		out[i] = o
	}
	s.json(w, r, http.StatusOK, map[string]any{"entries": out})
}

func (s *server) take(r *http.Request, site *garden.Site, q *queued) (outcome, error) {
	f := s.sheet(r, site, q.Fields)
	o := outcome{ID: f.get("id"), State: refused}
	at := q.Entered.UTC().Truncate(time.Second)
	switch {
	case q.Person != f.who.Person:
		f.bad("person", f.t("Person"), f.t("Somebody else logged this here. Sign in as that person to send it."))
	case at.IsZero() || at.After(f.now.Add(24*time.Hour)):
		f.bad("entered", f.t("Time"), f.t("The clock of the phone is wrong: set it, and log this again."))
	}
	pictures := s.develop(f, decodeAll(f, q.Photos))
	var err error
	switch q.Kind {
	case "look":
		var x garden.Scouting
		if x, err = s.look(r, f); err == nil && len(f.faults) == 0 {
			x.Entered = at
			o.State, err = s.keepLook(r, &x, pictures)
		}
	case "treatment":
		var x garden.Record
		var m *garden.Material
		if x, m, err = s.treatment(r, f); err == nil && x.Start.After(f.now.Add(aheadSlack)) {
			f.bad("day", f.t("Begun at"), f.t("Log work once it is done."))
		}
		if err == nil && len(f.faults) == 0 {
			cs, cerr := s.checks(r, f, &x, m)
			if cerr != nil {
				return o, cerr
			}
			x.Entered, o.Checks = at, checkLines(cs, f.t)
			o.State, err = s.keepRecord(r, &x, pictures)
		}
	default:
		f.bad("kind", f.t("Kind"), f.t("It is neither a look nor a treatment."))
	}
	if err != nil {
		return o, err
	}
	for _, b := range f.faults {
		o.Faults = append(o.Faults, fault{b.Name, b.Label, b.Fault})
	}
	if o.State != refused {
		o.Href = entryHref(site.ID, o.ID)
	}
	if o.State == conflicting {
		if err := s.tellConflict(r, f, &o); err != nil {
			return o, err
		}
	}
	return o, nil
}

// tellConflict says in words what stands under the id.
func (s *server) tellConflict(r *http.Request, f *sheet, o *outcome) error {
	e, err := s.entry(r, f.site, o.ID)
	if err != nil {
		return err
	}
	if p, ok := s.savedPage(f, &e); ok {
		o.Text = p.Now.When + ": " + p.Now.Text
		for _, m := range p.Now.More {
			o.Text += "; " + m
		}
	}
	return nil
}

func decodeAll(f *sheet, texts []string) [][]byte {
	var out [][]byte
	for _, t := range texts {
		raw, err := base64.StdEncoding.DecodeString(t)
		if err != nil {
			f.badPhoto(errFormat)
			return nil
		}
		out = append(out, raw)
	}
	return out
}

// waiting is the page of what waits on this phone. All of it is in the browser;
// the page itself has nothing of anybody, so that it opens without a connection.
func (s *server) waiting(w http.ResponseWriter, r *http.Request) {
	s.pages.Show(w, r, http.StatusOK, "waiting", page.Frame{Title: s.words(r)("Waiting on this phone"), Scripts: []string{"waiting.js"}, Body: nil})
}
