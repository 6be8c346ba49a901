package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// Kilograms: from a unit, the mill's own measure, or a bare figure. More than a place holds is
// doubted, never refused: it has happened.
//
// A measure is turned into kilograms when the mill has weighed it for that product, with a doubt,
// since a basin is never full to the same line; else it stays as it was said and the mill is asked
// once.
//
//	4200, 4.200, 4,2 t      4200 kg; the mark between thousands by what else the line has
//	1850 lb                 839.1 kg, said back as pounds too
//	12 lata                 150 kg where a lata of that product weighs 12.5 here
//	12 quintales            12 quintales: nobody has said what one weighs

// weigh gives a move its kilograms: from the unit, the mill's own measure, or a bare figure. What
// is more than a place holds is doubted, never refused.
func (r *reader) weigh(f *Fact, c *clause, x *item, p int) {
	f.Has = true
	f.Product = r.product(c, f.What, x)
	g := x.fig
	if g.alt != 0 && g.v < 100 {
		g.turn()
		f.doubt("decimal", 0.9, AskKg)
	} else if g.alt != 0 && r.c.Decimal == 0 {
		f.doubt("decimal", 0.9, AskKg)
	}
	if g.raw == "" {
		f.doubt("mass", 0.9, AskKg)
	}
	r.kilos(f, x, g)
	if f.Unit != "kg" {
		return
	}
	v := &r.c.Places[p]
	switch {
	case v.Capacity > 0 && f.Value > v.Capacity,
		x.kind == isFigure && f.What == state.ActAdd && f.Value < v.Capacity/6, // a nought too few
		v.Usual > 0 && (f.Value > v.Usual*2 || f.Value < v.Usual/8):
		f.doubt("mass", 0.5, AskKg)
	}
	if x.kind == isFigure && f.What == state.ActUnload {
		f.doubt("mass", 0.8, AskKg)
		if r.lately(g) {
			r.ask(AskTime, show(g), "", "kg", clockText(g.clock))
		}
	}
}

// kilos turns an amount into kilograms, or leaves it in a measure that the mill has not weighed.
func (r *reader) kilos(f *Fact, x *item, g figure) {
	f.Value, f.Unit, f.Digits = g.v, "kg", g.digits
	if g.minus {
		r.belowNought(f, g)
	}
	switch x.unit {
	case "", "kg":
	case "lb":
		f.Said, f.Value = show(g)+" lb", pounds(g.v)
	case "t":
		if x.fig.alt != 0 { // 4.200 t: the decimal reading
			g.v = min(x.fig.v, x.fig.alt)
		}
		f.Said, f.Value, f.Digits = show(x.fig)+" t", round(g.v*1000, 1), 0
	default:
		unit, each := r.eachOf(x, f.Product)
		f.Said = strconv.FormatFloat(g.v, 'f', -1, 64) + " " + unit
		if each > 0 {
			f.Value, f.Digits, f.Derived = round(g.v*each, 1), 0, true
			f.doubt("mass", 0.8, AskKg)
			return
		}
		f.Value, f.Unit = g.v, unit
		r.wonder(f, AskMeasure, x.name, 0.5)
	}
}

// weighing gives a move its kilograms and, where it was counted besides, its count.
func (r *reader) weighing(f *Fact, c *clause, p int, amount, count *item, guess bool) {
	r.weigh(f, c, amount, p)
	if guess {
		f.doubt("mass", 0.7, AskKg)
	}
	if count != nil {
		f.counted(count)
	}
}

// weighing is the amount of a clause and, where the same was counted and weighed, the count: "14
// canastos 560 kg". Of "30 sacos de 50 kg" all kilograms are worked out, which is a guess.
func (c *clause) weighing(r *reader) (amount, count *item, guess bool) {
	amount = c.mass(r)
	for i := range c.parts {
		x := &c.parts[i]
		if amount == nil || x == amount || x.kind != isAmount || inKilos(x) == inKilos(amount) {
			continue
		}
		count = amount
		if inKilos(amount) {
			count = x
		} else if amount = x; i > 0 && c.parts[i-1].says(words.Join, "from") {
			count.kind = isSkipped
			amount.fig.v *= count.fig.v
			return amount, nil, true
		}
		return amount, count, false
	}
	return amount, nil, false
}

// inKilos says that an amount is a weight and not a count of measures.
func inKilos(x *item) bool {
	return x.unit == "" || x.unit == "kg" || x.unit == "lb" || x.unit == "t"
}

// counted keeps a count beside what was weighed.
func (f *Fact) counted(x *item) {
	f.Said = strconv.FormatFloat(x.fig.v, 'f', -1, 64) + " " + x.unit
	x.kind = isSkipped
}

// eachOf is what one measure weighs at this mill for a product, by the mill's word for it; 0 when
// the mill has not weighed it.
func (r *reader) eachOf(x *item, product string) (unit string, kg float64) {
	for _, word := range [...]string{x.name, x.unit} {
		if by, ok := r.c.Measures[word]; ok {
			if by[product] > 0 {
				return word, by[product]
			}
			return word, by[""]
		}
	}
	return x.unit, 0
}

// product is what an amount is of: said, or what the place and measure imply.
func (r *reader) product(c *clause, act string, x *item) string {
	for i := range c.parts {
		if p, ok := c.parts[i].of(words.Product); ok {
			return p
		}
	}
	switch {
	case act == state.ActIntake:
		return "cherry"
	case act == state.ActAdd && (x.unit == "" || x.unit == "kg" || x.unit == "t" || x.unit == "lb"):
		return "pulped"
	case act == state.ActAdd:
		return "cherry"
	case act == state.ActUnload, act == state.ActStore, act == state.ActShip:
		return "dry"
	}
	return "wet"
}

// pounds gives the kilograms of avoirdupois pounds; one is 0.45359237 kg exactly (international
// yard and pound agreement of 1959).
func pounds(lb float64) float64 { return round(lb*0.45359237, 1) }
