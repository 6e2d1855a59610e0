// Prints sunrise, noon, sunset and solar elevation, made by the npm package
// astronomy-engine. The day of a row is the local solar day: 24 hours around the
// sun's highest point, which is the transit nearest to 12:00 local mean time.
// Usage: NODE_PATH=DIR/node_modules node vectors.js > vectors.csv
"use strict";
const A = require("astronomy-engine");

const places = [
  [0, 0], [0.3, 32.6], [-0.2, -78.5], [12.97, 77.6], [19.4, -99.1], [25.8, -80.2], [35.7, 139.7],
  [36.1, -79.9], [40.6, -73.8], [42.4, -71.1], [47.6, -122.3], [51.5, -0.1], [55.8, 37.6], [60.2, 24.9],
  [61.2, -149.9], [64.1, -21.9], [65.5, 25.7], [66.5, 25.7], [69.6, 18.9], [71.3, -156.8], [78.2, 15.6],
  [-12, -77], [-23.5, -46.6], [-33.9, 18.4], [-36.8, 174.8], [-43.9, -176.5], [-17.7, 177.4],
  [-54.8, -68.3], [-67.6, -68.1], [-77.8, 166.7], [52, 179.9], [52, -179.9], [1.9, -157.4],
];
const dates = [
  "2000-02-29", "2012-06-20", "2013-12-21", "2024-02-29", "2026-01-01", "2026-01-26", "2026-02-14", "2026-03-20",
  "2026-04-11", "2026-05-08", "2026-05-29", "2026-06-21", "2026-07-15", "2026-08-09", "2026-09-01",
  "2026-09-23", "2026-10-17", "2026-11-12", "2026-11-25", "2026-12-21", "2040-07-04",
];
const iso = (t) => (t ? t.date.toISOString() : "");

console.log("lat,lon,date,rise,noon,set,elevation_at,elevation_deg");
for (const [lat, lon] of places) {
  const obs = new A.Observer(lat, lon, 0);
  for (const d of dates) {
    const mean = new Date(Date.parse(d + "T12:00:00Z") - lon * 240000);
    const noon = A.SearchHourAngle(A.Body.Sun, obs, 0, new Date(mean.getTime() - 3600000)).time;
    const back = A.SearchRiseSet(A.Body.Sun, obs, +1, noon, -0.5);
    const on = A.SearchRiseSet(A.Body.Sun, obs, -1, noon, 0.5);
    const at = new Date(mean.getTime() + 4 * 3600000);
    const eq = A.Equator(A.Body.Sun, at, obs, true, true);
    const alt = A.Horizon(at, obs, eq.ra, eq.dec).altitude;
    console.log([lat, lon, d, iso(back), iso(noon), iso(on), at.toISOString(), alt.toFixed(5)].join(","));
  }
}
