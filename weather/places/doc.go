// Package places finds places of the earth by name, and the time zone of
// coordinates, without a network: some 112,000 towns and villages of a thousand
// people or more are built in. See SOURCE.txt for where they are from.
//
// Heights are not in the data: leave the elevation of a site to its owner or to
// the weather service.
package places
