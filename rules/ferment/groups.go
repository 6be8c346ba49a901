package ferment

import "math"

// group is how one tank or fruit class differs from the mill in the log of its hours.
type group struct {
	name string
	n    int
	sum  float64 // of the difference of each stay
}

type groups []group

// A group counts once it has so many stays and differs by so many standard errors; it is then
// shrunk as if groups differed by groupSD.
const (
	groupStays  = 6
	groupErrors = 2.0
	groupSD     = 0.10
)

func (g groups) find(name string) *group {
	for i := range g {
		if g[i].name == name {
			return &g[i]
		}
	}
	return nil
}

func (g *groups) add(name string, difference float64) {
	if name == "" {
		return
	}
	one := g.find(name)
	if one == nil {
		*g = append(*g, group{name: name})
		one = &(*g)[len(*g)-1]
	}
	one.n++
	one.sum += difference
}

// factor is what a group does to the hours; 1 unless the data carry it.
func (g groups) factor(name string, scatter float64) float64 {
	one := g.find(name)
	if one == nil || one.n < groupStays {
		return 1
	}
	n := float64(one.n)
	mean, sd := one.sum/n, scatter/math.Sqrt(n)
	if math.Abs(mean) < groupErrors*sd {
		return 1
	}
	return math.Exp(mean * groupSD * groupSD / (groupSD*groupSD + sd*sd))
}
