package drying

import "math"

// What is held of a wood fire before its dial is read. They were set on made-up drums; moving any
// of them by half changes the errors there by a few per cent.
const (
	longAgo   = 16.0 // hours: older looks at the dial say nothing of the air to come
	gustHours = 1.0  // over which a swing is forgotten
	dialError = 1.0  // °C, one standard error of a look
	gust      = 2.5  // °C by which looks swing, that error with it
	gustDoubt = 5.0  // looks' worth of trust in that
	newFire   = .08  // chance in an hour that the fire is stoked up or let down
	newFar    = 9.0  // variance of such a change, in variances of a look
	warmingUp = .2   // share of that chance for one low look: the air may just be warming
)

// furnace is the inlet that a fire goes on giving, by all looks at the dial.
type furnace struct {
	level, doubt float64 // °C, and its variance, °C²
	swing        float64 // variance of a look about it, °C²
	inlet        float64 // °C, mean of the looks since the fire last clearly changed
	up           float64 // hour since which it clearly burns hotter than before; 0: it does not
}

// glance is a look that found the fire on, and how much it counts: looks close together see the
// same swing.
type glance struct{ t, inlet, count float64 }

// glances are the looks of late that found the fire on, put into out.
func glances(dials []dial, floor float64, out []glance) []glance {
	end := dials[len(dials)-1].t
	for _, d := range dials {
		if d.inlet <= floor || end-d.t > longAgo {
			continue
		}
		g := glance{d.t, d.inlet, 1}
		if n := len(out); n > 0 {
			g.count = math.Tanh((d.t - out[n-1].t) / (2 * gustHours))
		}
		out = append(out, g)
	}
	return out
}

// settled weighs two kinds of thought by how well they explain the looks: that the fire burned
// alike all the time, and, for every look, that it was stoked up or let down before it (Bayesian
// averaging over one point of change: Smith 1975, Biometrika 62:407). The level is the mean of what
// they say, so that a fire half seen to change counts half, and its doubt is wide while they
// differ. The variance of a look is learned with it from an inverse gamma prior; so the weights are
// those of Student's t, in which one wild look proves little.
func settled(dials []dial, ambient float64) furnace {
	var room [64]glance
	usual := median(dials)
	on := glances(dials, down(usual, ambient), room[:0])
	if len(on) == 0 {
		return furnace{level: usual, doubt: sq(gust), swing: sq(gust), inlet: usual}
	}
	var n, mean, spread float64
	for _, x := range on {
		n, mean = n+x.count, mean+x.count*x.inlet
	}
	mean /= n
	for _, x := range on {
		spread += x.count * sq(x.inlet-mean)
	}
	m := thoughts{free: gustDoubt + n - 1, base: spread + gustDoubt*sq(gust)}
	m.add(spread, max(newFire, 1-newFire*(on[len(on)-1].t-on[0].t)), mean, 1/n)
	f := furnace{inlet: mean}
	if best := m.changes(&f, on, n, spread); best < m.all/2 {
		f.inlet, f.up = mean, 0
	}
	f.level, f.swing = m.level/m.all, m.swing/m.all
	f.doubt = max(0, m.square/m.all-sq(f.level))
	return f
}

// thoughts sums up what each thought says of the fire.
type thoughts struct {
	free, base                float64 // degrees of freedom; sum of squares of the first thought
	all, level, square, swing float64 // weights, and sums by weight
}

// changes takes the thoughts of a change before each of n looks, whose squares sum to spread, and
// puts the likeliest into the furnace; it returns the weight of that.
func (m *thoughts) changes(f *furnace, on []glance, n, spread float64) (best float64) {
	late, sum, mean := 0.0, 0.0, f.inlet
	for i := len(on) - 1; i > 0; i-- {
		late, sum = late+on[i].count, sum+on[i].count*on[i].inlet
		was, is := (n*mean-sum)/(n-late), sum/late
		near := 1/late + 1/(n-late)
		far := near + newFar
		chance := newFire * (on[i].t - on[i-1].t) * math.Sqrt(near/far)
		if is < was && i == len(on)-1 {
			chance *= warmingUp
		}
		left := max(0, spread-sq(is-was)*(1/near-1/far))
		known := 1 - 1/(late*far) // of the change; the rest is held to be a swing
		weight := m.add(left, chance, was+known*(is-was), known/late)
		if weight > best {
			if best, f.inlet, f.up = weight, is, 0; is > was {
				f.up = on[i].t
			}
		}
	}
	return best
}

// add takes a thought that leaves a sum of squares, had a chance before the looks, and says a level
// and its variance, in variances of a look. It returns the weight.
func (m *thoughts) add(left, chance, level, v float64) float64 {
	left += gustDoubt * sq(gust)
	weight, look := chance*power(m.base/left, m.free/2), left/m.free
	m.all += weight
	m.level += weight * level
	m.square += weight * (sq(level) + v*look)
	m.swing += weight * look
	return weight
}
