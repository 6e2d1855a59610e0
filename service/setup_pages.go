package service

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"math"
	"net/mail"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/webhook"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/weather/openmeteo"
	"plotwarden/web/page"
	"plotwarden/web/setup"
)

// setupPages is what the pages of set-up are made from.
func (h *Host) setupPages(kit *page.Kit) setup.Deps {
	return setup.Deps{
		Kit: kit, Ground: h.ground, Catalogue: h.o.Catalogue, Runtime: setupRuntime{h}, Logs: h.store, Now: h.o.Now, Log: h.o.Log,
		Logged: func(site string) { h.service.Soon(site) },
	}
}

// setupRuntime is the running service as set-up sees it.
type setupRuntime struct{ h *Host }

// Check returns what is wrong with a setting.
func (x setupRuntime) Check(setting any) []garden.Fault {
	switch s := setting.(type) {
	case *ground.Mail:
		return config.CheckMail(s)
	case *ground.Service:
		return config.CheckService(s)
	case *ground.Weather:
		return config.CheckWeather(s)
	}
	return []garden.Fault{{Message: fmt.Sprintf("%T is no setting", setting)}}
}

// Force is what holds now.
func (x setupRuntime) Force() setup.Force {
	c, file := x.h.live.Load().cfg, x.h.o.Config.Written
	f := setup.Force{
		Mail:      ground.Mail{Host: c.Mail.Host, Port: c.Mail.Port, TLS: c.Mail.TLS, Username: c.Mail.Username, From: c.Mail.From},
		Service:   ground.Service{Link: c.Mail.Link, Operator: c.Operator.Email},
		Weather:   ground.Weather{Contact: c.Weather.Contact},
		MailFixed: file.Mail, LinkFixed: file.Link, OperatorFixed: file.Operator, DigestFixed: file.Digest, SourcesFixed: file.Sources, ContactFixed: file.Contact,
	}
	if p, err := c.Mail.Password(); err == nil {
		f.Mail.Secret = p != ""
	}
	var kept ground.Service
	if ok, err := x.h.ground.Now().Setting(ground.ServiceSetting, &kept); ok && err == nil {
		f.Service.Digest = kept.Digest
	}
	for i := range c.Weather.Sources {
		if s := &c.Weather.Sources[i]; s.Kind != config.Station {
			f.Weather.Kinds = append(f.Weather.Kinds, s.Kind)
		}
	}
	return f
}

// Kinds are the sources that need nothing but to be chosen.
func (x setupRuntime) Kinds() []string { return config.ChoiceKinds }

// KeepSecret keeps a secret.
func (x setupRuntime) KeepSecret(ctx context.Context, name string, secret []byte) error {
	return x.h.store.Keep(ctx, name, secret)
}

// NewSecret draws one to sign a webhook with.
func (x setupRuntime) NewSecret() string {
	s, err := webhook.NewSecret(rand.Reader)
	if err != nil {
		panic("service: " + err.Error()) // the system's randomness never fails
	}
	return s.Written()
}

// CheckStation says what is wrong with the name of a station.
func (x setupRuntime) CheckStation(name string) error {
	if err := config.CheckStationName(name); err != nil {
		return err
	}
	for i := range x.h.o.Config.Weather.Sources {
		if x.h.o.Config.Weather.Sources[i].Name == name {
			return errors.New("the configuration file has a source of that name")
		}
	}
	return nil
}

// testPatience bounds how long somebody waits for a test.
const testPatience = 20 * time.Second

// TestMail sends a mail at once.
func (x setupRuntime) TestMail(ctx context.Context, to, name, subject, text string) error {
	m := x.h.live.Load().messenger
	if !m.mails() {
		return errors.New("no mail server is set up yet")
	}
	if err := config.CheckAddress(to); err != nil {
		return err
	}
	key := "test/" + strings.ToLower(rand.Text())
	msg, err := email.Plain(key, mail.Address{Name: name, Address: to}, m.cfg.Mail.From, subject, text, m.now())
	if err != nil {
		return err
	}
	return m.sendNow(ctx, msg)
}

// TestWebhook posts a note to a person's address at once.
func (x setupRuntime) TestWebhook(ctx context.Context, person, subject, text string) error {
	m := x.h.live.Load().messenger
	msg, err := webhook.NoteMessage("test/"+strings.ToLower(rand.Text()), person, ownTarget, webhook.Note{Subject: subject, Text: text}, m.now())
	if err != nil {
		return err
	}
	return m.sendNow(ctx, msg)
}

// sendNow sends a message past the outbox and past quiet hours: somebody waits for
// it. The error says what the other side said, without a cause in our own words.
func (m *messenger) sendNow(ctx context.Context, msg store.Message) error {
	sender := m.worker.Senders[msg.Channel]
	if q, ok := sender.(quietly); ok {
		sender = q.Sender
	}
	if sender == nil {
		return fmt.Errorf("there is no channel %s", msg.Channel)
	}
	ctx, cancel := context.WithTimeout(ctx, testPatience)
	defer cancel()
	err := sender.Send(ctx, store.Delivery{Message: msg, Attempts: 1})
	var se *alerts.SendError
	if errors.As(err, &se) {
		return se.Err
	}
	return err
}

// errHeight is returned where nobody can say how high a place lies.
var errHeight = errors.New("no source in use tells how high places lie")

// Elevation asks the first source that knows heights.
func (x setupRuntime) Elevation(ctx context.Context, lat, lon float64) (float64, error) {
	for _, src := range x.h.service.sources() {
		o, ok := src.(*OpenMeteo)
		if !ok {
			continue
		}
		p := openmeteo.Place{}
		p.ID, p.Lat, p.Lon, p.Elev = "new", lat, lon, math.NaN()
		r := o.Client.Forecast(ctx, x.h.o.Now(), []openmeteo.Place{p}, 0, 1)[0]
		if r.Err != nil {
			return 0, r.Err
		}
		if !math.IsNaN(r.Cell.Elev) {
			return r.Cell.Elev, nil
		}
	}
	return 0, errHeight
}
