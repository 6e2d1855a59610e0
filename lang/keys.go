package lang

import "slices"

// Key is a sentence of the catalogue in English, with the verbs of fmt for its
// arguments. Say takes a Key and no plain text, so that none goes untranslated.
type Key string

// Keys returns every sentence, in the order in which they stand in the source.
func Keys() []Key { return slices.Concat(calendarKeys, feedKeys, actKeys) }

// The calendar.
const (
	CalendarName    Key = "%s: work in the garden"
	CalendarAbout   Key = "Dry hours for work, days to look at the plants, last days of preventive work, and the waiting times that you typed from your labels. An empty day does not mean no risk."
	DryHours        Key = "Dry hours for work"
	DryHoursWhy     Key = "By the forecast: dry leaves, little wind, light, and no rain due soon after. Look at the sky before you begin."
	ToActOn         Key = "To act on now:"
	LabelLaw        Key = "The label is the law: the crop, the rate, the days before harvest and the hours before re-entry are on it."
	LookAtPlants    Key = "Look at the plants"
	LookLog         Key = "Log what you see, also when it is nothing."
	LastDay         Key = "Last day: %[1]s, %[2]s"
	LastDayWhy      Key = "By this day the work that keeps it out should be done:"
	KeepOut         Key = "Keep out: %s"
	KeepOutUntil    Key = "The label's hours before re-entry, as you typed them: %[1]d after %[2]s."
	NoHarvest       Key = "No harvest: %s"
	NoHarvestUntil  Key = "The label's days before harvest, as you typed them: %[1]d after %[2]s. Harvest is allowed again from %[3]s."
	AskLabel        Key = "Read the label: %s"
	AskLabelHarvest Key = "Your log does not say how many days before harvest the label of %s asks for."
	AskLabelEntry   Key = "Your log does not say how many hours before re-entry the label of %s asks for."
	AskLabelDry     Key = "The label of %s says to keep out until it is dry."
	AskLabelWhy     Key = "This calendar shows no waiting time for what it does not know. That does not mean that there is none."
	NoHoursKnown    Key = "Dry hours are not known"
	NoHoursWhy      Key = "The weather ahead is missing. Nothing can be said about it, which is not the same as no risk."
	More            Key = "More: %s"
)

var calendarKeys = []Key{
	CalendarName, CalendarAbout, DryHours, DryHoursWhy, ToActOn, LabelLaw, LookAtPlants, LookLog, LastDay, LastDayWhy,
	KeepOut, KeepOutUntil, NoHarvest, NoHarvestUntil, AskLabel, AskLabelHarvest, AskLabelEntry, AskLabelDry, AskLabelWhy,
	NoHoursKnown, NoHoursWhy, More,
}

// The feed.
const (
	FeedTitle Key = "Morning messages of %s"
	FeedAbout Key = "What is coming to the beds and what to do before it arrives."
)

var feedKeys = []Key{FeedTitle, FeedAbout}
