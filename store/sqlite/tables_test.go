package sqlite

import (
	"testing"

	"github.com/stretchr/testify/require"

	"plotwarden/store/storetest"
)

func TestBackupsHaveEveryTable(t *testing.T) {
	s := open(t)
	rows, err := s.read.QueryContext(t.Context(), `SELECT m.name, p.name FROM sqlite_schema AS m JOIN pragma_table_info(m.name) AS p WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name NOT LIKE 'goose_%'`)
	require.NoError(t, err)
	defer rows.Close()
	have := map[string][]string{}
	for rows.Next() {
		var table, column string
		require.NoError(t, rows.Scan(&table, &column))
		have[table] = append(have[table], column)
	}
	require.NoError(t, rows.Err())
	storetest.TablesAreKnown(t, have)
}
