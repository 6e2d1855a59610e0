package service

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"plotwarden/alerts/guard"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/service/config"
	"plotwarden/store"
)

// live is what settings change while the service runs. One is made anew of each
// change, and the one before goes on with what it has begun.
type live struct {
	cfg       *config.Config // the file's, with the settings laid over it
	sources   []Source
	credits   []string
	messenger *messenger
	front     http.Handler // the messenger's own addresses, then the pages
}

// followEvery is after how long what another process changed on the ground is seen.
const followEvery = 3 * time.Second

// openGround joins the file's garden with what people made.
func (h *Host) openGround(ctx context.Context) error {
	allow, err := guard.ParseAllow(h.o.Config.Operator.OwnHosts)
	if err != nil {
		return fmt.Errorf("operator: %w", err)
	}
	h.ground, err = ground.Open(ctx, ground.Options{
		File: &h.o.Config.Garden, Threats: h.o.Catalogue.IDs(), Store: h.store, Now: h.o.Now, Log: h.o.Log,
		CheckURL: func(address string) error { return guard.Check(address, allow) },
	})
	return err
}

// garden is the ground as it is now.
func (h *Host) garden() *garden.Garden {
	if h.ground == nil { // in tests of a part
		return &h.o.Config.Garden
	}
	return h.ground.Garden()
}

// settled is the configuration with the settings laid over it.
func (h *Host) settled(ctx context.Context) (*config.Config, error) {
	o, found := config.Overlay{Stations: map[string]ground.Station{}}, false
	now := h.ground.Now()
	read := func(name string, out any) bool {
		ok, err := now.Setting(name, out)
		if err != nil {
			h.o.Log.Error("a setting is not in use", "setting", name, "error", err)
		}
		found = found || ok && err == nil
		return ok && err == nil
	}
	var mail ground.Mail
	if read(ground.MailSetting, &mail) {
		o.Mail = &mail
		if mail.Secret {
			kept, err := h.store.Kept(ctx, ground.MailSecret)
			if err != nil && !errors.Is(err, store.ErrNotFound) {
				return nil, fmt.Errorf("read the password of the mail server: %w", err)
			}
			o.Password = string(kept)
		}
	}
	var service ground.Service
	if read(ground.ServiceSetting, &service) {
		o.Service = &service
	}
	var weather ground.Weather
	if read(ground.WeatherSetting, &weather) {
		o.Weather = &weather
	}
	for _, name := range now.Settings(ground.StationPrefix) {
		var st ground.Station
		if read(name, &st) {
			o.Stations[strings.TrimPrefix(name, ground.StationPrefix)] = st
		}
	}
	if !found {
		return h.o.Config, nil
	}
	return h.o.Config.With(o), nil
}

// makeLive makes the parts that settings change.
func (h *Host) makeLive(ctx context.Context) (*live, error) {
	l := &live{}
	var err error
	if l.cfg, err = h.settled(ctx); err != nil {
		return nil, err
	}
	if l.sources, err = sources(&l.cfg.Weather, h.o.Version, h.metrics, h.budgets); err != nil {
		return nil, err
	}
	if before := h.live.Load(); before != nil {
		keepStations(l.sources, before.sources)
	}
	if h.o.Demo == nil { // the demonstration's weather has a source of its own
		l.credits = credits(l.sources)
	}
	if l.messenger, err = newMessenger(ctx, h, l.cfg, h.metrics, l.credits); err != nil {
		return nil, err
	}
	l.front = l.messenger.mount(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.inner.ServeHTTP(w, r) }))
	return l, nil
}

// keepStations puts stations that are as they were in the place of new ones: they
// hold readings that are not a whole hour yet, and may be listened to.
func keepStations(now, before []Source) {
	for i := range now {
		st, ok := now[i].(*Station)
		if !ok {
			continue
		}
		for _, b := range before {
			if old, ok := b.(*Station); ok && old.ID == st.ID && old.digest == st.digest && slices.Equal(old.Sites, st.Sites) {
				now[i] = old
			}
		}
	}
}

// changed takes in what became another on the ground: the pages see it by
// themselves, the sites get a round soon, settings make the parts anew.
func (h *Host) changed(list []ground.Change) {
	settings := false
	var sites []string
	for _, c := range list {
		switch c.Kind {
		case store.SettingThing:
			settings = true
		case store.SiteThing:
			sites = append(sites, c.ID)
		case store.PersonThing: // a first message may be due
			if p := h.ground.Now().Person(c.ID); p != nil {
				sites = append(sites, p.Sites...)
			}
		}
	}
	if settings {
		if err := h.settle(); err != nil {
			h.o.Log.Error("changed settings are not in use", "error", err)
		}
	}
	h.service.Soon(sites...)
}

// settle puts the settings as they are now in force.
func (h *Host) settle() error {
	h.relive.Lock()
	defer h.relive.Unlock()
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	l, err := h.makeLive(ctx)
	if err != nil {
		return err
	}
	h.live.Store(l)
	h.service.SetSources(l.sources)
	return nil
}

// liveMessenger is the messenger of the settings as they are.
type liveMessenger struct{ h *Host }

func (l liveMessenger) Compose(ctx context.Context, site *garden.Site, now time.Time, r *store.Round) ([]store.Message, error) {
	return l.h.live.Load().messenger.Compose(ctx, site, now, r)
}

func (l liveMessenger) Deliver(ctx context.Context, now time.Time) error {
	return l.h.live.Load().messenger.Deliver(ctx, now)
}

// hour is when a person's message of a site is due, and whether they chose it.
func (m *messenger) hour(p *garden.Person, site string) (at config.Clock, own bool) {
	if p.Digest != "" && at.UnmarshalText([]byte(p.Digest)) == nil {
		return at, true
	}
	return m.cfg.Digest.AtSite(site), false
}

// hadOn says whether a person had a message of a site on a day, whatever the hour:
// who moves the hour is not told twice.
func (m *messenger) hadOn(ctx context.Context, site *garden.Site, p *garden.Person, today civil.Date) (bool, error) {
	for _, channel := range []string{"email", "webhook", feedChannel} {
		last, err := m.store.Newest(ctx, site.ID, p.ID, channel, 1)
		if err != nil {
			return false, fmt.Errorf("load what %s had last: %w", p.ID, err)
		}
		if len(last) > 0 && civil.Of(last[0].Slot, site.Location()) == today {
			return true, nil
		}
	}
	return false, nil
}
