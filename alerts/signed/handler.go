package signed

import (
	"context"
	"errors"
	"net/http"
	"time"

	"plotwarden/civil"
	"plotwarden/lang"
	"plotwarden/store"
)

// Options make the handler.
type Options struct {
	Keys  *Keys
	Store Store
	Now   func() time.Time // the clock when nil
	// Failed hears of faults of the store, for log and metrics; may be nil.
	Failed func(ctx context.Context, err error)
}

// maxBody bounds what a POST may carry, bytes.
const maxBody = 4 << 10

type handler struct{ Options }

// Handler serves the pages behind links, under Path. GET and HEAD never change
// anything; a POST acts when it carries the button's field or, for Unsubscribe,
// the field of RFC 8058. A POST needs no cookie and no referrer: the token is
// the authority, and who has it may act from anywhere.
func Handler(o Options) http.Handler {
	if o.Keys == nil || o.Store == nil {
		panic("signed: Options needs Keys and Store") // a mistake of the program
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	h := &handler{o}
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+Path+styleName, style)
	mux.HandleFunc("GET "+Path+"{token}", h.show)
	mux.HandleFunc("POST "+Path+"{token}", h.post)
	return mux
}

func (h *handler) show(w http.ResponseWriter, r *http.Request) {
	if c, s, ok := h.open(w, r); ok {
		render(w, http.StatusOK, askPage(c, s, h.today(s), ""))
	}
}

func (h *handler) post(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxBody)
	c, s, ok := h.open(w, r)
	if !ok {
		return
	}
	// ParseMultipartForm reads both forms of a body; fields of the query are not
	// in PostForm, so that no plain link acts.
	if err := r.ParseMultipartForm(maxBody); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		render(w, http.StatusBadRequest, faultPage(s.Lang, s.Lang.Say(lang.LinkMethod)))
		return
	}
	do := r.PostForm.Get("do")
	if c.Action == Unsubscribe && r.PostForm.Get("List-Unsubscribe") == "One-Click" {
		do = doAct
	}
	switch do {
	case doAct:
		h.act(w, r, c, s)
	case doUndo:
		if h.failed(w, r, s, h.Store.Undo(r.Context(), c, h.Now())) {
			return
		}
		render(w, http.StatusOK, undonePage(c, s))
	default:
		render(w, http.StatusBadRequest, faultPage(s.Lang, s.Lang.Say(lang.LinkMethod)))
	}
}

// The button's field.
const (
	doAct  = "act"
	doUndo = "undo"
)

func (h *handler) act(w http.ResponseWriter, r *http.Request, c Claim, s Subject) {
	today := h.today(s)
	switch c.Action {
	case NotNow:
		c.Until = orDefault(c.Until, today)
	case Mute:
		first, last := muteRange(today)
		until, err := civil.Parse(r.PostForm.Get("until"))
		if err != nil || until < first || until > last {
			render(w, http.StatusUnprocessableEntity, askPage(c, s, today, s.Lang.Say(lang.MuteDay, s.Lang.FullDate(first), s.Lang.FullDate(last))))
			return
		}
		c.Until = until
	}
	if h.failed(w, r, s, h.Store.Act(r.Context(), c, h.Now())) {
		return
	}
	render(w, http.StatusOK, donePage(c, s))
}

// open checks the token and looks up what it is about. When it cannot, it
// answers and returns false.
func (h *handler) open(w http.ResponseWriter, r *http.Request) (Claim, Subject, bool) {
	l := lang.For(r.Header.Get("Accept-Language"))
	c, err := h.Keys.Open(r.PathValue("token"), h.Now())
	var expired *ExpiredError
	switch {
	case errors.As(err, &expired):
		render(w, http.StatusGone, faultPage(l, l.Say(lang.LinkExpired, l.FullDate(civil.Of(expired.At, time.UTC)))))
		return c, Subject{}, false
	case err != nil, c.Action == Calendar, c.Action == Feed:
		render(w, http.StatusNotFound, faultPage(l, l.Say(lang.LinkBroken)))
		return c, Subject{}, false
	}
	s, err := h.Store.Describe(r.Context(), c)
	if err != nil {
		h.failed(w, r, Subject{Lang: l}, err)
		return c, Subject{}, false
	}
	return c, s, true
}

// failed answers for a fault of the store, and says whether there was one.
func (h *handler) failed(w http.ResponseWriter, r *http.Request, s Subject, err error) bool {
	switch {
	case err == nil:
		return false
	case errors.Is(err, store.ErrNotFound):
		render(w, http.StatusGone, faultPage(s.Lang, s.Lang.Say(lang.LinkGone)))
	default:
		if h.Options.Failed != nil {
			h.Options.Failed(r.Context(), err)
		}
		render(w, http.StatusServiceUnavailable, faultPage(s.Lang, s.Lang.Say(lang.LinkFailed)))
	}
	return true
}

func (h *handler) today(s Subject) civil.Date {
	loc := s.Loc
	if loc == nil {
		loc = time.UTC
	}
	return civil.Of(h.Now(), loc)
}

// restDays is for how long a thing rests that is put off without a date, and
// what the page for muting offers first (common practice).
const restDays = 14

func orDefault(until, today civil.Date) civil.Date {
	if until < today {
		return today.AddDays(restDays)
	}
	return until
}

// muteRange is from tomorrow to a year ahead: a threat that is muted for ever
// would be forgotten.
func muteRange(today civil.Date) (first, last civil.Date) { return today + 1, today + 366 }
