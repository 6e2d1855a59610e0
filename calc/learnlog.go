package calc

import (
	"io"
	"strconv"

	"plotwarden/civil"
	"plotwarden/risk/learn"
)

// Log is the seasons of one threat at one plot, as a file holds them.
type Log struct {
	Name    string
	Seasons []learn.Season
}

// maxSeasons bounds the seasons of a log.
const maxSeasons = 200

// ReadLog reads year,date[,none][,sprayed]: a row a season, with the first find,
// the last look without a find before it, and the first spray before it. date is
// empty for a season without a find, which then needs none. season is the day on
// which a season begins; the dates of a row lie within a year from it. The error
// is strict.Faults.
func ReadLog(name string, r io.Reader, season civil.MonthDay) (*Log, error) {
	t := open(name, r, []string{"year", "date", "none", "sprayed"}, []string{"year", "date"})
	if len(t.faults) > 0 {
		return nil, t.err()
	}
	l := &Log{Name: name}
	seen := map[int]bool{}
	for t.next() {
		at := t.column("year")
		year, err := strconv.Atoi(t.field(at))
		switch {
		case err != nil || year < 1 || year > 9998:
			t.fault(at, "year: %q is not a year", shown(t.field(at)))
			continue
		case seen[year]:
			t.fault(at, "year %d stands twice; give one row a season", year)
			continue
		case len(seen) == maxSeasons:
			t.fault(at, "more than %d seasons", maxSeasons)
			continue
		}
		seen[year] = true
		s := learn.Season{Year: year}
		ok := t.inSeason(&s.First, "date", season, year)
		ok = t.inSeason(&s.None, "none", season, year) && ok
		ok = t.inSeason(&s.Sprayed, "sprayed", season, year) && ok
		if !ok {
			continue
		}
		if s.Found() && !s.Sprayed.IsZero() && s.Sprayed < s.First {
			s.First = 0 // what is found after a spray doesn't say when it would have come
		}
		switch {
		case s.Found() && !s.None.IsZero() && s.None >= s.First:
			t.fault(t.column("none"), "none %s is not before the find on %s; it is the last look that found nothing before it", s.None, s.First)
		case !s.Sprayed.IsZero() && s.None > s.Sprayed:
			t.fault(t.column("none"), "none %s is after the spray on %s; give the last look before it", s.None, s.Sprayed)
		case !s.Found() && s.None.IsZero():
			t.fault(t.column("date"), "season %d has no find that counts and no last look; give the last look without a find in a column none, or leave the season out", year)
		}
		l.Seasons = append(l.Seasons, s)
	}
	if len(l.Seasons) == 0 && len(t.faults) == 0 {
		t.fault(0, "the log has no rows")
	}
	if err := t.err(); err != nil {
		return nil, err
	}
	return l, nil
}

// inSeason reads a date of a season, if the file has the column and a date in it.
func (t *table) inSeason(to *civil.Date, name string, season civil.MonthDay, year int) bool {
	i := t.column(name)
	if i < 0 || t.field(i) == "" {
		return true
	}
	d, err := civil.Parse(shown(t.field(i)))
	if err != nil {
		t.fault(i, "%s: %v", name, err)
		return false
	}
	if first := season.In(year); d < first || d >= season.In(year+1) {
		t.fault(i, "%s %s is not in the season of %d, which runs from %s to %s", name, d, year, first, season.In(year+1)-1)
		return false
	}
	*to = d
	return true
}
