package setup

import (
	"net/http"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/web/page"
	"plotwarden/web/say"
)

// wishNames lead from the names of a person's fields to those of the form.
var wishNames = map[string]string{"url": "webhook", "secretFile": "webhook", "until": "mute", "threat": "mute", "from": "holidays", "to": "holidays", "quietHours": "quietFrom"}

// wishes is the form of how somebody is told. own leaves out what only the owner
// says: the name and the grounds.
func (s *server) wishes(t func(string, ...any) string, p *garden.Person, action string, f *sent, own bool) Form {
	quietFrom, quietTo := "", ""
	if p.QuietHours != (garden.QuietHours{}) {
		quietFrom, quietTo = p.QuietHours.From.String(), p.QuietHours.To.String()
	}
	weekly, _ := p.Weekly.MarshalText() // never fails
	form := Form{Action: action, Submit: t("Keep"), Hidden: [][2]string{{"mark", mark(p)}}}
	if !own {
		form.Fields = append(form.Fields, page.Field{Name: "name", Label: t("Name"), Value: p.Name, Required: true, Max: 80})
	}
	form.Fields = append(form.Fields,
		page.Field{Name: "email", Label: t("E-mail address"), Type: "email", Value: p.Email, Complete: "email", Max: 200},
		page.Field{Name: "language", Label: t("Language"), Type: "select", Choices: choices("English", string(p.Language), string(garden.Spanish), "Español")},
		page.Field{Name: "units", Label: t("Units"), Type: "select", Choices: choices(t("°C, millimetres, km/h"), unitsOf(p), string(garden.US), t("°F, inches, mph"))},
		page.Field{Name: "digest", Label: t("Hour of the morning message"), Type: "time", Value: string(p.Digest), Hint: t("Empty: the hour of the ground.")},
		page.Field{Name: "weekly", Label: t("How often"), Type: "select", Choices: choices(t("every day"), string(weekly),
			"monday", t("Mondays only"), "tuesday", t("Tuesdays only"), "wednesday", t("Wednesdays only"), "thursday", t("Thursdays only"), "friday", t("Fridays only"), "saturday", t("Saturdays only"), "sunday", t("Sundays only"))},
		page.Field{Name: "quietFrom", Label: t("Nothing from"), Type: "time", Value: quietFrom, Hint: t("Quiet hours of the day; both empty is none.")},
		page.Field{Name: "quietTo", Label: t("until"), Type: "time", Value: quietTo},
	)
	form.Groups = []Group{{Legend: t("On mornings with nothing new"), Name: "quiet", One: true, Choices: []page.Choice{
		{Value: "", Text: t("write all the same"), Chosen: !p.Quiet}, {Value: "yes", Text: t("write nothing"), Chosen: p.Quiet},
	}}}
	if !own {
		form.Groups = append([]Group{s.siteTicks(t, "sites", t("Gets the messages of"), p.Sites, false)}, form.Groups...)
		form.Fields = append(form.Fields, s.moreSites(t)...)
	}
	form.MoreTitle = t("Holidays, threats left out, webhook")
	form.More = []page.Field{
		{Name: "holidays", Label: t("Holidays"), Type: "textarea", Value: holidayText(p.Holidays), Hint: t("One a line, first and last day: 2026-07-01 to 2026-07-14")},
		{Name: "mute", Label: t("Threats left out"), Type: "textarea", Value: muteText(p.Mute), Hint: t("One a line, the threat and the last day: late-blight until 2026-08-31")},
		{Name: "webhook", Label: t("Webhook"), Value: p.Webhook.URL, Hint: t("An address of a program of yours to which messages are posted as signed JSON."), Max: 500},
	}
	f.fill(form.Fields, form.More)
	return form
}

func unitsOf(p *garden.Person) string {
	if p.Units == garden.US {
		return string(garden.US)
	}
	return ""
}

func holidayText(list []garden.Holiday) string {
	var b strings.Builder
	for _, h := range list {
		b.WriteString(h.From.String() + " to " + h.To.String() + "\n")
	}
	return b.String()
}

func muteText(list []garden.Mute) string {
	var b strings.Builder
	for _, m := range list {
		b.WriteString(m.Threat + " until " + m.Until.String() + "\n")
	}
	return b.String()
}

// changeWishes puts what was sent into a person. A webhook with a new address gets a
// new secret, which is returned to be shown once.
func (s *server) changeWishes(r *http.Request, id string, f *sent, own bool) (*Secret, error) {
	t := s.Kit.T(r)
	fresh := false
	err := s.Ground.People.Change(r.Context(), s.by(r, "changed settings"), id, func(p *garden.Person) error {
		if f.text("mark") != mark(p) {
			return errMeanwhile
		}
		if !own {
			if p.Name, p.Sites = f.text("name"), s.ticked(f); p.Name == "" {
				f.faults["name"] = t("Write the name.")
			}
		}
		p.Email, p.Language, p.Units, p.Digest, p.Weekly, p.Quiet = f.text("email"), "", "", "", garden.Weekday{}, f.text("quiet") == "yes"
		f.read("language", &p.Language)
		f.read("units", &p.Units)
		f.read("digest", &p.Digest)
		f.read("weekly", &p.Weekly)
		p.QuietHours = garden.QuietHours{}
		f.read("quietFrom", &p.QuietHours.From)
		f.read("quietTo", &p.QuietHours.To)
		if (f.text("quietFrom") == "") != (f.text("quietTo") == "") {
			f.faults["quietFrom"] = t("Write both hours, or neither.")
		}
		p.Holidays, p.Mute = f.holidays(t), f.mutes(t, s.Catalogue)
		fresh = f.text("webhook") != "" && f.text("webhook") != p.Webhook.URL
		p.Webhook = garden.Webhook{URL: f.text("webhook")}
		if p.Webhook.URL != "" {
			p.Webhook.SecretFile = ground.KeptSecret
		}
		return f.err()
	})
	if err != nil || !fresh {
		return nil, err
	}
	return s.secretFor(r, id)
}

func (f *sent) holidays(t func(string, ...any) string) []garden.Holiday {
	var out []garden.Holiday
	for line := range strings.Lines(f.v.Get("holidays")) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		var h garden.Holiday
		err1 := h.From.UnmarshalText([]byte(words[0]))
		err2 := h.To.UnmarshalText([]byte(words[len(words)-1]))
		if err1 != nil || err2 != nil {
			f.faults["holidays"] = t("“%s” is not two days of the form 2026-07-01 to 2026-07-14.", strings.TrimSpace(line))
		}
		out = append(out, h)
	}
	return out
}

func (f *sent) mutes(t func(string, ...any) string, cat Catalogue) []garden.Mute {
	var out []garden.Mute
	for line := range strings.Lines(f.v.Get("mute")) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		var until civil.Date
		if err := until.UnmarshalText([]byte(words[len(words)-1])); err != nil || len(words) < 2 {
			f.faults["mute"] = t("“%s” has no day at its end: late-blight until 2026-08-31.", strings.TrimSpace(line))
		}
		name := words[:len(words)-1]
		if n := len(name); n > 1 && strings.EqualFold(name[n-1], "until") {
			name = name[:n-1]
		}
		out = append(out, garden.Mute{Threat: threatID(cat, strings.Join(name, " ")), Until: until})
	}
	return out
}

// threatID finds a threat by its id or its name; what is not known stays as written
// and is refused by name.
func threatID(cat Catalogue, text string) string {
	folded := strings.ToLower(strings.TrimSpace(text))
	hyphened := strings.ReplaceAll(folded, " ", "-")
	ids := cat.IDs()
	if slices.Contains(ids, hyphened) {
		return hyphened
	}
	for _, id := range ids {
		if t, ok := cat.ByID(id); ok && (strings.EqualFold(t.Name, folded) || strings.EqualFold(t.Latin, folded)) {
			return id
		}
	}
	return text
}

// threatChoices are the threats by name.
func threatChoices(cat Catalogue, none, now string) []page.Choice {
	var out []page.Choice
	for _, id := range cat.IDs() {
		name := id
		if t, ok := cat.ByID(id); ok {
			name = say.Upper(t.Name)
		}
		out = append(out, page.Choice{Value: id, Text: name, Chosen: id == now})
	}
	slices.SortFunc(out, func(a, b page.Choice) int { return strings.Compare(a.Text, b.Text) })
	return append([]page.Choice{{Text: none, Chosen: now == ""}}, out...)
}
