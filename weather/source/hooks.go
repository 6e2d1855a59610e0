package source

import "time"

// Attempt is one request that went out, tries included.
type Attempt struct {
	Try    int    // from 1
	Status int    // 0 when no answer came
	Cause  string // "" when it went well
	Bytes  int    // of the body, decompressed
	Took   time.Duration
	Weight float64
}

// Hooks are called for metrics. Any may be nil; they must be quick and safe
// for concurrent use.
type Hooks struct {
	Attempt func(source string, a Attempt)
	Budget  func(source string, per time.Duration, left float64)
	Kept    func(source string)                      // an answer that still held was used, nothing asked
	Breaker func(source, from, to string)            // "closed", "half-open", "open"
	Shared  func(source string, places, fetched int) // places asked for, and those left after sharing
}

func (h Hooks) attempt(source string, a Attempt) {
	if h.Attempt != nil {
		h.Attempt(source, a)
	}
}
