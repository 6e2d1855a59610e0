package page

import (
	"net/http"
	"net/url"
	"time"

	"plotwarden/garden"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

// CookieAge is for how long a reader's choices are kept in their browser.
const CookieAge = 365 * 24 * time.Hour

// Style returns how the reader wants numbers. units=us or units=metric in the
// address is kept in a cookie, so that it holds on the next page.
func (k *Kit) Style(w http.ResponseWriter, r *http.Request) say.Style {
	var u garden.Units
	if q := r.URL.Query().Get("units"); q != "" && u.UnmarshalText([]byte(q)) == nil {
		if w.Header().Get("Set-Cookie") == "" {
			http.SetCookie(w, &http.Cookie{Name: "units", Value: string(u), Path: "/", MaxAge: int(CookieAge.Seconds()),
				HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
		}
		return say.StyleOf(u)
	}
	if c, err := r.Cookie("units"); err == nil && u.UnmarshalText([]byte(c.Value)) == nil {
		return say.StyleOf(u)
	}
	return say.Style{}
}

// unitsLink leads to the same page in the other units.
func unitsLink(r *http.Request, now say.Style) view.Link {
	q := url.Values{}
	for _, keep := range []string{"days", "model", "page", "planting", "material", "year"} {
		if v := r.URL.Query().Get(keep); v != "" {
			q.Set(keep, v)
		}
	}
	l := view.Link{Text: "Show °F, inches, mph"}
	q.Set("units", string(garden.US))
	if now.US {
		l.Text = "Show °C, mm, km/h"
		q.Set("units", string(garden.Metric))
	}
	l.Href = "?" + q.Encode()
	return l
}
