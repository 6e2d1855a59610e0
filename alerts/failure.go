package alerts

// SendError is how a channel says why an attempt failed, so that the worker can
// decide what comes next.
type SendError struct {
	Cause     string // short and stable, for metrics: "smtp-550", "smtp-timeout"
	Permanent bool   // trying this message again cannot help
	Down      bool   // the channel as a whole fails, not this message: others would fail too
	Err       error
}

// Error returns cause and detail.
func (e *SendError) Error() string { return e.Cause + ": " + e.Err.Error() }

// Unwrap returns the detail.
func (e *SendError) Unwrap() error { return e.Err }
