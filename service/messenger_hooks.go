package service

import (
	"errors"
	"os"
	"slices"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/email"
	"plotwarden/alerts/outbox"
	"plotwarden/civil"
	"plotwarden/store"
)

// openTemplates loads the operator's templates. A broken one does not stop the
// service: the built-in one goes out and the operator is told.
func (m *messenger) openTemplates() error {
	if m.cfg.Digest.Templates == "" {
		return nil
	}
	var faults []error
	m.templates, faults = alerts.LoadTemplates(os.DirFS(m.cfg.Digest.Templates))
	for _, err := range faults {
		m.templateFault(err)
	}
	return nil
}

func (m *messenger) templateFault(err error) {
	m.metrics.TemplateFaults.Inc()
	m.log.Error("template", "folder", m.cfg.Digest.Templates, "error", err)
	if text := err.Error(); !slices.Contains(m.broken, text) {
		m.broken = append(m.broken, text)
	}
}

// tellOfTemplates tells the operator once a day what is wrong with the own
// templates.
func (m *messenger) tellOfTemplates(now time.Time) ([]store.Message, error) {
	if len(m.broken) == 0 {
		return nil, nil
	}
	day := civil.Of(now, time.UTC).String()
	return m.toOperator(note{"templates/" + day, m.operator().T("A template of yours is broken"), strings.Join(m.broken, "\n")}, now, "")
}

// failingAfter is after how many attempts in a row mail counts as failing: with
// the outbox's waits about a quarter of an hour.
const failingAfter = 5

func (m *messenger) hooks() outbox.Hooks {
	return outbox.Hooks{
		Sent: func(d store.Delivery) {
			m.metrics.Deliveries.WithLabelValues(d.Channel, "sent").Inc()
			m.log.Info("message sent", "key", d.Key, "attempt", d.Attempts)
			if d.Channel == email.Channel {
				m.failing.Store(false)
			}
		},
		Retried: func(d store.Delivery, next time.Time, cause error) {
			m.metrics.Deliveries.WithLabelValues(d.Channel, "retry").Inc()
			m.log.Warn("message not sent, will try again", "key", d.Key, "attempt", d.Attempts, "next", next, "error", cause)
			var se *alerts.SendError
			if d.Channel == email.Channel && d.Attempts >= failingAfter && errors.As(cause, &se) && se.Cause != quiet {
				m.failing.Store(true)
			}
		},
		Failed: func(d store.Delivery, cause error) {
			m.metrics.Deliveries.WithLabelValues(d.Channel, "failed").Inc()
			m.log.Error("message given up", "key", d.Key, "attempt", d.Attempts, "error", cause)
		},
	}
}
