package setup

import (
	"net/http"
	"strings"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/view"
)

// overview leads through what has to be there before a first message can come, in
// its order, and then to all the rest.
func (s *server) overview(w http.ResponseWriter, r *http.Request) {
	t, who, g := s.Kit.T(r), access.From(r.Context()), s.Ground.Garden()
	sites := who.Sites(g)
	v := View{Title: t("Set-up"), Done: words(t, r)}
	l := List{Title: t("Grounds, beds, plantings"), Empty: t("There is no ground yet. With its place the weather is known, and with the plantings what may come to them.")}
	for i, x := range sites {
		if i == mostTicks {
			l.Rows = append(l.Rows, Row{Text: t("and %d more", len(sites)-i), Href: "/"})
			break
		}
		l.Rows = append(l.Rows, Row{Text: siteName(x), Sub: siteSub(t, x), Href: siteAt(x.ID)})
	}
	manage := who.Manage() || who.ReadOnly && who.Role == access.Owner
	if manage {
		l.Add = &view.Link{Text: t("Add a ground"), Href: "/setup/ground"}
	} else if len(sites) == 0 {
		l.Empty = t("There is no ground that you may see. Whoever looks after one can let you in.")
	}
	v.Lists = []List{l}
	if manage {
		v.Warn = append(v.Warn, s.Ground.Now().Conflicts()...)
		v.Lists = append(v.Lists, s.ways(t, g))
	}
	v.Links = []view.Link{{Text: t("How you are told"), Href: "/you"}}
	if len(sites) > 0 {
		v.Links = append(v.Links, view.Link{Text: t("To the beds"), Href: "/"})
	}
	s.show(w, r, http.StatusOK, v)
}

func siteSub(t func(string, ...any) string, x *garden.Site) string {
	n := 0
	for i := range x.Plots {
		for j := range x.Plots[i].Plantings {
			if x.Plots[i].Plantings[j].Removed.IsZero() {
				n++
			}
		}
	}
	if n == 0 {
		return t("nothing planted yet: open it and plant")
	}
	return t("%d beds, %d plantings", len(x.Plots), n)
}

// ways are the other parts of set-up, each with what is still missing.
func (s *server) ways(t func(string, ...any) string, g *garden.Garden) List {
	force := s.Runtime.Force()
	mail := force.Mail.Host
	if mail == "" {
		mail = t("no mail server yet: nobody gets a message")
	}
	told := 0
	for i := range g.People {
		if len(g.People[i].Sites) > 0 && (g.People[i].Email != "" || g.People[i].Webhook.URL != "") {
			told++
		}
	}
	people := t("%d people, %d of them get messages", len(g.People), told)
	if told == 0 {
		people = t("nobody gets messages yet: give somebody an e-mail address and a ground")
	}
	return List{Title: t("Everything else"), Rows: []Row{
		{Text: t("People"), Sub: people, Href: "/setup/people"},
		{Text: t("Messages"), Sub: mail, Href: "/setup/messages"},
		{Text: t("Weather"), Sub: strings.Join(force.Weather.Kinds, ", "), Href: "/setup/weather"},
		{Text: t("Materials"), Sub: t("%d typed from their labels", len(g.Materials)), Href: "/setup/materials"},
		{Text: t("Regions"), Sub: t("%d; for volunteers who look after several grounds", len(g.Regions)), Href: "/setup/regions"},
	}}
}
