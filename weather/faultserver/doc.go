// Package faultserver is an HTTP server for tests: it speaks the part of
// Open-Meteo's interface that we use, with weather made by a formula, and can be
// told to misbehave in each way in which a weather service has been seen to.
package faultserver
