// Prints reference values of moist air, made by the npm package psychrolib.
// Usage: NODE_PATH=DIR/node_modules node vectors.js > vectors.csv
"use strict";
const P = require("psychrolib");
P.SetUnitSystem(P.SI);

const temps = [-40, -25, -10.5, -5, -0.5, 0, 0.005, 0.01, 0.5, 2, 5, 10, 12.5, 15, 18, 20, 22.2, 25, 28, 30, 35, 40, 47.5];
const humidities = [2, 10, 25, 40, 55, 70, 80, 90, 95, 99, 100];
const pressures = [101325, 95000, 80000];

console.log("temp_c,rh_pct,pressure_pa,sat_pa,dew_c,wet_bulb_c,vpd_pa,rh_from_dew_pct");
for (const t of temps) {
  for (const rh of humidities) {
    for (const p of pressures) {
      const dew = P.GetTDewPointFromRelHum(t, rh / 100);
      const w = P.GetHumRatioFromRelHum(t, rh / 100, p);
      console.log([t, rh, p,
        P.GetSatVapPres(t).toFixed(5),
        dew.toFixed(5),
        P.GetTWetBulbFromRelHum(t, rh / 100, p).toFixed(5),
        P.GetVaporPressureDeficit(t, w, p).toFixed(5),
        (100 * P.GetRelHumFromTDewPoint(t, dew)).toFixed(5),
      ].join(","));
    }
  }
}
