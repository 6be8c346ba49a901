// Package rest judges coffee that rests in parchment: how long it has to lie, where its moisture
// drifts in the air of the store, whether it is even, safe and cool, and whether airing it with
// today's air would help or harm.
//
// # Equations
//
// Equilibrium moisture of parchment, % d.b., at temperature T in °C and relative humidity h (0-1):
//
//	Me = (p1·h + p2·h² + p3·h³) · exp[(q1·h + q2·h² + q3·h³)·T]
//
// (Trejos, Roa and Oliveros 1989, Cenicafé 40(1):5-15, eq. 2 and table 3; declared for 5-55 °C and
// 5-100 %; standard error 0.54 % d.b. A later paper misprints q1 as -0.03049.) It was measured
// while drying, so it overstates what dry coffee takes up again, and dry commercial lots showed
// water activities up to 0.07 lower: both errors are on the safe side. Below 10 and above 90 % the
// polynomial is not used for a verdict: it is held at those ends. Water activity is the inverse.
//
// Drift: dM/dt = k·(Me - M) on the dry basis, towards the equilibrium of the store's air, up or
// down. k is learned: from the samples of the lot itself and from earlier lots, starting from 1/7
// a day for bags (the three weeks to equilibrium of a growers' guide of ANACAFÉ, computed) and
// 1/30 a day for bulk (a guess, no source, with a wide margin). The moisture now is found by a
// Kalman filter over the samples for each k of a lattice (R. E. Kalman 1960, J. Basic Eng.
// 82:35-45), and the windows are the 10 and 90 % points over both. For the days to come the air is
// taken to be the mean of the last week's.
//
// # Limits
//
// Moisture at most 12.5 % (Codex CAC/RCP 69-2009); no growth of moulds below a water activity of
// about 0.68 (ICO, Good Hygiene Practices), so 0.67 warns and 0.70 alarms (Codex and FAO range,
// from memory, verify). A measured water activity overrides the computed one. A rise of 3 to 5 °C
// in a week, or 5 °C above the neighbours, is a rule for stored grain (from memory, verify); no
// figure for coffee was found. Nine sub-samples, standard deviation at most 0.5 points, range at
// most 1.5, none over 12.5 %: our own proposal, drawn from Oliveros et al. 2010 (Cenicafé
// 61(2):108-118), no standard. Thirty to sixty days of rest: common practice, no source.
//
// Moistures are % w.b. in and out, humidities and activities 0 to 1, temperatures °C.
//
// # Checked against
//
// The table of equilibrium moistures and activities computed from the same equation elsewhere, two
// growers' guides (20 °C and 65 % keep 10-12 %; 70 % about 12 %), an independent seed equation
// (Cromarty, Ellis and Roberts 1982) within 0.4 % d.b. at 25 °C, and simulated stores, where
// windows said to hold 80 % hold 75 to 90 %. No measured series of resting coffee was found.
package rest
