package calendar

import (
	"bytes"
	"fmt"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"

	"plotwarden/civil"
	"plotwarden/lang"
)

// write makes the file. What the library leaves to its user is done here: lines
// end with CR LF on every system (RFC 5545, section 3.1; the library's default
// is the system's), and control characters are taken out of texts, because the
// library escapes LF alone and a lone CR would begin a new line for some readers.
func (in *Input) write(events []event, book Book) ([]byte, error) {
	cal := ics.NewCalendarFor("plotwarden")
	cal.SetProductId("-//plotwarden//calendar//" + strings.ToUpper(in.Lang.Tag()))
	cal.SetCalscale("GREGORIAN")
	if in.Method != "" {
		cal.SetMethod(ics.Method(in.Method))
	}
	name := line(in.say(lang.CalendarName, in.siteName()))
	cal.SetName(name)
	cal.SetDescription(text(in.say(lang.CalendarAbout)))
	cal.SetXWRCalDesc(text(in.say(lang.CalendarAbout)))
	cal.SetXWRTimezone(line(in.Site.Zone))
	// How often a round may change it (RFC 7986, section 5.7, and the older name).
	// The library's name of the property holds its parameter already.
	cal.SetRefreshInterval("PT1H")
	cal.SetXPublishedTTL("PT1H")
	for i := range events {
		in.add(cal, &events[i], book[events[i].UID])
	}
	var b bytes.Buffer
	if err := cal.SerializeTo(&b, ics.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("write calendar of %s: %w", in.Site.ID, err)
	}
	return b.Bytes(), nil
}

func (in *Input) add(cal *ics.Calendar, e *event, rev Entry) {
	v := cal.AddEvent(e.UID)
	v.SetDtStampTime(rev.Stamp)
	v.SetModifiedAt(rev.Stamp)
	v.SetSequence(rev.Sequence)
	if e.timed() {
		v.SetStartAt(e.From)
		v.SetEndAt(e.To)
	} else {
		v.SetAllDayStartAt(midnight(e.Day))
		v.SetAllDayEndAt(midnight(e.Until))
	}
	v.SetSummary(line(e.Summary))
	if e.Description != "" {
		body := e.Description
		if e.URL != "" {
			body += "\n\n" + in.say(lang.More, e.URL)
		}
		v.SetDescription(text(body))
	}
	if e.URL != "" {
		v.SetURL(line(e.URL))
	}
	v.SetLocation(line(in.siteName()))
	// Work in the garden takes nobody's time from other things.
	v.SetTimeTransparency(ics.TransparencyTransparent)
	if e.Cancelled {
		v.SetStatus(ics.ObjectStatusCancelled)
		return
	}
	v.SetStatus(ics.ObjectStatusConfirmed)
	if e.Remind && in.Remind > 0 {
		a := v.AddAlarm()
		a.SetAction(ics.ActionDisplay)
		a.SetTrigger(fmt.Sprintf("-PT%dM", max(1, int(in.Remind/time.Minute))))
		a.SetProperty(ics.ComponentPropertyDescription, line(e.Summary))
	}
}

// midnight gives the library a date in the form that it takes: only year, month
// and day of it are written.
func midnight(d civil.Date) time.Time {
	y, m, day := d.YMD()
	return time.Date(y, m, day, 0, 0, 0, 0, time.UTC)
}

// text takes out what RFC 5545 does not allow in a text: control characters but
// LF and tab, and what is not UTF-8.
func text(s string) string {
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n", "\u2029", "\n").Replace(strings.ToValidUTF8(s, "\uFFFD"))
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, s)
}

// line is text on one line.
func line(s string) string { return strings.Join(strings.Fields(text(s)), " ") }
