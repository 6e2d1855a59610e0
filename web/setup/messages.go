package setup

import (
	"net/http"
	"strconv"
	"strings"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

func (s *server) messagesPage(w http.ResponseWriter, r *http.Request) {
	if s.manage(w, r) {
		force := s.Runtime.Force()
		s.showMessages(w, r, http.StatusOK, force, &sent{}, &sent{})
	}
}

func (s *server) showMessages(w http.ResponseWriter, r *http.Request, status int, force Force, f, g *sent) {
	t := s.Kit.T(r)
	v := View{Back: s.back(t), Title: t("Messages"), Done: words(t, r), Lead: t("One message each morning, to whoever wants it. It needs a mail server that takes it: the one of your own address will do.")}
	if force.MailFixed {
		v.Fixed = t("The mail server is set in the configuration file and is changed there.")
	} else {
		v.Forms = append(v.Forms, s.mailForm(t, &force.Mail, f))
	}
	if force.Mail.Host != "" {
		to := ""
		if p := s.Ground.Now().Person(access.From(r.Context()).Person); p != nil {
			to = p.Email
		}
		v.Forms = append(v.Forms, Form{Title: t("Try it"), Action: "/setup/messages/test", Submit: t("Send a test mail"), Quiet: true,
			Fields: []page.Field{{Name: "to", Label: t("To"), Type: "email", Value: to, Required: true, Max: 200}}})
	}
	var fields []page.Field
	if !force.LinkFixed {
		value := force.Service.Link
		if value == "" {
			value = ownAddress(r)
		}
		fields = append(fields, page.Field{Name: "link", Label: t("Address of these pages"), Value: value, Hint: t("As readers reach them. Messages carry links only when it is known."), Max: 200})
	}
	if !force.OperatorFixed {
		fields = append(fields, page.Field{Name: "operator", Label: t("Who is told when the service itself fails"), Type: "email", Value: force.Service.Operator, Hint: t("An e-mail address; once a day at most."), Max: 200})
	}
	if !force.DigestFixed {
		fields = append(fields, page.Field{Name: "digest", Label: t("Hour of the morning message"), Type: "time", Value: string(force.Service.Digest), Hint: t("Local time of each ground; empty is 06:00.")})
	}
	if len(fields) > 0 {
		g.fill(fields)
		v.Forms = append(v.Forms, Form{Title: t("For everybody"), Action: "/setup/messages/service", Submit: t("Keep"), Quiet: true, Fields: fields})
	}
	v.Links = []view.Link{{Text: t("People and their channels"), Href: "/setup/people"}}
	s.show(w, r, status, v)
}

// ownAddress is the address under which a browser reached this page.
func ownAddress(r *http.Request) string {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + r.Host
}

func (s *server) mailForm(t func(string, ...any) string, m *ground.Mail, f *sent) Form {
	port := intOr(m.Port)
	if m.Host == "" {
		m = &ground.Mail{TLS: "starttls"}
		port = "587"
	}
	hint := ""
	if m.Secret {
		hint = t("One is kept. Leave it empty to keep that.")
	}
	form := Form{Title: t("The mail server"), Action: "/setup/messages", Submit: t("Keep"), Fields: []page.Field{
		{Name: "host", Label: t("Server"), Value: m.Host, Hint: t("As its provider gives it: mail.example.org"), Required: true, Max: 200},
		{Name: "port", Label: t("Port"), Value: port, Mode: "numeric", Required: true, Max: 5},
		{Name: "tls", Label: t("Protection"), Type: "select", Choices: []page.Choice{
			{Value: "starttls", Text: t("STARTTLS, most often with port 587"), Chosen: m.TLS == "starttls"}, {Value: "tls", Text: t("TLS, most often with port 465"), Chosen: m.TLS == "tls"}, {Value: "none", Text: t("none, for a server on this machine"), Chosen: m.TLS == "none"}}},
		{Name: "username", Label: t("User name"), Value: m.Username, Max: 200},
		{Name: "password", Label: t("Password"), Type: "password", Hint: hint, Max: 500},
		{Name: "from", Label: t("Messages come from"), Value: m.From, Hint: t("An address, or The beds <beds@example.org>"), Required: true, Max: 200},
	}}
	f.fill(form.Fields)
	return form
}

func (s *server) changeMail(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	force := s.Runtime.Force()
	if force.MailFixed {
		s.fail(w, r, ground.ErrFile)
		return
	}
	f := sentBy(r)
	m := ground.Mail{Host: f.text("host"), TLS: f.text("tls"), Username: f.text("username"), From: f.text("from")}
	m.Port, _ = strconv.Atoi(f.text("port")) // 0 is refused with the range
	password := r.PostFormValue("password")
	// A password that is kept belongs to the server that it was typed for: it is not
	// sent to another one because somebody changed the name.
	same := force.Mail.Secret && force.Mail.Host == m.Host && force.Mail.Username == m.Username
	m.Secret = m.Username != "" && (password != "" || same)
	if s.settingFaults(f, s.Runtime.Check(&m)) {
		s.showMessages(w, r, http.StatusUnprocessableEntity, force, f, &sent{})
		return
	}
	if password != "" {
		if err := s.Runtime.KeepSecret(r.Context(), ground.MailSecret, []byte(password)); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	if err := s.Ground.PutSetting(r.Context(), s.by(r, "changed the mail server"), ground.MailSetting, m); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-setting", ground.MailSetting, m.Host)
	s.done(w, r, "/setup/messages", "kept")
}

func (s *server) settingFaults(f *sent, faults []garden.Fault) bool {
	for _, x := range faults {
		if f.faults[x.Field] == "" {
			f.faults[x.Field] = upperFirst(x.Message)
		}
	}
	return len(f.faults) > 0
}

func (s *server) changeService(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	force, g := s.Runtime.Force(), sentBy(r)
	x := ground.Service{Link: strings.TrimSuffix(g.text("link"), "/"), Operator: g.text("operator")}
	g.read("digest", &x.Digest)
	if s.settingFaults(g, s.Runtime.Check(&x)) {
		s.showMessages(w, r, http.StatusUnprocessableEntity, force, &sent{}, g)
		return
	}
	if err := s.Ground.PutSetting(r.Context(), s.by(r, "changed the settings for everybody"), ground.ServiceSetting, x); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-setting", ground.ServiceSetting, "")
	s.done(w, r, "/setup/messages", "kept")
}

func (s *server) testMail(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	t := s.Kit.T(r)
	to := strings.TrimSpace(r.PostFormValue("to"))
	if err := s.Runtime.TestMail(r.Context(), to, "", t("A test"), t("This is a test from plotwarden. Messages reach you this way.")); err != nil {
		s.showTestFault(w, r, View{Back: &view.Link{Text: t("Messages"), Href: "/setup/messages"}, Title: t("The test was not sent")}, nil, err)
		return
	}
	s.Kit.Audit(r, "tested-channel", to, "email")
	s.done(w, r, "/setup/messages", "sent")
}
