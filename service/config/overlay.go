package config

import (
	"fmt"
	"net"
	"net/mail"
	"net/url"
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/strict"
)

// Written says which sections a file has. What it has is changed there and
// nowhere else.
type Written struct{ Mail, Link, Sources, Contact, Digest, Operator bool }

func written(c *Config, w *strict.Where) Written {
	return Written{
		Mail: c.Mail.On(), Link: c.Mail.Link != "", Sources: w.Has(&c.Weather.Sources), Contact: c.Weather.Contact != "",
		Digest: w.Has(&c.Digest.At), Operator: c.Operator.Email != "",
	}
}

// ChoiceKinds are the kinds of source that need nothing but to be chosen.
var ChoiceKinds = []string{OpenMeteo, NWS, METNorway}

// Overlay is settings to lay over a configuration; nil parts leave it as it is.
type Overlay struct {
	Mail     *ground.Mail
	Password string // of Mail
	Service  *ground.Service
	Weather  *ground.Weather
	Stations map[string]ground.Station // by name
}

// With returns the configuration with settings laid over what its file does not
// say.
func (c *Config) With(o Overlay) *Config {
	out := *c
	if m := o.Mail; m != nil && !c.Written.Mail {
		out.Mail = Mail{Host: m.Host, Port: m.Port, TLS: m.TLS, Username: m.Username, From: m.From, Link: c.Mail.Link}
		if m.Secret {
			out.Mail.secret = o.Password
		}
	}
	if s := o.Service; s != nil {
		if !c.Written.Link && s.Link != "" {
			out.Mail.Link = s.Link
		}
		if !c.Written.Operator {
			out.Operator.Email = s.Operator
		}
		if !c.Written.Digest && s.Digest != "" {
			_ = out.Digest.At.UnmarshalText([]byte(s.Digest)) // CheckService has read it
		}
	}
	out.Weather.Sources = slices.Clone(c.Weather.Sources)
	if w := o.Weather; w != nil {
		if !c.Written.Contact {
			out.Weather.Contact = w.Contact
		}
		if !c.Written.Sources && len(w.Kinds) > 0 {
			out.Weather.Sources = nil
			for _, k := range w.Kinds {
				out.Weather.Sources = append(out.Weather.Sources, defaultSource(Source{Kind: k}, notWritten))
			}
		}
	}
	for name, s := range o.Stations {
		if slices.ContainsFunc(out.Weather.Sources, func(x Source) bool { return x.Name == name }) {
			continue // the file's
		}
		// A station measures what others compute: it goes first.
		out.Weather.Sources = slices.Insert(out.Weather.Sources, 0, Source{Name: name, Kind: Station, Sites: []string{s.Site}, Digest: s.Digest})
	}
	return &out
}

func fault(field, format string, args ...any) garden.Fault {
	return garden.Fault{Field: field, Message: fmt.Sprintf(format, args...)}
}

// CheckMail returns what is wrong with a setting, by field.
func CheckMail(m *ground.Mail) []garden.Fault {
	var out []garden.Fault
	switch {
	case m.Host == "":
		out = append(out, fault("host", "write the name of the mail server"))
	case strings.ContainsAny(m.Host, ":/ @") && net.ParseIP(m.Host) == nil:
		out = append(out, fault("host", "%q: write the bare name of the server; the port has its own field", m.Host))
	}
	if m.Port < 1 || m.Port > 65535 {
		out = append(out, fault("port", "port %d is outside 1 to 65535; most servers take 587", m.Port))
	}
	if !slices.Contains(tlsWays, m.TLS) {
		out = append(out, fault("tls", "%s", strict.Unknown("way", m.TLS, tlsWays)))
	}
	if _, err := mail.ParseAddress(m.From); err != nil {
		out = append(out, fault("from", "%q is not an e-mail address; write name@example.org or Name <name@example.org>", m.From))
	}
	switch {
	case m.Username != "" && !m.Secret:
		out = append(out, fault("password", "a user name needs its password"))
	case m.Username != "" && m.TLS == NoTLS && !loopback(m.Host):
		out = append(out, fault("tls", "without protection the password would go to %s in the clear", m.Host))
	}
	return out
}

// CheckService is CheckMail for the whole service.
func CheckService(s *ground.Service) []garden.Fault {
	var out []garden.Fault
	if s.Link != "" {
		if u, err := url.Parse(s.Link); err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" {
			out = append(out, fault("link", "%q is not a web address of the form https://host", s.Link))
		}
	}
	if s.Operator != "" {
		if err := CheckAddress(s.Operator); err != nil {
			out = append(out, fault("operator", "%v", err))
		}
	}
	if s.Digest != "" {
		var at Clock
		if err := at.UnmarshalText([]byte(s.Digest)); err != nil {
			out = append(out, fault("digest", "%v", err))
		}
	}
	return out
}

// CheckWeather is CheckMail for the weather.
func CheckWeather(w *ground.Weather) []garden.Fault {
	var out []garden.Fault
	if len(w.Kinds) == 0 {
		out = append(out, fault("kinds", "choose one or more"))
	}
	for i, k := range w.Kinds {
		switch who, needed := needsContact[k]; {
		case !slices.Contains(ChoiceKinds, k):
			out = append(out, fault("kinds", "%s", strict.Unknown("kind of source", k, ChoiceKinds)))
		case slices.Index(w.Kinds, k) < i:
			out = append(out, fault("kinds", "%s stands twice", k))
		case needed && w.Contact == "":
			out = append(out, fault("contact", "%s refuses programs that do not say who runs them; write your e-mail address or web page", who))
		}
	}
	if !slices.ContainsFunc(w.Kinds, func(k string) bool { return tellsPast[k] }) && len(w.Kinds) > 0 {
		out = append(out, fault("kinds", "none of these tells the hours just past; choose %s or %s as well", OpenMeteo, NWS))
	}
	if w.Contact != "" && (!strings.Contains(w.Contact, "@") && !strings.Contains(w.Contact, "://") || strings.ContainsAny(w.Contact, "\r\n()")) {
		out = append(out, fault("contact", "%q is neither an e-mail address nor a web page", w.Contact))
	}
	return out
}

// CheckStationName says what is wrong with the name of a station, which stands in
// its address.
func CheckStationName(name string) error {
	if !stationName.MatchString(name) {
		return fmt.Errorf("name %q of a station stands in its address; use lower-case letters, digits and hyphens only, 64 at most", name)
	}
	return nil
}
