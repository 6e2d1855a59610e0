// Package archive reads the daily and hourly station archives of the US National
// Centers for Environmental Information: GHCN-Daily in its fixed-width and its
// by-station layout and as CSV of the access service, and ISD-Lite. The data are
// in the public domain.
//
// Layouts: GHCN-Daily readme.txt, sections II and III; ISD-Lite format
// documentation.
package archive
