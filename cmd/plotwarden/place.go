package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"plotwarden/weather/places"
)

type placeCmd struct {
	Name  []string `arg:"" placeholder:"NAME" help:"A town or village; a region or country after a comma narrows it down."`
	Limit int      `default:"10" placeholder:"N" help:"How many to list at most."`
}

// Run lists the places of a name, for the coordinates and zone of a site.
func (c *placeCmd) Run(s streams) error {
	if c.Limit < 1 || c.Limit > 1000 {
		return usageError{fmt.Errorf("--limit %d is not between 1 and 1000", c.Limit), ""}
	}
	name := strings.Join(c.Name, " ")
	found := places.Find(name, c.Limit)
	for _, a := range places.Attributions {
		fmt.Fprintf(s.err, "%s (%s, %s)\n", a.Text, a.URL, a.Licence)
	}
	if len(found) == 0 {
		return inputError{fmt.Errorf("no place of a thousand people or more is called %q; try a larger one near by, or take the coordinates from a map", name)}
	}
	fmt.Fprintln(s.err, "Heights are not in these data. Write a site's own as elevation; left out, that of the weather service's grid is used and shown.")
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "latitude\tlongitude\tzone\tpeople\tplace") // Flush keeps the error
	for _, p := range found {
		fmt.Fprintf(w, "%.3f\t%.3f\t%s\t%d\t%s\n", p.Lat, p.Lon, p.Zone, p.Population, p)
	}
	return w.Flush()
}
