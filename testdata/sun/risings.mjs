// Makes risings.csv: sunrise, transit and sunset (UTC) by astronomy-engine, an independent
// implementation with the full planetary theory (MIT licence).
//   npm install --prefix /tmp/sun astronomy-engine@2.1.19
//   NODE_PATH=/tmp/sun/node_modules node risings.mjs > risings.csv
import { createRequire } from "node:module";
const { Body, Observer, SearchHourAngle, SearchRiseSet } =
  createRequire(import.meta.url)("astronomy-engine");

const places = [[-30, -50], [-15, 29.5], [-1.3, 36.8], [0, 0], [5, -75.6], [9, 38.7],
  [13.5, -88], [20, 105], [20, -156], [45, 10], [60, 25], [65, -20]];
const dates = [];
for (const year of [2026, 2031])
  for (const day of [1, 32, 60, 79, 110, 140, 172, 200, 230, 266, 300, 355]) dates.push([year, day]);

const stamp = (t) => (t ? new Date(Math.round(t.date.getTime() / 1000) * 1000)
  .toISOString().replace(".000", "") : "");
console.log("latitude,longitude,date,rise,noon,set");
for (const [lat, lon] of places)
  for (const [year, day] of dates) {
    const date = new Date(Date.UTC(year, 0, day));
    const midnight = new Date(date.getTime() - lon / 15 * 3600e3);
    const at = new Observer(lat, lon, 0);
    const rise = SearchRiseSet(Body.Sun, at, +1, midnight, 1);
    const noon = SearchHourAngle(Body.Sun, at, 0, midnight, +1).time;
    const set = SearchRiseSet(Body.Sun, at, -1, noon, 0.7);
    console.log([lat, lon, date.toISOString().slice(0, 10), stamp(rise), stamp(noon), stamp(set)].join());
  }
