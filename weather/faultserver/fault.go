package faultserver

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"strconv"
	"time"
)

// Fault is one way to misbehave.
type Fault int

// The faults. Those of the first group need no knowledge of the data; those of
// the second change a good answer.
const (
	None         Fault = iota
	Reset              // the connection is closed without an answer
	SlowBody           // the header at once, then a byte now and then
	HalfBody           // half of the bytes that the header promised
	HalfJSON           // a whole answer of half a document
	HTML               // a web page with status 200
	TooMany            // 429 with Retry-After: 120
	TooManyPlain       // 429 without
	ServerError        // 500
	Overloaded         // 503 with the service's words
	BadRequest         // 400 with the service's words
	Huge               // 20 MiB
	RedirectLoop       // to itself

	Stale        // as made three days ago, status 200
	OtherUnits   // Fahrenheit, and says so
	SilentUnits  // Fahrenheit, and says Celsius
	OtherZone    // local time of UTC-4, and says so
	ShiftedHour  // each value an hour late
	NullTail     // the last day is null
	NoHumidity   // a needed variable is absent
	AnotherPlace // the answer is for the other side of the earth
)

// RetryAfter is what TooMany asks for.
const RetryAfter = 120 * time.Second

// misbehave answers with a fault of the first group and says whether it did.
func misbehave(f Fault, w http.ResponseWriter, r *http.Request, good http.Handler) bool {
	switch f {
	case Reset:
		panic(http.ErrAbortHandler)
	case SlowBody:
		body := record(good, r)
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
		for i := range body {
			_, _ = w.Write(body[i : i+1])
			_ = http.NewResponseController(w).Flush()
			select {
			case <-r.Context().Done():
				return true
			case <-time.After(50 * time.Millisecond):
			}
		}
	case HalfBody:
		body := record(good, r)
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
		_, _ = w.Write(body[:len(body)/2])
		_ = http.NewResponseController(w).Flush()
		panic(http.ErrAbortHandler)
	case HalfJSON:
		body := record(good, r)
		send(w, 200, "application/json", body[:len(body)/2])
	case HTML:
		send(w, 200, "text/html; charset=utf-8", []byte("<!doctype html><title>Maintenance</title><p>Back soon."))
	case TooMany:
		w.Header().Set("Retry-After", strconv.Itoa(int(RetryAfter.Seconds())))
		send(w, 429, "application/json", []byte(`{"error":true,"reason":"Minutely API request limit exceeded. Please try again in one minute."}`))
	case TooManyPlain:
		send(w, 429, "application/json", []byte(`{"error":true,"reason":"Hourly API request limit exceeded. Please try again in the next hour."}`))
	case ServerError:
		send(w, 500, "text/html", []byte("<h1>Internal Server Error</h1>"))
	case Overloaded:
		send(w, 503, "application/json", []byte(`{"error":true,"reason":"The service is overloaded"}`))
	case BadRequest:
		send(w, 400, "application/json", []byte(`{"error":true,"reason":"Cannot initialize from invalid value."}`))
	case Huge:
		w.Header().Set("Content-Type", "application/json")
		chunk := bytes.Repeat([]byte(" "), 1<<20)
		for range 20 {
			if _, err := w.Write(chunk); err != nil {
				return true
			}
		}
	case RedirectLoop:
		http.Redirect(w, r, r.URL.String(), http.StatusFound)
	default:
		return false
	}
	return true
}

func record(h http.Handler, r *http.Request) []byte {
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec.Body.Bytes()
}

func send(w http.ResponseWriter, status int, contentType string, body []byte) {
	w.Header().Set("Content-Type", contentType)
	w.WriteHeader(status)
	_, _ = w.Write(body)
}
