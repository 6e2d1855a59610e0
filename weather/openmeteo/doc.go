// Package openmeteo reads hourly weather from Open-Meteo's forecast, archive
// and ensemble services, or from a server of one's own that speaks the same
// interface.
//
// The free service is for non-commercial use, and its data are under CC BY 4.0:
// show Attribution beside them. A grower who sells may need a key (Config.Key)
// or an own server (Config.ForecastURL and the others).
//
// Times are asked for as Unix seconds in GMT. The service's local times use one
// constant offset for the whole answer, so they are wrong after a clock change.
package openmeteo
