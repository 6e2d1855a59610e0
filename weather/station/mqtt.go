package station

import (
	"context"
	"crypto/tls"
	"fmt"
	"net/url"
	"strings"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
)

// MQTT says where a station publishes the JSON document.
type MQTT struct {
	Broker   string // "mqtt://host:1883", or "mqtts://host:8883" with TLS
	Topic    string // one topic, without wildcards: it is one station
	ClientID string // differs from that of any other client of the broker
	User     string
	Password string
	TLS      *tls.Config // nil is the system's roots
}

const (
	maxMessage  = 64 << 10
	connectWait = 8 * time.Second
	mostApart   = 2 * time.Minute // between attempts to connect again
)

// Check says what cannot work.
func (m MQTT) Check() error {
	u, err := url.Parse(m.Broker)
	switch {
	case err != nil || u.Host == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts":
		return fmt.Errorf("broker %q is not an address as mqtt://host:1883 or mqtts://host:8883", m.Broker)
	case m.Topic == "" || strings.ContainsAny(m.Topic, "#+\x00"):
		return fmt.Errorf("topic %q: want one topic without # and +", m.Topic)
	case m.ClientID == "":
		return fmt.Errorf("client id: it is needed, and must differ from that of any other client")
	}
	return nil
}

// Listen subscribes and calls take for each message, one at a time, until ctx
// ends. A message that cannot be used goes to fault and is dropped. When the
// broker goes away, it connects and subscribes again by itself; fault is told.
// It returns an error when the settings are wrong or the first connection fails,
// and nil after ctx ends.
func (m MQTT) Listen(ctx context.Context, take func(obs []Observation), fault func(err error)) error {
	if err := m.Check(); err != nil {
		return fmt.Errorf("mqtt: %w", err)
	}
	onMessage := func(_ mqtt.Client, msg mqtt.Message) {
		if n := len(msg.Payload()); n > maxMessage {
			fault(fmt.Errorf("mqtt: a message of %d bytes; at most %d are read", n, maxMessage))
			return
		}
		obs, err := Decode(msg.Payload())
		if err != nil {
			fault(fmt.Errorf("mqtt: message on %s: %w", m.Topic, err))
			return
		}
		take(obs)
	}
	o := mqtt.NewClientOptions().
		AddBroker(m.Broker).SetClientID(m.ClientID).SetUsername(m.User).SetPassword(m.Password).
		SetConnectTimeout(connectWait).SetWriteTimeout(connectWait).
		SetProtocolVersion(4).SetAutoReconnect(true).SetMaxReconnectInterval(mostApart).
		SetCleanSession(true). // a broker's queue of old messages is not needed: stations repeat themselves
		SetConnectionLostHandler(func(_ mqtt.Client, err error) { fault(fmt.Errorf("mqtt: connection lost: %w", err)) }).
		SetOnConnectHandler(func(c mqtt.Client) {
			// Waited for elsewhere: a wait here would stop the client's own loop.
			token := c.Subscribe(m.Topic, 1, onMessage)
			go func() {
				if token.WaitTimeout(connectWait); token.Error() != nil {
					fault(fmt.Errorf("mqtt: subscribe to %s: %w", m.Topic, token.Error()))
				}
			}()
		})
	if m.TLS != nil {
		o.SetTLSConfig(m.TLS)
	}
	client := mqtt.NewClient(o)
	token := client.Connect()
	select {
	case <-ctx.Done():
	case <-token.Done():
		if err := token.Error(); err != nil {
			return fmt.Errorf("mqtt: connect to %s: %w", m.Broker, err)
		}
		<-ctx.Done()
	}
	client.Disconnect(250)
	return nil
}
