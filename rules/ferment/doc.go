// Package ferment forecasts when the mucilage of washed coffee in a tank is loose, as a window,
// and until when the oldest fruit is safe. [Tank] is what is known of one stay, [Tank.Forecast]
// what follows from it, [Learn] what the finished tanks of a mill teach. There is no clock: a
// forecast rests on the tank alone and gives absolute instants.
//
// # Equation
//
// Progress P counts from the last load and completes at 1 in a tank like those of the source:
//
//	dP/dt = 1/23.1 h · ((T - Tmin)/(20 - Tmin))²    T: mean temperature of the mass, °C
//
// with Tmin 0 °C and T held at 35 °C above it. The square-root form is that of Ratkowsky et al.
// 1982 (J. Bacteriol. 154:1222, as cited by Dantigny and Molin 2000, Food Microbiol. 17:597-604).
// 23.1 h at 20 °C is 22.0 h at 20.5 °C, the time of fastest acidification (Puerta 2013, Rev.
// Cenicafé 64(1):42-59; temperature from Puerta and Ríos 2011, Cenicafé 62(2):23-40, the same
// laboratory; that it is the same run is an inference). Tmin is chosen, not measured: -2 to 4 °C
// fit as well. Without a thermometer in the mass T is the air plus 3.3 °C (0.274 of the 12 °C
// by which the centre exceeded the air, fitted on one point of Peñuela et al. 2010, Cenicafé
// 61(2):159-173); a tank that is covered or under water is taken for as warm as the air. Each temperature holds until the next reading, the first one back to the filling.
//
// Without any thermometer hours are counted, not degrees: around the mill's usual hours if it
// told them, else around those of the season's mean air, else around those of the altitude line of
// the Andes. With nothing, there is no window before some tanks are over, and hand tests go by the
// clock: from 12 h on (12-36 h, Coffee Atlas of Ethiopia 2019; 24 h where it is cold, common
// practice, no source; 6 h where it is hot, the lower end of 6-72 h in Wintgens 2004).
//
// The oldest fruit spoils: vinegar defects came 3 to 6 h after a completion of 15 h (Peñuela et
// al. 2010), so the warning stands a fifth and the limit two fifths of the hours to completion
// after it.
//
// # Window
//
// The progress at which a tank completes is believed to be logistic around the pooled pace (the
// published one, the mill's habit, its past), with a width from the doubt of that pace, the scatter
// between tanks and the temperature still to come. Before a mill has tanks of its own this makes
// ±40 % with a thermometer in the mass, a little more without. Early, Likely and Late are its 10,
// 50 and 90 % points.
//
// A slippery test cuts off what lies before it. The distribution is log-concave, and so a warmer
// tank is never later and one more slippery test never makes it earlier. A rough test bounds all
// three from behind: completion lies between the last slippery test (or, at most, as far back as
// the spoil limit) and the first rough one after it. A slippery test outweighs an earlier rough
// one, and that is said. A pH shifts what lies after it by at most a tenth and narrows nothing:
// strips are good to ±0.5 and published end points run from 3.3 to 4.7.
//
// # Learning
//
// A past tank only bounds the truth: from behind by its first rough test or its washing, from
// before by its last slippery test (interval-censored data). The likelihood of these bounds is kept
// on a lattice of pace, scatter and Tmin (grid posterior: Gelman et al., Bayesian Data Analysis,
// 3rd ed., chapter 3), old tanks fading by 2 % with each new one, and pooled with the published
// pace by precision, which is the shrinkage. Tmin is learned from eight tanks on, if the standard
// deviation of their mean temperatures is 1.5 °C or more. A tank or class gets a factor of its own
// from six stays on, if it differs by two standard errors. How the temperature goes on after a
// reading is learned by least squares. Every past tank is forecast again as it stood then, and the
// widths are stretched until the mean squared miss is what they state.
//
// # Validity
//
// Washed arabica, depulped, in open tanks, mean of the mass 14 to 32 °C; outside no window is given
// and hand tests go by the clock. Not robusta, not inoculated, enzymatic or sealed tanks, not whole
// fruit. Whether a tank is rinsed, soaked, honey or natural is the caller's business.
//
// Weakness, to be said to users: the temperatures behind the published times were inferred from
// altitudes, not read; no published table of temperature, time and pH could be opened. The hand
// test decides, always.
//
// # Units
//
// Temperatures °C, amounts of time in hours as float64, instants as time.Time to the millisecond.
//
// # Checked against
//
// Published times and end points (table_test.go names the source beside each row), the chilled
// mucilage of Puerta and Ríos, and simulated mills with another truth than the model's
// (season_test.go): windows said to hold 80 % hold 75 to 90 %, and the median error beats the
// mill's own running median of hours and the altitude line. No measured series was found.
package ferment
