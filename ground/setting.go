package ground

import "plotwarden/garden"

// The settings that an owner makes in the browser.
type (
	// Mail is the server that takes the messages.
	Mail struct {
		Host     string `json:"host"`
		Port     int    `json:"port"`
		TLS      string `json:"tls"` // "starttls", "tls" or "none"
		Username string `json:"username,omitempty"`
		From     string `json:"from"`
		// Secret says that the store keeps a password, under MailSecret.
		Secret bool `json:"secret,omitempty"`
	}
	// Service is what the whole service goes by.
	Service struct {
		Link     string           `json:"link,omitempty"`     // address of the pages as readers reach them
		Operator string           `json:"operator,omitempty"` // e-mail address of who is told when the service fails
		Digest   garden.ClockTime `json:"digest,omitempty"`   // local time of each site; empty is the default
	}
	// Weather is where the weather comes from.
	Weather struct {
		Kinds   []string `json:"kinds"` // of source, in order of preference
		Contact string   `json:"contact,omitempty"`
	}
	// Station is a station of one site; its name follows StationPrefix.
	Station struct {
		Site   string `json:"site"`
		Digest string `json:"digest"` // of its token, SHA-256 in hex
	}
)

// Names of settings, and under what the store keeps secrets beside them.
const (
	MailSetting    = "mail"
	ServiceSetting = "service"
	WeatherSetting = "weather"
	StationPrefix  = "station/"

	MailSecret    = "secret/mail"
	WebhookSecret = "secret/webhook/" // and the person's id
)
