// Prints the standard pressure at elevations, made by the npm package psychrolib.
// Usage: NODE_PATH=DIR/node_modules node elevation.js > elevation.csv
"use strict";
const P = require("psychrolib");
P.SetUnitSystem(P.SI);

console.log("elevation_m,pressure_pa");
for (const m of [-430, -50, 0, 3, 10, 55, 100, 250, 500, 877, 1000, 1609, 2000, 2240, 3000, 3640, 4500, 5000]) {
  console.log([m, P.GetStandardAtmPressure(m).toFixed(5)].join(","));
}
