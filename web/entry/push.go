package entry

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// Pusher sends messages to browsers.
type Pusher interface {
	// PublicKey is what a browser asks its push service with.
	PublicKey() string
	// Subscribe keeps a person's browser, as the browser describes itself in JSON,
	// and returns the id under which it is kept. It fails with ErrSubscription on a
	// description that cannot be used.
	Subscribe(ctx context.Context, person string, subscription []byte) (id string, err error)
	Unsubscribe(ctx context.Context, person, id string) error
	Subscriptions(ctx context.Context, person string) ([]store.Subscription, error)
	// Try sends a test message at once.
	Try(ctx context.Context, person, id string) error
}

// ErrSubscription is returned for what no browser gives as a subscription.
var ErrSubscription = errors.New("the subscription cannot be used")

// pushPage is where a person lets messages come to this browser.
type pushPage struct {
	Key    string // empty: there is no push here
	Person bool   // there is somebody to send to
	Have   []subscribed
	Done   string
	Fault  string
}

type subscribed struct{ ID, Added string }

func (s *server) pushPage(w http.ResponseWriter, r *http.Request) {
	p := pushPage{}
	switch r.URL.Query().Get("done") {
	case "sent":
		p.Done = s.words(r)("The test message is on its way. It may take a minute.")
	case "ended":
		p.Done = s.words(r)("That browser gets no more messages.")
	}
	s.showPush(w, r, http.StatusOK, p)
}

func (s *server) showPush(w http.ResponseWriter, r *http.Request, status int, p pushPage) {
	who := access.From(r.Context())
	if s.Push != nil {
		p.Key, p.Person = s.Push.PublicKey(), who.Person != ""
		if p.Person {
			subs, err := s.Push.Subscriptions(r.Context(), who.Person)
			if err != nil {
				s.Kit.Fail(w, r, fmt.Errorf("read the subscriptions: %w", err))
				return
			}
			for _, x := range subs {
				p.Have = append(p.Have, subscribed{x.ID, x.Added.UTC().Format("2 Jan 2006")})
			}
		}
	}
	s.pages.Show(w, r, status, "push", page.Frame{Title: s.words(r)("Messages to this phone"), Scripts: []string{"push.js"}, Body: p})
}

// mayPush answers where there is no push or nobody to send to.
func (s *server) mayPush(w http.ResponseWriter, r *http.Request) (string, bool) {
	who := access.From(r.Context())
	switch {
	case s.Push == nil:
		s.Kit.NotFound(w, r, "Messages to browsers are not set up here.")
	case who.Person == "" || who.ReadOnly:
		s.Kit.Refuse(w, r, "Sign in as a person to get messages.")
	default:
		return who.Person, true
	}
	return "", false
}

// mostSubscription is how long a browser's description of itself may be, bytes.
const mostSubscription = 8 << 10

func (s *server) pushOn(w http.ResponseWriter, r *http.Request) {
	person, ok := s.mayPush(w, r)
	if !ok {
		return
	}
	raw, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostSubscription))
	if err != nil {
		s.json(w, r, http.StatusRequestEntityTooLarge, map[string]string{"error": "the subscription is too long"})
		return
	}
	id, err := s.Push.Subscribe(r.Context(), person, raw)
	switch {
	case errors.Is(err, ErrSubscription):
		s.json(w, r, http.StatusUnprocessableEntity, map[string]string{"error": err.Error()})
	case err != nil:
		s.Kit.Fail(w, r, fmt.Errorf("subscribe: %w", err))
	default:
		s.Kit.Audit(r, "subscribed-to-push", person+"/"+id, "")
		s.json(w, r, http.StatusOK, map[string]string{"id": id})
	}
}

func (s *server) pushEnd(w http.ResponseWriter, r *http.Request) {
	person, ok := s.mayPush(w, r)
	if !ok {
		return
	}
	if err := s.Push.Unsubscribe(r.Context(), person, r.PathValue("id")); err != nil && !notFound(err) {
		s.Kit.Fail(w, r, fmt.Errorf("end a subscription: %w", err))
		return
	}
	s.Kit.Audit(r, "unsubscribed-from-push", person+"/"+r.PathValue("id"), "")
	http.Redirect(w, r, "/you/push?done=ended", http.StatusSeeOther)
}

func (s *server) pushTry(w http.ResponseWriter, r *http.Request) {
	person, ok := s.mayPush(w, r)
	if !ok {
		return
	}
	if err := s.Push.Try(r.Context(), person, r.PathValue("id")); err != nil {
		s.Log.WarnContext(r.Context(), "test message was not sent", "person", person, "error", err)
		s.showPush(w, r, http.StatusBadGateway, pushPage{Fault: s.words(r)("The push service did not take the message. Switch messages off and on again in that browser.")})
		return
	}
	http.Redirect(w, r, "/you/push?done=sent", http.StatusSeeOther)
}
