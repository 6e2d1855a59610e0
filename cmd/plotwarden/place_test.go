package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPlace(t *testing.T) {
	got := plotwarden(t, "", "place", "Burlington,", "VT")
	require.Equal(t, 0, got.code, got.err)
	lines := strings.Split(strings.TrimSpace(got.out), "\n")
	assert.Equal(t, []string{"latitude", "longitude", "zone", "people", "place"}, strings.Fields(lines[0]))
	// 44 deg 28' N 73 deg 13' W: the city's coordinates, from memory.
	first := strings.Fields(lines[1])
	require.GreaterOrEqual(t, len(first), 5)
	assert.True(t, strings.HasPrefix(first[0], "44.4"), lines[1])
	assert.True(t, strings.HasPrefix(first[1], "-73.2"), lines[1])
	assert.Equal(t, "America/New_York", first[2])
	assert.Contains(t, lines[1], "Burlington, VT, United States")
	assert.Contains(t, got.err, "GeoNames", "the credit goes where messages go")
	assert.Contains(t, got.err, "CC BY 4.0")
	assert.NotContains(t, got.out, "GeoNames")
	assert.Contains(t, got.err, "Heights are not in these data. Write a site's own as elevation")

	one := plotwarden(t, "", "place", "--limit", "1", "springfield")
	require.Equal(t, 0, one.code, one.err)
	assert.Len(t, strings.Split(strings.TrimSpace(one.out), "\n"), 2)

	none := plotwarden(t, "", "place", "Xyzzyqqwv")
	assert.Equal(t, 2, none.code)
	assert.Empty(t, none.out)
	assert.Contains(t, none.err, `"Xyzzyqqwv"; try a larger one near by`)
	assert.Equal(t, 2, plotwarden(t, "", "place", "--limit", "0", "york").code)
	assert.Equal(t, 2, plotwarden(t, "", "place").code)
}
