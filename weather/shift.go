package weather

// Shift returns the series moved by a number of hours, values and origins as
// they were.
func (s *Series) Shift(hours int) *Series {
	out := s.Slice(0, s.n)
	out.start += int64(hours)
	return out
}
