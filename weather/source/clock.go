package source

import "plotwarden/weather"

// CheckClock holds the radiation of a series against the sun at its place and
// returns an error of cause Shifted when all hours are surely moved. It takes
// two weeks of radiation with some bright days to tell; with less, nothing is
// said.
func CheckClock(source string, s *weather.Series, lat, lon float64) error {
	for _, d := range weather.Doubts(s, nil, lat, lon) {
		if d.Sure && d.Fault == weather.FaultClock {
			return Errorf(source, Shifted, "%s", d.Reason)
		}
	}
	return nil
}
