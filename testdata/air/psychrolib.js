// Makes psychrolib.csv again:
//   npm install psychrolib@1.1.1 && node psychrolib.js > psychrolib.csv
// in a copy of this folder, so that no package lands in the tree.
const psy = require('psychrolib');
psy.SetUnitSystem(psy.SI);
const rows = ['temp_c,rh,altitude_m,pressure_pa,saturation_pa,humidity_ratio,wet_bulb_c,dew_point_c,' +
  'enthalpy_kj_kg,volume_m3_kg,deficit_pa'];
for (const t of [-10, -3, 5, 12, 20, 25, 32, 45, 55, 70])
  for (const rh of [0.05, 0.2, 0.4, 0.65, 0.85, 1])
    for (const z of [0, 800, 1500, 2400]) {
      const p = psy.GetStandardAtmPressure(z);
      const w = psy.GetHumRatioFromRelHum(t, rh, p);
      rows.push([t, rh, z, p.toFixed(2), psy.GetSatVapPres(t).toFixed(3), w.toExponential(8),
        psy.GetTWetBulbFromRelHum(t, rh, p).toFixed(4),
        psy.GetTDewPointFromRelHum(t, rh).toFixed(4),
        (psy.GetMoistAirEnthalpy(t, w) / 1000).toFixed(5),
        psy.GetMoistAirVolume(t, w, p).toFixed(6),
        psy.GetVaporPressureDeficit(t, w, p).toFixed(2)].join(','));
    }
console.log(rows.join('\n'));
