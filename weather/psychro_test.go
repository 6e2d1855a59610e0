package weather

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var psychroDir = filepath.Join(referenceDir, "weather-psychro")

// Source: npm psychrolib 1.1.1, see testdata/reference/weather-psychro.
func checkAir(t *testing.T, rows []map[string]string) {
	require.Len(t, rows, 759)
	for _, r := range rows {
		temp, rh, p := number(t, r["temp_c"]), number(t, r["rh_pct"]), number(t, r["pressure_pa"])
		dew := number(t, r["dew_c"])
		at := func(what string) string {
			return what + " at " + r["temp_c"] + " C " + r["rh_pct"] + " % " + r["pressure_pa"] + " Pa"
		}
		assert.InEpsilon(t, number(t, r["sat_pa"]), SatVapourPressure(temp), 1e-6, at("saturation"))
		assert.InDelta(t, dew, DewPointFromRH(temp, rh), 0.001, at("dew point"))
		// The library bisects to 0.001 C.
		assert.InDelta(t, number(t, r["wet_bulb_c"]), WetBulb(temp, rh, p), 0.0011, at("wet bulb"))
		assert.InDelta(t, number(t, r["vpd_pa"]), VPD(temp, rh), 1e-3+1e-6*SatVapourPressure(temp), at("deficit"))
		assert.InDelta(t, number(t, r["rh_from_dew_pct"]), RelHumidity(temp, dew), 0.001, at("humidity"))
	}
}

func checkElevation(t *testing.T, rows []map[string]string) {
	require.Len(t, rows, 18)
	for _, r := range rows {
		assert.InDelta(t, number(t, r["pressure_pa"]), Pressure(number(t, r["elevation_m"])), 0.001, r["elevation_m"])
	}
}

func TestMoistAirAgainstPsychrolib(t *testing.T) {
	checkAir(t, readTable(t, filepath.Join(psychroDir, "vectors.csv")))
	checkElevation(t, readTable(t, filepath.Join(psychroDir, "elevation.csv")))
}

func TestMoistAirAgainstPsychrolibLive(t *testing.T) {
	checkAir(t, parseTable(t, runNode(t, filepath.Join(psychroDir, "vectors.js"), "psychrolib")))
	checkElevation(t, parseTable(t, runNode(t, filepath.Join(psychroDir, "elevation.js"), "psychrolib")))
}

func TestMoistAirOutsideItsRange(t *testing.T) {
	nan := math.NaN()
	for name, got := range map[string]float64{
		"saturation too cold":        SatVapourPressure(-100.1),
		"saturation too hot":         SatVapourPressure(200.1),
		"saturation of nothing":      SatVapourPressure(nan),
		"dew point of dry air":       DewPointFromRH(20, 0),
		"dew point above 100 %":      DewPointFromRH(20, 100.1),
		"dew point of nothing":       DewPointFromRH(20, nan),
		"dew point below -100 C":     DewPointFromRH(-60, 0.01),
		"humidity, dew far above":    RelHumidity(20, 21.1),
		"humidity of nothing":        RelHumidity(nan, 10),
		"humidity without dew point": RelHumidity(10, nan),
		"deficit below 0 %":          VPD(20, -1),
		"wet bulb without pressure":  WetBulb(20, 50, 0),
		"wet bulb of nothing":        WetBulb(20, 50, nan),
		"boiling":                    WetBulb(101, 50, 101325),
		"pressure too high up":       Pressure(11001),
		"pressure of nothing":        Pressure(nan),
	} {
		assert.True(t, math.IsNaN(got), "%s: %v", name, got)
	}
	assert.Equal(t, 100.0, RelHumidity(20, 20.9))
	assert.Equal(t, 0.0, VPD(20, 100))
	assert.Equal(t, SatVapourPressure(20), VPD(20, 0))
}

func TestMoistAirProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(-40, 55).Draw(t, "temp")
		rh := rapid.Float64Range(1, 100).Draw(t, "rh")
		p := rapid.Float64Range(60000, 108000).Draw(t, "pressure")
		dew, wet := DewPointFromRH(temp, rh), WetBulb(temp, rh, p)
		if !(dew <= wet+1e-4 && wet <= temp) {
			t.Fatalf("dew point %v, wet bulb %v, temperature %v", dew, wet, temp)
		}
		if back := RelHumidity(temp, dew); math.Abs(back-rh) > 1e-4 {
			t.Fatalf("humidity %v came back as %v", rh, back)
		}
		if d := DeltaT(temp, rh, p); math.Abs(d-(temp-wet)) > 1e-12 {
			t.Fatalf("wet-bulb depression %v", d)
		}
		if wetter := math.Min(100, rh+1); DewPointFromRH(temp, wetter) < dew {
			t.Fatalf("more humid air has a lower dew point")
		}
	})
}
