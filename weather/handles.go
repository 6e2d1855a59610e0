package weather

// Handles returns for each hour the origin handle of v, as AddOrigin gave it, 0
// where the value is missing; nil when the whole column is missing. Handle h is
// Origins()[h-1]. The caller must not change it.
func (s *Series) Handles(v Var) []uint8 { return s.prov[v] }
