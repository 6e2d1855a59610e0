// Package tuning lets a region change a number of a published rule: what a
// volunteer changed, from what to what, why and when. A change is shown beside
// the published number, can be undone, comes with a replay of the old and the new
// rule over the seasons that the region has logged, and travels as a signed file
// that people can read.
package tuning
