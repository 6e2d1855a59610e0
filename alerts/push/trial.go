package push

import (
	"encoding/json"
	"fmt"
	"time"

	webpush "github.com/SherClockHolmes/webpush-go"

	"plotwarden/store"
)

// Trial makes a test message to one subscription, which a person asked for and
// waits for. It is sent as it is and never kept.
func Trial(person, subscription string, n Note, at time.Time) (store.Delivery, error) {
	n.Tag = tag("trial", person, subscription)
	n.Title, n.Line = cut(n.Title, maxTitle), cut(n.Line, maxLine)
	b, err := json.Marshal(body{Subscription: subscription, Urgency: webpush.UrgencyHigh, Note: n})
	if err != nil {
		return store.Delivery{}, fmt.Errorf("encode a test message: %w", err)
	}
	return store.Delivery{Message: store.Message{Key: "trial", Person: person, Channel: Channel, Slot: at, Body: b}}, nil
}
