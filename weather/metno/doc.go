// Package metno reads the location forecast of the Norwegian Meteorological
// Institute: the whole earth, nine to ten days, no key, CC BY 4.0. It has
// neither radiation nor soil temperature, and no history.
package metno
