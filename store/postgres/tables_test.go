package postgres

import (
	"testing"

	"github.com/stretchr/testify/require"

	"plotwarden/store/pgtest"
	"plotwarden/store/storetest"
)

func TestBackupsHaveEveryTable(t *testing.T) {
	s := open(t, pgtest.New(t))
	rows, err := s.pool.Query(t.Context(), `SELECT table_name::text, column_name::text FROM information_schema.columns WHERE table_schema = current_schema() AND table_name NOT LIKE 'goose_%'`)
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
