package outbox

import (
	"hash/fnv"
	"time"
)

const (
	firstWait = time.Minute
	longWait  = time.Hour
)

// Backoff is how long a message waits after its attempt-th failed attempt: a
// minute, doubled each time up to an hour, and up to a fifth longer. The extra
// follows from key and attempt, so that many messages that failed together do
// not come back together, and tests know what to expect.
func Backoff(key string, attempt int) time.Duration {
	wait := longWait
	if n := attempt - 1; n < 6 { // 2^6 minutes are over an hour
		wait = firstWait << max(0, n)
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(key)) // never fails
	_, _ = h.Write([]byte{byte(attempt)})
	return wait + wait/5*time.Duration(h.Sum32()%1000)/1000
}
