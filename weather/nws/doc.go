// Package nws reads the US National Weather Service: the forecast grid of a
// place, and the reports of stations near it. United States only; no key; the
// data are in the public domain.
package nws
