package lang

// The pages behind signed links.
const (
	ActNothingYet Key = "Nothing has happened yet. It happens when you press the button."
	ActFor        Key = "For %[1]s, %[2]s."
	ActBack       Key = "Take it back"
	ActBackAsk    Key = "Pressed by mistake?"
	ActTakenBack  Key = "Taken back. All is as before."
	ActSite       Key = "To the garden's pages"

	DoneTitle  Key = "Done: %s"
	DoneAsk    Key = "You have done the work. The message tells of it again only when something changes."
	DoneButton Key = "Yes, it is done"
	DoneAfter  Key = "Noted as done."

	NotNowTitle  Key = "Not now: %s"
	NotNowAsk    Key = "The message does not repeat it before %s, unless it becomes more pressing."
	NotNowButton Key = "Yes, not now"
	NotNowAfter  Key = "Put off until %s."

	NotMineTitle  Key = "Not my crop: %s"
	NotMineAsk    Key = "You get no more messages about it. Others still do."
	NotMineButton Key = "Yes, it is not my crop"
	NotMineAfter  Key = "You get no more messages about it."

	MuteTitle  Key = "No messages for a while: %s"
	MuteAsk    Key = "You get no messages about it up to and including the day below. Conditions that favour it are then not told to you either."
	MuteUntil  Key = "Last day without messages"
	MuteButton Key = "Stop until then"
	MuteAfter  Key = "No messages about it up to and including %s."
	MuteDay    Key = "Choose a day from %[1]s to %[2]s."

	StopTitle  Key = "No more morning messages of %s"
	StopAsk    Key = "You get no more messages of this garden over this channel. What you logged stays."
	StopButton Key = "Stop the messages"
	StopAfter  Key = "You get no more morning messages of %s over this channel."

	LinkExpired Key = "This link was good until %s. Newer messages have a new one."
	LinkBroken  Key = "This link is not complete. Copy the whole of it from the message, or use the link of a newer message."
	LinkGone    Key = "What this link is about is no longer in the garden. Nothing was changed."
	LinkFailed  Key = "It could not be written down, so nothing has changed. Try again in a few minutes."
	LinkMethod  Key = "Open the link in a browser and press the button."
	LinkFault   Key = "This did not work"
)

var actKeys = []Key{
	ActNothingYet, ActFor, ActBack, ActBackAsk, ActTakenBack, ActSite,
	DoneTitle, DoneAsk, DoneButton, DoneAfter,
	NotNowTitle, NotNowAsk, NotNowButton, NotNowAfter,
	NotMineTitle, NotMineAsk, NotMineButton, NotMineAfter,
	MuteTitle, MuteAsk, MuteUntil, MuteButton, MuteAfter, MuteDay,
	StopTitle, StopAsk, StopButton, StopAfter,
	LinkExpired, LinkBroken, LinkGone, LinkFailed, LinkMethod, LinkFault,
}
