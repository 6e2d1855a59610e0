package setup

import (
	"net/http"
	"slices"
	"strings"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

func personAt(id string) string { return "/setup/people/" + id }

func (s *server) peoplePage(w http.ResponseWriter, r *http.Request) {
	if s.manage(w, r) {
		s.showPeople(w, r, http.StatusOK, &sent{})
	}
}

func (s *server) showPeople(w http.ResponseWriter, r *http.Request, status int, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: s.back(t), Title: t("People"), Done: words(t, r), Lead: t("Who gets messages or tends a bed. How somebody signs in is under Accounts.")}
	l := List{Title: t("On this ground"), Empty: t("Nobody yet.")}
	for _, p := range s.Ground.Garden().People {
		sub := p.Email
		if sub == "" {
			sub = t("no e-mail address")
		}
		if n := len(p.Sites); n > 0 {
			sub += ", " + t("grounds: %s", strings.Join(s.names(p.Sites), ", "))
		} else {
			sub += ", " + t("gets no messages")
		}
		l.Rows = append(l.Rows, Row{Text: personName(&p), Sub: sub, Href: personAt(p.ID)})
	}
	v.Lists = []List{l}
	form := Form{Title: t("Add somebody"), Action: "/setup/people", Submit: t("Add"), Fields: []page.Field{
		{Name: "name", Label: t("Name"), Required: true, Max: 80},
		{Name: "email", Label: t("E-mail address"), Type: "email", Hint: t("The morning message goes there."), Max: 200},
	}}
	f.fill(form.Fields)
	form.Groups = []Group{s.siteTicks(t, "sites", t("Gets the messages of"), nil, len(s.Ground.Garden().Sites) == 1)}
	v.Forms = []Form{form}
	v.Links = []view.Link{{Text: t("Accounts"), Href: "/accounts"}}
	s.show(w, r, status, v)
}

// names are those of sites, as people call them.
func (s *server) names(ids []string) []string {
	var out []string
	for _, id := range ids {
		if site := s.Ground.Now().Site(id); site != nil {
			out = append(out, siteName(site))
		}
	}
	return out
}

// mostTicks is how many sites are offered as boxes; beyond it a text is simpler.
const mostTicks = 60

func (s *server) siteTicks(t func(string, ...any) string, name, legend string, chosen []string, all bool) Group {
	g := Group{Legend: legend, Name: name}
	for i := range s.Ground.Garden().Sites {
		x := &s.Ground.Garden().Sites[i]
		on := all || slices.Contains(chosen, x.ID)
		if len(s.Ground.Garden().Sites) <= mostTicks || on {
			g.Choices = append(g.Choices, page.Choice{Value: x.ID, Text: siteName(x), Chosen: on})
		}
	}
	if len(s.Ground.Garden().Sites) > mostTicks {
		g.Hint = t("Those ticked now are shown. Add others by id beneath.")
	}
	if len(g.Choices) == 0 && g.Hint == "" {
		g.Hint = t("There is no ground yet.")
	}
	return g
}

// ticked are the sites that a form chose: boxes, and ids written as text.
func (s *server) ticked(f *sent) []string {
	out := f.list("sites", nil)
	out = append(out, strings.FieldsFunc(f.text("moreSites"), func(r rune) bool { return r == ',' || r == ' ' || r == '\n' })...)
	slices.Sort(out)
	return slices.Compact(out)
}

func (s *server) moreSites(t func(string, ...any) string) []page.Field {
	if len(s.Ground.Garden().Sites) <= mostTicks {
		return nil
	}
	return []page.Field{{Name: "moreSites", Label: t("Further grounds"), Hint: t("Their ids, with commas between.")}}
}

func (s *server) addPerson(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	f, t := sentBy(r), s.Kit.T(r)
	p := garden.Person{Name: f.text("name"), Email: f.text("email"), Sites: s.ticked(f)}
	if p.Name == "" {
		f.faults["name"] = t("Write the name.")
	}
	err := f.err()
	if err == nil {
		p, err = s.Ground.People.Add(r.Context(), s.by(r, "added"), p)
	}
	if f.refused(err, "name", nil) {
		s.showPeople(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "added-person", p.ID, "")
	s.done(w, r, personAt(p.ID), "person")
}

// person returns that of the address, or answers.
func (s *server) person(w http.ResponseWriter, r *http.Request) (*garden.Person, bool) {
	if !s.manage(w, r) {
		return nil, false
	}
	p := s.Ground.Now().Person(r.PathValue("person"))
	if p == nil {
		s.Kit.NotFound(w, r, "There is nobody of that name here.")
	}
	return p, p != nil
}

func (s *server) personPage(w http.ResponseWriter, r *http.Request) {
	if p, ok := s.person(w, r); ok {
		s.showPerson(w, r, http.StatusOK, p, &sent{}, nil)
	}
}

func (s *server) showPerson(w http.ResponseWriter, r *http.Request, status int, p *garden.Person, f *sent, secret *Secret) {
	t := s.Kit.T(r)
	v := View{Back: &view.Link{Text: t("People"), Href: "/setup/people"}, ListsFirst: true, Title: personName(p), Done: words(t, r), Fixed: s.fixed(t, store.PersonThing, p.ID), Secret: secret}
	_, warnings := s.Ground.People.Check(p)
	for _, x := range warnings {
		v.Warn = append(v.Warn, upperFirst(x.Message)+".")
	}
	if v.Fixed == "" {
		form := s.wishes(t, p, personAt(p.ID), f, false)
		v.Forms = append(v.Forms, form, Form{Title: t("Remove"), Lead: t("They get no more messages. Their account is closed under Accounts."), Action: personAt(p.ID) + "/remove", Submit: t("Remove %s", personName(p)), Grave: true})
		v.Links = []view.Link{{Text: t("Earlier versions"), Href: historyAt(store.PersonThing, p.ID)}}
	}
	l := List{Title: t("Try their channels")}
	if p.Email != "" {
		l.Rows = append(l.Rows, Row{Text: t("E-mail"), Sub: p.Email, Acts: []Act{{Text: t("Send a test"), About: t("by e-mail"), Action: personAt(p.ID) + "/test", Hidden: [][2]string{{"channel", "email"}}}}})
	}
	if p.Webhook.URL != "" {
		l.Rows = append(l.Rows, Row{Text: t("Webhook"), Sub: p.Webhook.URL, Acts: []Act{{Text: t("Send a test"), About: t("to the webhook"), Action: personAt(p.ID) + "/test", Hidden: [][2]string{{"channel", "webhook"}}}}})
	}
	if len(l.Rows) > 0 {
		v.Lists = []List{l}
	}
	s.show(w, r, status, v)
}

func (s *server) changePerson(w http.ResponseWriter, r *http.Request) {
	p, ok := s.person(w, r)
	if !ok {
		return
	}
	f := sentBy(r)
	secret, err := s.changeWishes(r, p.ID, f, false)
	if f.refused(err, "name", wishNames) {
		s.showPerson(w, r, http.StatusUnprocessableEntity, s.Ground.Now().Person(p.ID), f, nil)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-person", p.ID, "")
	if secret != nil {
		s.showPerson(w, r, http.StatusOK, s.Ground.Now().Person(p.ID), &sent{}, secret)
		return
	}
	s.done(w, r, personAt(p.ID), "kept")
}

func (s *server) removePerson(w http.ResponseWriter, r *http.Request) {
	p, ok := s.person(w, r)
	if !ok {
		return
	}
	if err := s.Ground.People.Remove(r.Context(), s.by(r, "removed"), p.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-person", p.ID, "")
	s.done(w, r, historyAt(store.PersonThing, p.ID), "removed")
}

func (s *server) testPerson(w http.ResponseWriter, r *http.Request) {
	p, ok := s.person(w, r)
	if !ok {
		return
	}
	t := s.Kit.T(r)
	subject, text := t("A test"), t("This is a test from plotwarden. Messages reach you this way.")
	var err error
	if r.PostFormValue("channel") == "webhook" {
		err = s.Runtime.TestWebhook(r.Context(), p.ID, subject, text)
	} else {
		err = s.Runtime.TestMail(r.Context(), p.Email, p.Name, subject, text)
	}
	if err != nil {
		f := &sent{}
		s.showTestFault(w, r, View{Back: &view.Link{Text: personName(p), Href: personAt(p.ID)}, Title: t("The test was not sent")}, f, err)
		return
	}
	s.Kit.Audit(r, "tested-channel", p.ID, r.PostFormValue("channel"))
	s.done(w, r, personAt(p.ID), "sent")
}

func (s *server) showTestFault(w http.ResponseWriter, r *http.Request, v View, _ *sent, err error) {
	t := s.Kit.T(r)
	v.Warn = []string{t("What was answered: %s", err.Error())}
	v.Lead = t("Look at the address, the name of the server, its port and the password.")
	v.Links = []view.Link{{Text: t("The mail server"), Href: "/setup/messages"}}
	s.show(w, r, http.StatusBadGateway, v)
}

// youPage is where people say how they want to be told; the owner does it for
// others under People.
func (s *server) youPage(w http.ResponseWriter, r *http.Request) {
	s.showYou(w, r, http.StatusOK, &sent{}, nil)
}

func (s *server) showYou(w http.ResponseWriter, r *http.Request, status int, f *sent, secret *Secret) {
	t := s.Kit.T(r)
	v := View{Title: t("How you are told"), Done: words(t, r), Secret: secret}
	p := s.Ground.Now().Person(access.From(r.Context()).Person)
	switch {
	case p == nil:
		v.Lead = t("You are not among the people of this ground, so that nothing is sent to you. Whoever looks after it can add you.")
	case s.Ground.Now().FromFile(store.PersonThing, p.ID):
		v.Fixed = t("Your settings are in the configuration file and are changed there.")
	default:
		v.Forms = []Form{s.wishes(t, p, "/you", f, true)}
	}
	if access.From(r.Context()).Via == access.BySession {
		v.Links = []view.Link{{Text: t("Your account"), Href: "/account"}}
	}
	s.pages.Show(w, r, status, "page", page.Frame{Title: v.Title, Here: "you", Body: v})
}

func (s *server) changeYou(w http.ResponseWriter, r *http.Request) {
	id := access.From(r.Context()).Person
	if s.Ground.Now().Person(id) == nil {
		s.Kit.NotFound(w, r, "There is nothing of yours here.")
		return
	}
	f := sentBy(r)
	secret, err := s.changeWishes(r, id, f, true)
	if f.refused(err, "email", wishNames) {
		s.showYou(w, r, http.StatusUnprocessableEntity, f, nil)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-own-settings", id, "")
	if secret != nil {
		s.showYou(w, r, http.StatusOK, &sent{}, secret)
		return
	}
	s.done(w, r, "/you", "kept")
}

// secretFor draws the secret of a webhook that is new or has another address.
func (s *server) secretFor(r *http.Request, person string) (*Secret, error) {
	t, text := s.Kit.T(r), s.Runtime.NewSecret()
	if err := s.Runtime.KeepSecret(r.Context(), ground.WebhookSecret+person, []byte(text)); err != nil {
		return nil, err
	}
	return &Secret{t("This is the secret that the webhook is signed with. Give it to the program that takes the messages. It is shown this once."), text}, nil
}
