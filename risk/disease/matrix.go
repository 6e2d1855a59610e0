package disease

// Matrix reads a call off two sums (Krause, Massie & Hyre 1975, Plant Dis. Rep.
// 59:95-98, from memory).
type Matrix struct {
	Columns []float64 // first sums of the second and later columns, rising
	Rows    []float64 // first counts of all rows, rising, the first 0
	Cells   [][]int   // a row of calls for each of Rows, one more than Columns
}

// Call returns the cell of a severity sum and a count of favourable days.
func (m *Matrix) Call(severity, favourable float64) int {
	row, col := 0, 0
	for row+1 < len(m.Rows) && favourable >= m.Rows[row+1] {
		row++
	}
	for col < len(m.Columns) && severity >= m.Columns[col] {
		col++
	}
	return m.Cells[row][col]
}

// Span returns the least and the greatest call over ranges of both sums.
func (m *Matrix) Span(sevLow, sevHigh, favLow, favHigh float64) (least, most int) {
	least = 1 << 30
	for row := range m.Rows {
		if favHigh < m.Rows[row] || (row+1 < len(m.Rows) && favLow >= m.Rows[row+1]) {
			continue
		}
		for col := 0; col <= len(m.Columns); col++ {
			if (col > 0 && sevHigh < m.Columns[col-1]) || (col < len(m.Columns) && sevLow >= m.Columns[col]) {
				continue
			}
			least, most = min(least, m.Cells[row][col]), max(most, m.Cells[row][col])
		}
	}
	return least, most
}
