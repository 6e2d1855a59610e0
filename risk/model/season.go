package model

// Season shares the work that rules of one site-season have in common.
type Season struct{}
