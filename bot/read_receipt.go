package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// The intake: fruit brought in, by weight, by measure or by gross and tare; from whom, when
// picked, what was turned away.
//
//	r1 46 debe grp 7 3 reject            46 debe from group 7; 3 more turned away
//	35 sacos bruto 2135 tara 2           net 2135 − 35 × 2 kg
//	12 fanegas 3 cajuelas                243 cajuelas
//	60 bags 3100 kg                      the kilograms count
//	30 bags of 50 kg                     1500 kg, said back

// cajuelasInFanega is a fanega of coffee fruit in cajuelas: 20 (Costa Rican trade measure, read in
// two published sources of the handbook; verify).
const cajuelasInFanega = 20

// isReceipt says that a clause tells of fruit brought in.
func (r *reader) isReceipt(c *clause) bool {
	came := c.has(isAct)
	return r.kind(c) == state.Intake && c.detail("wood", "husk") == "" && (c.has(isAmount) != nil ||
		c.has(isWeigh) != nil || came != nil && !came.not || c.mass(r) != nil)
}

// receipt notes a delivery: its amount, net of the sacks, who brought it, when it was picked and
// what was turned away.
func (r *reader) receipt(c *clause) {
	p := c.subject()
	f := Fact{Place: r.place(p), What: state.ActIntake, Word: r.supplier(c)}
	if t := c.has(isTime); r.onTheWay(c) {
		r.ask(AskSure, r.place(p), "")
		if t != nil && !t.at.ahead { // "llega a las 4": no hour gone by
			t.kind = isSkipped
		}
	} else {
		r.picked(c, p)
	}
	reject := r.rejected(c)
	if !r.net(&f, c) {
		r.load(&f, c)
	}
	if reject != nil && !f.Has {
		f.Has = false
	} else if f.Has {
		n := r.add(f)
		if n.Word == "" {
			r.wonder(n, AskKind, "", 0.9)
		}
	} else if c.has(isAct) != nil && len(c.guess) > 0 && !oneOf(state.Intake, r.c.Posts) {
		r.dropped++ // "volvio el agua pero viene poca"
	} else if c.has(isAct) != nil {
		n := r.add(f)
		r.wonder(n, AskKg, r.place(p), 0.5)
	}
	if reject != nil {
		g := Fact{Place: r.place(p), What: SaysReject, Has: true}
		r.kilos(&g, reject, reject.fig)
		r.add(g)
	}
}

// onTheWay says that fruit is told of which has not come: "coming with 900 kg", "viene el camion,
// llega a las 4".
func (r *reader) onTheWay(c *clause) bool {
	timed := c.has(isTime) != nil && !c.says(words.Talk, "picked")
	for i := range c.parts {
		if x := &c.parts[i]; x.says(words.State, "coming") && !x.says(words.Act, "") ||
			timed && x.kind == isAct && x.meant(words.State, "coming") {
			return true
		}
	}
	return false
}

// load adds up the amounts of a delivery: "12 fanegas 3 cajuelas", or one.
func (r *reader) load(f *Fact, c *clause) {
	var first, count *item
	f.Product = "cherry"
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isAmount {
			continue
		}
		switch {
		case first == nil:
			first = x
		case first.unit == "fanega" && x.unit == "cajuela":
			first.unit, first.name = "cajuela", "cajuela"
			first.fig.v = first.fig.v*cajuelasInFanega + x.fig.v
		case x.unit == "kg" && i > 0 && c.parts[i-1].says(words.Join, "from"): // "30 bags of 50 kg"
			first.fig.v *= x.fig.v
			first.unit, first.name = "kg", "kg"
			f.doubt("mass", 0.7, AskKg)
		case inKilos(x) && !inKilos(first): // "60 bags 3100 kg"
			first, count = x, first
		case inKilos(first):
		default:
			r.ask(AskKg, x.text, "")
		}
		x.kind = isSkipped
	}
	if first == nil {
		m := c.mass(r)
		if m == nil {
			return
		}
		first = m
		m.kind = isSkipped
		f.doubt("unit", 0.7, AskKg)
	}
	f.Product = r.product(c, state.ActIntake, first)
	f.Has = true
	r.kilos(f, first, first.fig)
	if count != nil {
		f.counted(count)
	}
}

// net works out a weighing with gross, tare and count of sacks.
func (r *reader) net(f *Fact, c *clause) bool {
	var gross, tare, net float64
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isWeigh {
			switch x.name {
			case "gross":
				gross = max(x.fig.v, x.fig.alt)
			case "tare":
				tare = x.fig.v
			case "net":
				net = max(x.fig.v, x.fig.alt)
			}
		}
	}
	if gross == 0 && net == 0 {
		return false
	}
	count := 1.0
	said := ""
	if m := c.has(isAmount); m != nil && m.unit != "kg" && m.unit != "lb" && m.unit != "t" {
		count, said = m.fig.v, strconv.FormatFloat(m.fig.v, 'f', -1, 64)+" "+m.unit
		m.kind = isSkipped
	}
	if net == 0 {
		net = gross - count*tare
	}
	f.Value, f.Has, f.Unit, f.Product = net, true, "kg", "cherry"
	f.Said = said
	f.doubt("unit", 0.8, AskKg)
	return true
}

// supplier reads who brought the fruit: "grp 7", "finca La Loma", "don Luis".
func (r *reader) supplier(c *clause) string {
	for i := range c.parts {
		x := &c.parts[i]
		group, farm := x.says(words.Talk, "group"), x.says(words.Talk, "farm")
		from := x.says(words.Join, "from") && i+1 < len(c.parts) && c.parts[i+1].kind == isOther
		if !group && !farm && !from {
			continue
		}
		name := "farm"
		if group {
			name = "group"
		}
		for j := i + 1; j < len(c.parts) && j < i+4; j++ {
			y := &c.parts[j]
			if y.kind == isFigure && j == i+1 && (j+1 == len(c.parts) ||
				!c.parts[j+1].says(words.Talk, "rejected")) {
				y.kind = isSkipped
				return name + " " + show(y.fig)
			}
			if y.says(words.Join, "") && j == i+1 {
				continue
			}
			if y.kind != isOther {
				break
			}
			r.unknowns--
			name += " " + y.text
		}
		return name
	}
	return ""
}

// picked notes when the fruit of a delivery was picked: a day or hour that lies before its coming.
func (r *reader) picked(c *clause, p int) {
	t := c.has(isTime)
	if t == nil || c.asks || !c.says(words.Talk, "picked") && r.c.At.Sub(t.at.at).Hours() < 3 {
		return
	}
	f := Fact{Place: r.place(p), What: SaysPicked, At: t.at.at, Told: true}
	if t.at.vague {
		f.doubt("time", 0.7, AskTime)
	}
	r.add(f)
	t.kind = isSkipped
}

// rejected is the amount that was turned away from a delivery; nil for none.
func (r *reader) rejected(c *clause) *item {
	for i := range c.parts {
		if !c.parts[i].says(words.Talk, "rejected") {
			continue
		}
		for _, j := range [...]int{i - 1, i + 1} {
			if j < 0 || j >= len(c.parts) {
				continue
			}
			x := &c.parts[j]
			if x.kind != isFigure && x.kind != isAmount {
				continue
			}
			y := *x
			if y.unit == "" {
				if m := c.has(isAmount); m != nil {
					y.unit, y.name = m.unit, m.name
				}
			}
			x.kind = isSkipped
			return &y
		}
	}
	return nil
}
