// Package drying computes how washed parchment coffee dries, on a patio and in a drum, and when it
// will reach a target moisture.
//
// Read in this order: [Equilibrium] and [WaterActivity] (sorption), [ThinLayerHours] (the law),
// [Run] and its Forecast (a drum), [Forecast] (the answer), [Patio], then [Learn].
//
// # Equations, range, source
//
// Sorption: Roa's equation for parchment, desorption, 5–55 °C, 5–100 % humidity, standard error
// 0.54 % dry basis (Trejos and others 1989). Drying: a Page law in the vapour-pressure deficit, air
// 10–70 °C, 56 to 8 % wet basis (Parra-Coronado and others 2008), slowed by a bed factor. Units are
// °C, hours, kg; humidity is 0 to 1; moisture is percent wet basis unless a name says DB.
//
// # How a drum is forecast
//
// A clock counts work: hours of drying in the air the drum has had of late. It runs faster in
// hotter air and stands in a stop. On a known curve each moisture has an age in such hours, so a
// drum is a straight line of age over work, followed reading by reading (a Kalman filter of age and
// pace), each reading with its method's error and a prior on the pace from the law and this drum's
// past. As readings come the prior fades, and because pace may wander the last ones weigh most.
//
// Nobody knows the curve, the error of the meter or the mood of the drum, so forty such lines run
// side by side: five shapes (the law, a constant rate with two breaks, one between straight and
// logarithmic, one with a long tail), two errors, two moods, and a pace near the prior or any pace
// at all. They are weighed by how well each foretold the readings (Bayesian model averaging), and
// the answer is the mean of their times: the mean of a straight and a logarithmic line, which does
// well on measured series, is a special case. The equilibrium comes from the isotherm and is never
// fitted. Before that, sampling jumps are set aside and stops nobody logged are found. A meter's
// own offset cancels, for the target is read with the same meter.
//
// The fire to come is a thing of its own, for a degree of inlet is a twentieth of the pace. Each
// look at the dial is the fire's level and a swing; the level may have changed before any look, and
// all such thoughts are weighed by how well they explain the looks. The mean of them is the air to
// come; how far they differ is in the window and grows with the hours left; how much looks swing is
// how unsteady the work is taken to be.
//
// # Confidence
//
// A window is said to hold the end in 80 of 100 cases, the end as a mill finds it: where readings
// cross the target. So its width is what the lines and the fire leave open and the error of the
// reading that will judge; an hour before the end that is half of it, and the moisture itself
// crosses inside the window oftener than said. The lines' errors are smaller than they say and a
// changed fire's larger, by factors set on made-up drums. [Learn] corrects the width by split
// conformal prediction (Vovk, Gammerman and Shafer 2005; Lei and others 2018): the misses of
// earlier runs, in half widths, are put in order and the width is stretched by the one that 80 %
// stayed under. Nine scores of a normal error stand in front, so that a drum with no past keeps its
// width.
//
// # Checked against
//
// Published values of isotherm, heat and law; a second, independent isotherm; made-up drums with
// swinging fires, stops, jumps, stalls and other laws than the one believed; a textbook tray dryer
// and sticks drying outdoors. The figures are in the log of the acceptance tests. No published
// series of coffee in a drum was found: a mill's own records must replace the made-up ones.
//
// One point in twenty minutes at the end of a drum is common practice to compare with, and two to
// three times what the law gives at 55 °C: it is no prior here.
//
// A patio is the same, with the air of the yard for the drum's: its clock is the vapour-pressure
// deficit, which all but stands at night, and after a night in the open until the dew is off. The
// days to come begin like the last three and go over to the site's common day. What earlier lots
// took in hours counts as one more reading, still to come, with the spread that they had: it leads
// while a lot's own readings say little.
//
// The package keeps nothing, reads no clock, and never says that anybody should open a turning
// drum.
package drying
