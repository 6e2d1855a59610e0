package webhook

import (
	"encoding/json"
	"fmt"
	"time"

	"plotwarden/store"
)

// NoteType is the type of the payload of a note.
const NoteType = "note"

// NotePayload is what a target gets when something else than a morning is to be
// told: that another channel no longer works, or, to an operator, that the
// service is blind.
type NotePayload struct {
	Type      string    `json:"type"` // NoteType
	Timestamp time.Time `json:"timestamp"`
	Data      Note      `json:"data"`
}

// Note is a short text.
type Note struct {
	Subject string `json:"subject"`
	Text    string `json:"text"`
}

// NoteMessage encodes a note to one target of a person as a message for the
// outbox; the operator's target is that of the person with the empty id.
func NoteMessage(key, person, target string, n Note, at time.Time) (store.Message, error) {
	payload, err := json.Marshal(NotePayload{NoteType, at.UTC(), n})
	if err != nil {
		return store.Message{}, fmt.Errorf("encode webhook %s: %w", key, err)
	}
	b, err := json.Marshal(body{ID: messageID(key), Target: target, Payload: payload})
	if err != nil {
		return store.Message{}, fmt.Errorf("encode webhook %s: %w", key, err)
	}
	return store.Message{Key: key, Person: person, Channel: Channel, Slot: at, Body: b}, nil
}
