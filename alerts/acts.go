package alerts

import (
	"slices"
	"strings"

	"plotwarden/store"
)

// Act is one thing that a reader can do about a notice from within the message.
type Act struct{ Label, Link string }

// ActLink makes the link for a choice about some plantings and one threat; an
// empty link leaves the choice out of the message. It must give the same link
// for the same morning.
type ActLink func(kind string, plantings []string, threat string) string

var actLabels = []struct{ kind, label string }{
	{store.ChoseDone, "Done"},
	{store.ChoseNotNow, "Not now"},
	{store.ChoseNotMine, "Not my crop"},
	{store.ChoseMute, "Mute it"},
}

// What a person can subscribe to.
const (
	CalendarLabel = "Calendar to subscribe to"
	FeedLabel     = "Feed of these messages"
)

// acts fills in the links of a notice.
func (in *Input) acts(n *Notice) {
	if in.ActLink == nil {
		return
	}
	for _, a := range actLabels {
		if link := in.ActLink(a.kind, n.plantings, n.threat); link != "" {
			n.Acts = append(n.Acts, Act{in.voice().T(a.label), link})
		}
	}
}

// Subject names plantings and a threat in one text, for a link: "tom,tom2/late-blight".
func Subject(plantings []string, threat string) string {
	all := slices.Clone(plantings)
	slices.Sort(all)
	return strings.Join(slices.Compact(all), ",") + "/" + threat
}

// ParseSubject reads what Subject wrote; ok is false for anything else.
func ParseSubject(s string) (plantings []string, threat string, ok bool) {
	list, threat, ok := strings.Cut(s, "/")
	if !ok || list == "" || threat == "" || strings.ContainsAny(threat, "/,") {
		return nil, "", false
	}
	plantings = strings.Split(list, ",")
	return plantings, threat, !slices.Contains(plantings, "")
}
