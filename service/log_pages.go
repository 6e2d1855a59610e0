package service

import (
	"context"
	"fmt"

	"plotwarden/alerts/guard"
	"plotwarden/alerts/push"
	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/entry"
	"plotwarden/web/page"
)

// logPages is what the pages of the log are made from.
func (h *Host) logPages(kit *page.Kit) entry.Deps {
	return entry.Deps{
		Kit: kit, Garden: h.garden, Catalogue: h.o.Catalogue, Data: h.store, Now: h.o.Now, Log: h.o.Log, Push: browserPush{h},
		Wet: func(s *weather.Series) []wetness.State {
			return wetness.Rule{Method: wetness.Humidity}.Estimate(s, garden.NoCover, nil, nil)
		},
		Logged: func(site string) { h.service.Soon(site) },
	}
}

// browserPush is the channel to browsers as the settings have it now.
type browserPush struct{ h *Host }

func (b browserPush) sender() *push.Sender { return b.h.live.Load().messenger.pushes }

// PublicKey is empty where there is no push.
func (b browserPush) PublicKey() string {
	if s := b.sender(); s != nil {
		return s.PublicKey()
	}
	return ""
}

// Subscribe keeps a person's browser.
func (b browserPush) Subscribe(ctx context.Context, person string, raw []byte) (string, error) {
	if b.sender() == nil {
		return "", fmt.Errorf("%w: there is no push here", entry.ErrSubscription)
	}
	l := b.h.live.Load()
	allow, err := guard.ParseAllow(l.cfg.Operator.OwnHosts)
	if err != nil {
		return "", fmt.Errorf("operator: %w", err)
	}
	sub, err := push.ParseSubscription(raw, allow)
	if err != nil {
		return "", fmt.Errorf("%w: %w", entry.ErrSubscription, err)
	}
	return sub.ID(), l.messenger.Subscribe(ctx, person, sub, b.h.o.Now())
}

// Unsubscribe forgets a person's browser.
func (b browserPush) Unsubscribe(ctx context.Context, person, id string) error {
	return b.h.store.Unsubscribe(ctx, person, id)
}

// Subscriptions are a person's browsers.
func (b browserPush) Subscriptions(ctx context.Context, person string) ([]store.Subscription, error) {
	return b.h.store.Subscriptions(ctx, person)
}

// Try sends a test message at once.
func (b browserPush) Try(ctx context.Context, person, id string) error {
	s := b.sender()
	if s == nil {
		return fmt.Errorf("push: %w", store.ErrNotFound)
	}
	d, err := push.Trial(person, id, push.Note{Title: "plotwarden", Line: "Messages reach this browser.", Link: b.h.live.Load().messenger.base() + "/you/push"}, b.h.o.Now())
	if err != nil {
		return err
	}
	return s.Send(ctx, d)
}
