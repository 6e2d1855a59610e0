package alerts

// Scenarios are the inputs of the golden messages, for tests outside the package.
func Scenarios() map[string]Input { return scenarios() }
