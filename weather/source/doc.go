// Package source is what the clients of weather services share: one named
// error with a stable cause, an HTTP client that is polite and bounded (own
// User-Agent, time-out, body limit, retries that honour Retry-After, circuit
// breaker, request budget, rate limit, jitter), and hooks for metrics. It knows
// no service; each has a package of its own beside this one.
package source
